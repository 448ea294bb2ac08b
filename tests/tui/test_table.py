"""The table of plain text."""

import asyncio

import pytest
from rich.markup import escape
from rich.style import Style
from textual.app import App, ComposeResult
from textual.geometry import Region
from textual.strip import Strip
from textual.widgets import DataTable

from showrunner.tui.widgets.table import Table


class Holding(App[None]):
    def __init__(self, table: DataTable[str]) -> None:
        super().__init__()
        self._table = table

    def compose(self) -> ComposeResult:
        yield self._table


def simplified(strip: Strip) -> list[tuple[str, Style, dict[str, int]]]:
    """Runs of a line with what they look like, and what they tell the mouse."""
    return [(text, style.clear_meta_and_links(), style.meta) for text, style, _ in strip.simplify()]


def test_a_row_drawn_before_its_columns_had_their_widths_is_drawn_anew() -> None:
    async def drawn() -> tuple[str, str]:
        async with Holding(Table()).run_test() as pilot:
            table = pilot.app.query_one(Table)
            for _ in range(2):
                table.clear(columns=True)
                table.add_columns("Song", "Key")
                table.add_row("Lamplighters' Waltz", "G")
                early = table.render_line(1).text
                await pilot.pause()
            return early, table.render_line(1).text

    early, late = asyncio.run(drawn())
    assert "Lamplighters' Waltz" not in early
    assert "Lamplighters' Waltz" in late


def test_text_is_never_taken_for_markup() -> None:
    async def drawn() -> str:
        async with Holding(Table()).run_test() as pilot:
            table = pilot.app.query_one(Table)
            table.add_columns("Song")
            table.add_row("[b]Loud[/b]")
            await pilot.pause()
            return table.render_line(1).text

    assert "[b]Loud[/b]" in asyncio.run(drawn())


@pytest.mark.parametrize("cursor", ["row", "cell"])
@pytest.mark.parametrize("words", ["few", "many " * 20])
def test_lines_are_those_that_textual_draws_cell_by_cell(
    cursor: str, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the cursor and the mouse on rows, wide letters, a cell of two lines, a table with room and one without.

    But for the sign where a cell is cut, which Textual does not draw.
    """
    monkeypatch.setattr("showrunner.tui.widgets.table._cut", lambda strip, _: strip)
    rows = (("Lamplighters' Waltz", "G", "[b]"), ("海の歌", "é", "two\nlines"), ("Marram", "", words))

    async def drawn(kind: type[DataTable[str]]) -> list[list[tuple[str, Style, dict[str, int]]]]:
        async with Holding(kind(cursor_type=cursor)).run_test(size=(60, 8)) as pilot:
            table = pilot.app.query_one(DataTable)
            table.add_columns("Song", "Key", "Words")
            for row in rows:
                table.add_row(*(row if kind is Table else map(escape, row)))
            table.add_column("Late", width=3)
            await pilot.pause()
            await pilot.hover(DataTable, offset=(2, 2))
            table.move_cursor(row=1, column=1)
            table.scroll_to(x=4, animate=False)
            await pilot.pause()
            return [simplified(strip) for strip in table.render_lines(Region(0, 0, *table.size))]

    assert asyncio.run(drawn(Table)) == asyncio.run(drawn(DataTable))


def test_a_cell_that_is_cut_at_the_edge_says_so_and_a_column_beyond_it_does_not() -> None:
    async def drawn() -> list[str]:
        async with Holding(Table()).run_test(size=(20, 5)) as pilot:
            table = pilot.app.query_one(Table)
            table.add_columns("Song", "Words", "Late")
            table.add_row("Marram", "hold the E for long", "0:12")
            table.add_row("Eel Road", "", "0:12")
            await pilot.pause()
            return [strip.text for strip in table.render_lines(Region(0, 0, 20, 3))]

    assert [line.strip() for line in asyncio.run(drawn())] == ["Song      Words", "Marram    hold the…", "Eel Road"]
