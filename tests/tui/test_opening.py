"""Opening the book's screens: the frame at once, what is typed meanwhile in order, and errors that say what to do."""

import shutil
import threading
from pathlib import Path

import pytest
from driving import driven, offers
from textual.widgets import Input, Static

from showrunner.places import demo_book
from showrunner.tui import shelf as shelf_module
from showrunner.tui.app import Screens
from showrunner.tui.going import PLACES
from showrunner.tui.screens.opening import OpeningScreen


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A book of one's own to open."""
    folder = tmp_path / "book"
    shutil.copytree(demo_book(), folder)
    return folder


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """Books are read only once this is set."""
    held, read = threading.Event(), shelf_module.read_book

    def read_once_open(root):
        assert held.wait(10)
        return read(root)

    monkeypatch.setattr(shelf_module, "read_book", read_once_open)
    return held


def place_of(app: Screens) -> str:
    return getattr(app.screen, "place", "")


def where(app: Screens) -> str:
    return str(app.screen.query_one("#where", Static).content)


@driven
async def test_the_frame_names_the_places_and_the_book_before_it_is_read(root, gate, until) -> None:
    app = Screens(OpeningScreen(root, "songs"))
    async with app.run_test() as pilot:
        assert where(app).startswith("1 Shows 2 Set [3 Songs]")
        assert str(root) in str(app.screen.query_one("#reading", Static).content)
        gate.set()
        await until(pilot, lambda: place_of(app) == "songs" and where(app) != "")
        assert where(app).startswith("1 Shows 2 Set [3 Songs]")


@driven
async def test_keys_typed_while_the_book_is_read_are_given_to_the_screen_in_order(root, gate, until) -> None:
    app = Screens(OpeningScreen(root, "shows"))
    async with app.run_test() as pilot:
        await pilot.press("3", "slash", "s", "a", "l", "t")
        assert place_of(app) == ""
        gate.set()
        await until(pilot, lambda: place_of(app) == "songs")
        await until(pilot, lambda: app.screen.query_one("#filter", Input).value == "salt")


@driven
async def test_the_show_and_the_song_at_hand_are_those_asked_for(root, until) -> None:
    app = Screens(OpeningScreen(root, "song", show="pellmarsh-hall", song="saltmarsh-signal"))
    async with app.run_test() as pilot:
        await until(pilot, lambda: place_of(app) == "song")
        assert (app.screen.shelf.show, app.screen.shelf.song) == ("pellmarsh-hall", "saltmarsh-signal")


@pytest.mark.parametrize("key", ["q", "ctrl+q"])
@driven
async def test_the_program_can_be_left_while_the_book_is_read(root, gate, key) -> None:
    app = Screens(OpeningScreen(root, "shows"))
    async with app.run_test() as pilot:
        await pilot.press(key)
        assert app._exit
        gate.set()


@driven
async def test_a_book_that_is_gone_says_so_and_what_to_do(tmp_path, until) -> None:
    app = Screens(OpeningScreen(tmp_path / "gone", "shows"))
    async with app.run_test(size=(120, 36)) as pilot:
        await until(pilot, lambda: "can't be read" in str(app.screen.query_one("#reading", Static).content))
        assert str(tmp_path / "gone") in str(app.screen.query_one("#reading", Static).content)


@driven
async def test_a_broken_file_is_named_on_the_screen_that_opens(root, until) -> None:
    (root / "songs" / "saltmarsh-signal.toml").write_text("title = ", encoding="utf-8")
    app = Screens(OpeningScreen(root, "songs"))
    async with app.run_test(size=(120, 36)) as pilot:
        await until(pilot, lambda: place_of(app) == "songs" and where(app) != "")
        assert "songs/saltmarsh-signal.toml" in where(app)


@pytest.mark.parametrize("name", PLACES)
@driven
async def test_every_screen_that_opens_shows_its_keys(root, until, name) -> None:
    app = Screens(OpeningScreen(root, name, show="pellmarsh-hall", song="saltmarsh-signal"))
    async with app.run_test() as pilot:
        await until(pilot, lambda: place_of(app) == name)
        await until(pilot, lambda: any(offer.key == "q" for offer in offers(app)))
