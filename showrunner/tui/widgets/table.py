"""A table of plain text: what a book's files say is never taken for markup, and a line costs little to draw."""

from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet
from functools import lru_cache

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.coordinate import Coordinate
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widgets import DataTable
from textual.widgets.data_table import CellKey, RowKey


class Table(DataTable[str]):
    """Rows of strings, one line each, shown as they are; Textual would take each cell through a renderer of markup."""

    _ground: Style | None = None

    def _update_dimensions(self, new_rows: Iterable[RowKey]) -> None:
        """Make columns as wide as their widest cell, and draw anew what was drawn before."""
        columns = self.ordered_columns
        for cells in (self._data[row] for row in new_rows if row in self._data):
            for column in columns:
                column.content_width = max(column.content_width, cell_len(one_line(cells[column.key])))
        width = sum(column.get_render_width(self) for column in columns)
        self.virtual_size = Size(width, self.row_count + self._head_rows)
        self._clear_caches()
        self.refresh()

    def _update_column_widths(self, updated_cells: AbstractSet[CellKey]) -> None:
        for key in {cell.column_key for cell in updated_cells} & self.columns.keys():
            column = self.columns[key]
            column.content_width = max(map(cell_len, (column.label.plain, *map(one_line, self.get_column(key)))))
        self._require_update_dimensions = True

    @property
    def _head_rows(self) -> int:
        return self.header_height if self.show_header else 0

    def render_lines(self, crop: Region) -> list[Strip]:
        """Lines that are drawn together stand on the same ground."""
        self._ground = self.rich_style
        try:
            return super().render_lines(crop)
        finally:
            self._ground = None

    def render_line(self, y: int) -> Strip:
        ground, head, (left, top), width = (
            self._ground or self.rich_style,
            self._head_rows,
            self.scroll_offset,
            self.size.width,
        )
        row = -1 if y < head else y - head + top
        if row >= self.row_count:
            return Strip.blank(width, ground)
        whole = Strip(self._segments(row, ground))
        shown = whole.crop_extend(left, left + width, ground)
        if whole.cell_length <= left + width:
            return shown
        seen = self.scrollable_content_region.width
        within_a_cell = (
            whole.crop(left + seen - 1, left + seen + 1).text.strip() and whole.crop(left + seen).text.strip()
        )
        return _cut(shown, seen) if within_a_cell else shown

    def _segments(self, row: int, ground: Style) -> Iterator[Segment]:
        """A row from left to right, -1 the head, each cell in a style that tells the mouse where it is."""
        key = self._row_locations.get_key(row)
        cells = self._data[key] if key is not None else None
        style = ground if row >= 0 else self.get_component_rich_style("datatable--header")
        lit, padding, taken = row in (self.cursor_row, self.hover_row), self.cell_padding, 0
        around = " " * padding
        for place, column in enumerate(self.ordered_columns):
            text = column.label.plain if cells is None else one_line(cells[column.key])
            width = column.content_width if column.auto_width else column.width
            taken += width + 2 * padding
            cell_style = self._lit(style, Coordinate(row, place)) if lit else style
            yield Segment(around + set_cell_size(text, width) + around, _at(cell_style, row, place))
        if taken < self.size.width:
            yield Segment(" " * (self.size.width - taken), _at(self._beside(style, row), row, 0, outside=True))

    def _lit(self, style: Style, at: Coordinate) -> Style:
        """The style of a cell in a row that the cursor or the mouse is on."""
        over = self._should_highlight(self.hover_coordinate, at, self.cursor_type)
        here = self._should_highlight(self.cursor_coordinate, at, self.cursor_type)
        head, shown, mouse = at.row < 0, self.show_cursor, self._show_hover_cursor
        own, last = self._get_styles_to_render_cell(head, False, False, over, here, shown, mouse, True, False)
        return style + own + last

    def _beside(self, style: Style, row: int) -> Style:
        """The style right of the last cell: a row's own where whole rows are at hand, else a fainter one."""
        if self.cursor_type == "row":
            return self._lit(style, Coordinate(row, 0))
        if style.bgcolor is None:
            return style
        faint = Color.from_rich_color(style.bgcolor).blend(self.background_colors[1], factor=0.25)
        return Style.from_color(color=style.color, bgcolor=faint.rich_color)


def _cut(strip: Strip, width: int) -> Strip:
    """A line of which a cell goes on to the right of what is seen of it, with a sign that it does."""
    last = strip.crop(width - 1, width)
    return Strip([*strip.crop(0, width - 1), *(Segment("…", each.style) for each in last), *strip.crop(width)])


def one_line(text: str | None) -> str:
    """As much of a text as fits on one line."""
    return (text or "").partition("\n")[0].expandtabs()


@lru_cache(maxsize=4096)
def _at(style: Style, row: int, column: int, *, outside: bool = False) -> Style:
    """A style that says which cell it is, as the table looks for under the mouse."""
    where = {"row": row, "column": column}
    return style + Style.from_meta({**where, "out_of_bounds": True} if outside else where)
