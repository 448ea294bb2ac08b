"""The songs of the book: made, copied, renamed with a preview, sorted, and opened in the user's own editor."""

import asyncio
import shutil
from contextlib import nullcontext
from functools import wraps
from pathlib import Path

import pytest
from textual.widgets import DataTable, Input, Static

from showrunner.places import demo_book
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.repertoire import COLUMNS
from showrunner.tui.shelf import Shelf


def driven(test):
    """The test as a plain function that runs to its end."""
    return wraps(test)(lambda **given: asyncio.run(test(**given)))


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shelf:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    shutil.copytree(demo_book(), tmp_path / "book", ignore=shutil.ignore_patterns(".*"))
    made = Shelf(tmp_path / "book")
    made.song = "marram"
    return made


def slugs(shelf: Shelf) -> set[str]:
    return {file.stem for file in (shelf.root / "songs").glob("*.toml")}


async def typed(app: Screens, pilot, key: str, title: str) -> None:
    await pilot.press(key)
    await pilot.pause()
    app.screen.query_one(Input).value = title
    await pilot.press("enter")
    await pilot.pause()


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
            sorted_by = [COLUMNS[name](entry) for slug in rows for entry in app.screen._entries if entry[0] == slug]
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
