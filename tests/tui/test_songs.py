"""The songs of the book: made, copied, renamed with a preview, sorted, and opened in the user's own editor."""

import shutil
from contextlib import nullcontext
from pathlib import Path

import pytest
from driving import demo_shelf, driven, offers
from textual.widgets import DataTable, Input, Static

from showrunner.places import demo_book
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.repertoire import COLUMNS, RepertoireScreen
from showrunner.tui.shelf import Shelf, told


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", song="marram")


def slugs(shelf: Shelf) -> set[str]:
    return {file.stem for file in (shelf.root / "songs").glob("*.toml")}


async def typed(app: Screens, pilot, key: str, title: str) -> None:
    await pilot.press(key)
    await pilot.pause()
    app.screen.query_one(Input).value = title
    await pilot.press("enter")
    await pilot.pause()


def foot(app: Screens) -> list[str]:
    return [offer.words for offer in offers(app)]


@driven
async def test_a_new_song_is_at_hand_and_can_be_taken_back(shelf: Shelf) -> None:
    before = slugs(shelf)
    app = Screens(place("songs")(shelf))
    async with app.run_test() as pilot:
        await typed(app, pilot, "n", "Harbour Bell")
        assert slugs(shelf) == before | {"harbour-bell"}
        assert shelf.song == "harbour-bell"
        await pilot.press("u")
        assert slugs(shelf) == before


@driven
async def test_a_line_that_is_asked_for_says_how_it_is_kept_and_left(shelf: Shelf) -> None:
    app = Screens(place("songs")(shelf))
    async with app.run_test() as pilot:
        await pilot.press("n")
        await pilot.pause()
        assert foot(app) == ["Keep it", "Leave it"]
        assert [offer.shown for offer in offers(app)] == ["enter", "esc"]


@driven
async def test_a_copy_differs_in_its_title_only(shelf: Shelf) -> None:
    app = Screens(place("songs")(shelf))
    async with app.run_test() as pilot:
        await typed(app, pilot, "c", "Marram, Slow")
        copy, source = (shelf.root / "songs" / f"{slug}.toml" for slug in ("marram-slow", "marram"))
        assert copy.read_text() == source.read_text().replace('title = "Marram"', 'title = "Marram, Slow"')


