"""A disk that is full, a folder that may only be read, names that exist: said in words, nothing half done."""

import errno
import os
from pathlib import Path
from typing import Any

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Input

from showrunner.book import save as book_save
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import ClashScreen, LineScreen
from showrunner.tui.shelf import Shelf

SHOW, SLUG = "pellmarsh-hall", "saltmarsh-signal"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, song=SLUG)


def files(shelf: Shelf) -> dict[str, bytes]:
    found = (path for path in shelf.root.rglob("*") if path.is_file() and ".showrunner" not in path.parts)
    return {str(path.relative_to(shelf.root)): path.read_bytes() for path in sorted(found)}


def said(app: Screens) -> str:
    return " ".join(notification.message for notification in app._notifications)


class Disk:
    """The system as a save sees it, with room for so many writes more."""

    def __init__(self, left: int) -> None:
        self.left = left

    def __getattr__(self, name: str) -> Any:
        return getattr(os, name)

    def write(self, handle: int, source: bytes) -> int:
        if self.left <= 0:
            os.write(handle, source[: len(source) // 2])
            raise OSError(errno.ENOSPC, "No space left on device")
        self.left -= 1
        return os.write(handle, source)


def full_disk(monkeypatch: pytest.MonkeyPatch, after: int = 0) -> None:
    """From so many writes on there is no room left."""
    monkeypatch.setattr(book_save, "os", Disk(after))


def read_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """A book on a medium that may only be read."""

    def refused(*_: object) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(book_save, "_write", refused)


TROUBLES = [(full_disk, "no space left on device"), (read_only, "read-only file system")]


async def line(app: Screens, pilot, *keys: str, typed: str) -> None:
    await pilot.press(*keys)
    await pilot.pause()
    app.screen.query(Input).last().value = typed
    await pilot.press("enter")
    await pilot.pause()


@pytest.mark.parametrize(("trouble", "words"), TROUBLES)
@driven
async def test_a_value_that_can_not_be_saved_stays_typed(shelf: Shelf, monkeypatch, trouble, words: str) -> None:
    before = files(shelf)
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        with monkeypatch.context() as patched:
            trouble(patched)
            await line(app, pilot, "enter", typed="12")
            assert words in said(app)
            assert app.screen.query_one("#value", Input).value == "12"
            assert files(shelf) == before
        await pilot.press("enter")
        await pilot.pause()
        assert files(shelf) != before


@pytest.mark.parametrize(("trouble", "words"), TROUBLES)
@pytest.mark.parametrize(("name", "key"), [("shows", "n"), ("songs", "n"), ("shows", "c"), ("songs", "c")])
@driven
async def test_a_file_that_can_not_be_made_leaves_none(
    shelf: Shelf, monkeypatch, trouble, words: str, name: str, key: str
) -> None:
    before = files(shelf)
    app = Screens(place(name)(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        trouble(monkeypatch)
        await line(app, pilot, key, typed="Quite New")
        assert isinstance(app.screen, LineScreen)
        assert app.screen.query_one(Input).value == "Quite New"
        assert words in said(app)
        assert files(shelf) == before


@pytest.mark.parametrize("writes", [0, 1, 2])
@driven
async def test_a_rename_for_which_there_is_no_room_is_not_half_done(shelf: Shelf, monkeypatch, writes: int) -> None:
    before = files(shelf)
    shelf.song = "low-lantern"
    app = Screens(place("songs")(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        await line(app, pilot, "m", typed="Lantern")
        with monkeypatch.context() as patched:
            full_disk(patched, writes)
            await pilot.press("y")
            await pilot.pause()
        assert "no space left on device" in said(app)
        assert not Shelf(shelf.root).reading.problems
        await pilot.press("u")
        assert files(shelf) == before
        await pilot.press("m")
        await line(app, pilot, typed="Lantern")
        await pilot.press("y")
        await pilot.pause()
        assert "songs/lantern.toml" in files(shelf)
        assert not Shelf(shelf.root).reading.problems
        assert len(files(shelf)) == len(before)


@driven
async def test_an_undo_that_can_not_be_saved_can_be_made_later(shelf: Shelf, monkeypatch) -> None:
    before = files(shelf)
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "full_stop")
        moved = files(shelf)
        assert moved != before
        with monkeypatch.context() as patched:
            full_disk(patched)
            await pilot.press("u")
            assert files(shelf) == moved
        await pilot.press("u")
        assert files(shelf) == before


@driven
async def test_a_field_changed_outside_meanwhile_shows_both_versions(shelf: Shelf) -> None:
    file = shelf.root / "shows" / f"{SHOW}.toml"
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("w")
        await pilot.pause()
        app.screen.query_one(DataTable).move_cursor(row=3)
        await pilot.press("enter")
        await pilot.pause()
        app.screen.query_one(Input).value = "21:00"
        file.write_text(file.read_text().replace('start = "20:45"', 'start = "20:30"'))
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, ClashScreen)
        await pilot.press("m")
        await pilot.pause()
        assert 'start = "21:00"' in file.read_text()
        assert not isinstance(app.screen, LineScreen | ClashScreen)


@driven
async def test_what_was_taken_out_comes_back_with_its_comments_beside_an_outside_edit(shelf: Shelf) -> None:
    file = shelf.root / "shows" / "brackwater-field.toml"
    shelf.show = "brackwater-field"
    before = file.read_text()
    commented = before.replace("[tonight.marram]", "[tonight.marram]\n# the slide guitar stays at home")
    assert commented != before
    file.write_text(commented)
    shelf.refresh()
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        songs = [spot.song for spot in app.screen.spots]
        app.screen.query_one(DataTable).move_cursor(row=songs.index("marram"))
        await pilot.press("delete")
        assert "slide guitar" not in file.read_text()
        file.write_text(file.read_text().replace('start = "18:10"', 'start = "18:20"'))
        await pilot.press("u")
        await pilot.pause()
        assert file.read_text() == commented.replace('start = "18:10"', 'start = "18:20"')


@pytest.mark.parametrize("key", ["c", "m"])
@driven
async def test_a_file_that_goes_while_a_name_is_typed_for_it_is_said(shelf: Shelf, key: str) -> None:
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press(key)
        await pilot.pause()
        (shelf.root / "shows" / f"{SHOW}.toml").unlink()
        await line(app, pilot, typed="Another Night")
        assert f"shows/{SHOW}.toml is gone" in said(app)
        assert app.screen.query_one(Input).value == "Another Night"
