"""A table of plain text: what a book's files say is never taken for markup."""

from collections.abc import Iterable
from typing import Any

from rich.markup import escape
from textual.widgets import DataTable
from textual.widgets.data_table import RowKey


class Table(DataTable[str]):
    """Rows of strings, shown as they are."""

    def _update_dimensions(self, new_rows: Iterable[RowKey]) -> None:
        """Draw anew what was drawn before the columns had their widths; Textual would leave it as it is."""
        super()._update_dimensions(new_rows)
        self._clear_caches()
        self.refresh()

    def add_row(self, *cells: str, height: int | None = 1, key: str | None = None, label: Any = None) -> RowKey:
        """Add a row at the bottom."""
        return super().add_row(*map(escape, cells), height=height, key=key, label=label)

    def update_cell(self, row_key: Any, column_key: Any, value: str, *, update_width: bool = False) -> None:
        """Put another text into a cell."""
        super().update_cell(row_key, column_key, escape(value), update_width=update_width)