@driven
async def test_a_rename_is_shown_first_and_done_on_request_and_taken_back(shelf: Shelf) -> None:
    def shows() -> str:
        return "".join(file.read_text() for file in sorted((shelf.root / "shows").glob("*.toml")))

    before, written = slugs(shelf), shows()
    app = Screens(place("songs")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await typed(app, pilot, "m", "Marram Grass")
        assert isinstance(app.screen, ProposalScreen)
        words = "\n".join(str(each.content) for each in app.screen.query(Static))
        assert "songs/marram-grass.toml: new" in words
        assert 'after  { song = "marram-grass", then = "talk 0:45", optional = true },' in words
        assert "songs/marram.toml: deleted, last" in words
        assert foot(app) == ["Rename", "Keep the name"]
        await pilot.press("x")
        await pilot.pause()
        assert (slugs(shelf), shows()) == (before, written)
        await typed(app, pilot, "m", "Marram Grass")
        await pilot.press("y")
        await pilot.pause()
        assert slugs(shelf) == (before - {"marram"}) | {"marram-grass"}
        assert shelf.song == "marram-grass"
        assert not Shelf(shelf.root).reading.problems
        await pilot.press("u")
        assert (slugs(shelf), shows()) == (before, written)


@driven
async def test_a_name_that_is_taken_is_refused_in_words(shelf: Shelf) -> None:
    before = slugs(shelf)
    app = Screens(place("songs")(shelf))
    async with app.run_test() as pilot:
        for key in ("n", "c", "m"):
            await typed(app, pilot, key, "Eel Road")
        assert slugs(shelf) == before
        assert app.is_running


@driven
async def test_each_column_sorts_both_ways(shelf: Shelf) -> None:
    app = Screens(place("songs")(shelf))
    async with app.run_test() as pilot:
        for name in COLUMNS:
            rows = [key.value for key in app.screen.query_one(DataTable).rows]
            sorted_by = [COLUMNS[name](entry) for entry in map(app.screen._entries.get, rows)]
            assert sorted_by == sorted(sorted_by), name
            await pilot.press("S")
            assert f"{name} ↑" in [str(each.label) for each in app.screen.query_one(DataTable).ordered_columns]
            await pilot.press("s")


@driven
async def test_what_the_users_editor_writes_is_shown(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISUAL", "sed -i 's/Marram/Marram Grass/'")
    app = Screens(place("songs")(shelf))
    async with app.run_test() as pilot:
        monkeypatch.setattr(app, "suspend", nullcontext)
        await pilot.press("e")
        await pilot.pause()
        table = app.screen.query_one(DataTable)
        assert "Marram Grass" in [table.get_row_at(row)[0] for row in range(table.row_count)]
        monkeypatch.setenv("VISUAL", "/nowhere/editor")
        await pilot.press("e")
        assert app.is_running


def long_shelf(tmp_path: Path) -> Shelf:
    """A book of three hundred songs more, so many that a table of them takes its time."""
    root = tmp_path / "long"
    shutil.copytree(demo_book(), root)
    text = (root / "songs" / "eel-road.toml").read_text(encoding="utf-8")
    for number in range(300):
        named = text.replace('title = "', f'title = "No {number:03} ', 1)
        (root / "songs" / f"no-{number:03}.toml").write_text(named, encoding="utf-8")
    return Shelf(root)


@driven
async def test_a_long_book_is_there_whole_at_once(tmp_path) -> None:
    async with Screens(RepertoireScreen(long_shelf(tmp_path))).run_test() as pilot:
        table = pilot.app.screen.query_one(DataTable)
        assert (table.row_count, table.virtual_size.height) == (316, 317)


@driven
async def test_findings_are_said_to_be_looked_for_until_they_are_there(tmp_path, until) -> None:
    shelf = long_shelf(tmp_path)
    shelf.song = "saltmarsh-signal"
    async with Screens(RepertoireScreen(shelf)).run_test(size=(120, 36)) as pilot:
        table = pilot.app.screen.query_one(DataTable)
        await until(pilot, lambda: shelf.found() is not None)
        await until(pilot, lambda: "error" in str(table.get_row("saltmarsh-signal")[2]))
        assert shelf.song == "saltmarsh-signal"


@driven
async def test_the_song_at_hand_stays_so_and_in_sight_however_far_down_a_filter_or_an_order_puts_it(tmp_path) -> None:
    shelf = long_shelf(tmp_path)
    shelf.song = "no-299"
    async with Screens(RepertoireScreen(shelf)).run_test() as pilot:
        table = pilot.app.screen.query_one(DataTable)

        def at_hand() -> tuple[str | None, str | None, bool]:
            row = table.cursor_row
            seen = range(int(table.scroll_y), int(table.scroll_y) + table.size.height - 1)
            return shelf.song, table.ordered_rows[row].key.value, row in seen

        await pilot.pause()
        places = {table.cursor_row}
        for key in ("s", "S", "slash", "r", "o", "a", "d", "escape"):
            await pilot.press(key)
            await pilot.pause()
            assert at_hand() == ("no-299", "no-299", True), key
            places.add(table.cursor_row)
        assert len(places) > 3
        await pilot.press("slash", *"marram")
        await pilot.pause()
        assert at_hand() == ("marram", "marram", True)


@driven
async def test_what_is_said_of_the_first_song_is_its_own_after_each_key_of_a_filter(tmp_path) -> None:
    shelf = demo_shelf(tmp_path / "book")
    shelf.findings()
    async with Screens(RepertoireScreen(shelf)).run_test(size=(120, 36)) as pilot:
        await pilot.press("slash", *"saltmarsh")
        await pilot.pause()
        said = str(pilot.app.screen.query_one(".detail", Static).content)
        found = [told(each) for each in shelf.findings() if each.song == "saltmarsh-signal"]
        assert shelf.song == "saltmarsh-signal"
        assert " ".join(said.split()).startswith(" ".join(" ".join(found).split()))
        assert found
        await pilot.press("x")
        await pilot.pause()
        assert str(pilot.app.screen.query_one(".detail", Static).content) == "no song has all of these words"
