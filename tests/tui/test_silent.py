"""No key that is offered does nothing and says nothing, however little the book holds."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from driving import driven
from stage import settled, stage
from textpicture import grid_of
from textual.app import App
from textual.pilot import Pilot
from textual.widgets import Input

from showrunner.tui.app import Screens, place
from showrunner.tui.going import PLACES
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.settings import Settings

LEFT_OUT = {"rig.up", "rig.down", "shows.play", "shows.try", "files.editor", "book.editor", "lists.editor"}
"""A cursor stays at the end of its list; a show and an editor are processes of their own, tried elsewhere."""
SMALL = {
    "songs/one.toml": 'format = 1\ntitle = "One"\nduration = "3:00"\n',
    "shows/gig.toml": 'format = 1\ntitle = "Gig"\nrig = "bare"\n[[sets]]\nsongs = [{ song = "one" }]\n',
    "rigs/bare.toml": 'format = 1\ntitle = "Bare"\n',
}


def looks(app: App[None], root: Path) -> tuple[object, ...]:
    """What a key can change: the screen, and the book's files."""
    return (
        type(app.screen),
        len(app.screen_stack),
        grid_of(app),
        {file: file.read_bytes() for file in root.rglob("*.toml")},
    )


async def rest(pilot: Pilot[None]) -> None:
    """Let what a key began come to an end."""
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()
    await pilot.pause()


def emptied(root: Path) -> None:
    for folder in ("songs", "rigs", "venues", "shows", "checklists", "takes", "runs"):
        shutil.rmtree(root / folder)


def small(root: Path) -> None:
    emptied(root)
    for name, text in SMALL.items():
        (root / name).parent.mkdir(exist_ok=True)
        (root / name).write_text(text)


async def silent(name: str, book: Callable[[Path], None], show: str | None, song: str | None) -> list[str]:
    """The screen's own keys that are offered and neither change anything nor say a word."""
    found: list[str] = []
    said: list[str] = []
    with stage() as the_stage:
        root, shelf = the_stage.shelf.root, the_stage.shelf
        book(root)
        shelf.refresh()
        shelf.show, shelf.song = show, song
        app = Screens(place(name)(shelf, Settings()), Settings())
        app.notify = lambda message, **_: said.append(message)  # type: ignore[method-assign]
        async with app.run_test(size=(120, 36)) as pilot:
            await settled(pilot)
            offered = [
                (key, active.binding.id)
                for key, active in app.screen.active_bindings.items()
                if active.enabled and (active.binding.id or "").split(".")[0] not in ("", "go", "app")
            ]
            for key, named in offered:
                if named in LEFT_OUT:
                    continue
                if not isinstance(app.screen, place(name)):
                    await pilot.press(str(1 + list(PLACES).index(name)))
                    await rest(pilot)
                before, told = looks(app, root), len(said)
                await pilot.press(key)
                await rest(pilot)
                if looks(app, root) == before and len(said) == told:
                    found.append(f"{key}: {named}")
                for _ in range(3):
                    if not isinstance(app.screen, BookScreen) or isinstance(app.focused, Input):
                        await pilot.press("escape")
                        await rest(pilot)
    return found


@driven
@pytest.mark.parametrize("name", PLACES)
async def test_every_key_that_is_offered_on_a_small_book_answers(name: str) -> None:
    assert await silent(name, small, "gig", "one") == []


@driven
@pytest.mark.parametrize("name", PLACES)
async def test_every_key_that_is_offered_on_an_empty_book_answers(name: str) -> None:
    assert await silent(name, emptied, None, None) == []
