"""A table of a thousand rows and more: all of them made once, any of them shown in any order at no row's cost."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from rich.cells import cell_len
from rich.text import Text
from textual._two_way_dict import TwoWayDict
from textual.widgets.data_table import ColumnKey, Row, RowKey

from showrunner.tui.widgets.table import Table, one_line


class Made(NamedTuple):
    """A row as the table holds it."""

    key: RowKey
    cells: dict[ColumnKey, str]
    row: Row


class LongTable(Table):
    """`make` says what rows there are, `order` which of them are shown; whole rows are at hand."""

    def __init__(self) -> None:
        super().__init__(cursor_type="row")
        self._made: dict[str, Made] = {}
        self._widest: tuple[int, ...] = ()

    def heads(self, names: Sequence[str]) -> None:
        """Name the columns; where there are more or fewer than before, rows are to be made anew."""
        if len(names) != len(self.columns):
            self.clear(columns=True)
            self._widest = ()
            self.add_columns(*names)
        for column, name in zip(self.ordered_columns, names, strict=True):
            column.label = Text(name)
        self._fit()

    def make(self, rows: Mapping[str, Sequence[str]]) -> None:
        """Take these rows in place of those it had, by their keys; columns are as wide as the widest of them all."""
        columns, made = [column.key for column in self.ordered_columns], self._made
        self._made = {}
        for name, cells in rows.items():
            key = made[name].key if name in made else RowKey(name)
            self._made[name] = Made(key, dict(zip(columns, cells, strict=True)), Row(key, 1))
        self._widest = tuple(max(map(cell_len, map(one_line, each))) for each in zip(*rows.values(), strict=True))
        self._fit()

    def order(self, names: Sequence[str], at: int) -> None:
        """Show these rows from the top down with the cursor on one, which stays in sight."""
        made = [self._made[name] for name in names]
        self._data = {each.key: each.cells for each in made}
        self.rows = {each.key: each.row for each in made}
        self._row_locations = TwoWayDict({each.key: place for place, each in enumerate(made)})
        self._update_count += 1
        self._fit()
        self.scroll_to(y=min(self.scroll_y, self.max_scroll_y), animate=False)
        before = self.cursor_coordinate
        self.move_cursor(row=at)
        if self.cursor_coordinate == before:
            self._highlight_row(self.cursor_row)
        if not self.size:
            self.call_after_refresh(self._scroll_cursor_into_view)

    def _fit(self) -> None:
        for column, width in zip(self.ordered_columns, self._widest or [0] * len(self.columns), strict=True):
            column.content_width = max(cell_len(column.label.plain), width)
        self._new_rows.clear()
        self._update_dimensions(())
