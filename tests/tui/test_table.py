"""The table of plain text."""

import asyncio

from textual.app import App, ComposeResult

from showrunner.tui.widgets.table import Table


class OnlyTable(App[None]):
    def compose(self) -> ComposeResult:
        yield Table()


def test_a_row_drawn_before_its_columns_had_their_widths_is_drawn_anew() -> None:
    async def drawn() -> tuple[str, str]:
        async with OnlyTable().run_test() as pilot:
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
        async with OnlyTable().run_test() as pilot:
            table = pilot.app.query_one(Table)
            table.add_columns("Song")
            table.add_row("[b]Loud[/b]")
            await pilot.pause()
            return table.render_line(1).text

    assert "[b]Loud[/b]" in asyncio.run(drawn())
