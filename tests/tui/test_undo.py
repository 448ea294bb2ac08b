"""A step is taken back at once where it was made and is seen; from anywhere else it is named first, and asked."""

from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import Static

from showrunner.book.journal import Entry, written
from showrunner.book.lock import locked
from showrunner.book.read import JOURNAL
from showrunner.book.rename import renamed
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.shelf import Shelf

SHOW, SONG = "pellmarsh-hall", "low-lantern"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, song=SONG)


def capo(shelf: Shelf) -> int:
    return Shelf(shelf.root).book.songs[SONG].capo


async def asked(app: Screens, pilot, until) -> str:
    await until(pilot, lambda: isinstance(app.screen, ProposalScreen))
    await pilot.pause()
    return " ".join(" ".join(str(each.content) for each in app.screen.query(Static)).split())


@driven
async def test_what_was_changed_on_the_screen_that_is_up_is_taken_back_at_once(shelf: Shelf) -> None:
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        app.screen.edit("song", SONG, ("capo",), 3)
        await pilot.press("u")
        assert (capo(shelf), isinstance(app.screen, ProposalScreen)) == (0, False)
        await pilot.press("U")
        assert (capo(shelf), isinstance(app.screen, ProposalScreen)) == (3, False)


@pytest.mark.parametrize("away", ["to another screen", "to another song"])
@driven
async def test_from_elsewhere_it_is_named_and_asked_and_so_is_making_it_again(shelf: Shelf, until, away: str) -> None:
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        app.screen.edit("song", SONG, ("capo",), 3)
        if away == "to another song":
            app.screen.action_other_song(1)
        else:
            await pilot.press("2")
        await pilot.press("u")
        assert await asked(app, pilot, until) == "Take back what was done on Song? capo in songs/low-lantern.toml"
        await pilot.press("x")
        assert capo(shelf) == 3
        await pilot.press("u", "y")
        await until(pilot, lambda: capo(shelf) == 0)
        await pilot.press("U")
        assert await asked(app, pilot, until) == "Make again what was done on Song? capo in songs/low-lantern.toml"
        await pilot.press("y")
        await until(pilot, lambda: capo(shelf) == 3)


@driven
async def test_a_list_sees_every_file_that_it_lists(shelf: Shelf) -> None:
    app = Screens(place("songs")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        app.screen.edit("song", SONG, ("capo",), 3)
        await pilot.press("down", "down", "u")
        assert (capo(shelf), isinstance(app.screen, ProposalScreen)) == (0, False)


@pytest.mark.parametrize("when", ["before the book is opened", "while the screen is up"])
@driven
async def test_what_another_program_left_half_done_is_finished_and_said(shelf: Shelf, until, when: str) -> None:
    changes = renamed(shelf.reading, "song", SONG, "Lower Lantern").changes
    journal = written(Entry(f"renaming songs/{SONG}.toml", changes))
    if when == "before the book is opened":
        (shelf.root / JOURNAL).write_bytes(journal)
        shelf = Shelf(shelf.root)
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        if when == "while the screen is up":
            (shelf.root / JOURNAL).write_bytes(journal)
        said = f"renaming songs/{SONG}.toml was stopped half way; it is finished now"
        await until(pilot, lambda: said in [note.message for note in app._notifications])
        await until(pilot, lambda: "lower-lantern" in shelf.book.songs and SONG not in shelf.book.songs)


def test_while_another_program_changes_several_files_nothing_is_read_anew(shelf: Shelf) -> None:
    changes = renamed(shelf.reading, "song", SONG, "Lower Lantern").changes
    with locked(shelf.root):
        (shelf.root / JOURNAL).write_bytes(written(Entry("renaming", changes)))
        (shelf.root / f"songs/{SONG}.toml").unlink()
        assert not shelf.refresh()
        assert SONG in shelf.book.songs
    assert shelf.refresh()
    assert (SONG in shelf.book.songs, "lower-lantern" in shelf.book.songs) == (False, True)
