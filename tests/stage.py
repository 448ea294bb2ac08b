"""The stage on which pictures of the screens are taken: the demo book, with clocks and ports of its own.

Nothing depends on the machine, the day or the time of day, so that a picture is the same each time.
"""

import shutil
import tempfile
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import ExitStack, asynccontextmanager, contextmanager
from os import environ
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple
from unittest.mock import patch

from textpicture import Grid, grid_of
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input

from showrunner.live.fake import FakeSystem
from showrunner.live.local import LocalShow
from showrunner.live.night import night_of
from showrunner.live.picture import Picture
from showrunner.places import demo_book
from showrunner.planning.underway import plan_of
from showrunner.tui.app import Screens, place
from showrunner.tui.going import PLACES
from showrunner.tui.screens.playing import PlayingScreen
from showrunner.tui.settings import Settings
from showrunner.tui.shelf import Shelf

SHOW, SONG, RIG = "pellmarsh-hall", "saltmarsh-signal", "full"
FREE_BYTES = 212_000_000_000


class Clock:
    """Seconds as the pictures need them."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


class DemoShow(LocalShow):
    """The demo show without a process, on no day in particular."""

    def __init__(self, shelf: Shelf) -> None:
        self.at = Clock()
        night = night_of(shelf.book, SHOW, RIG)
        super().__init__(night.script(), self.at, night=night)
        self.plan = plan_of(shelf.book, night.the_show, self.script.rig)

    def picture(self) -> Picture:
        return super().picture()._replace(unix_s=0.0)

    def press(self, at_s: float, *steps: Any) -> None:
        """Take steps at a time of the clock, s."""
        self.at.now_s = at_s
        for step in steps:
            self.ask(step)


class Stage(NamedTuple):
    """A copy of the demo book, and the ports of a rig that is plugged in."""

    shelf: Shelf
    system: FakeSystem


Does = Callable[[Pilot[None], Stage], Awaitable[None]]


async def nothing(_pilot: Pilot[None], _stage: Stage) -> None:
    """Nothing is done on a screen."""


class Scene(NamedTuple):
    """What is to be seen: the screen that is opened, and what is done there."""

    opens: Callable[[Stage, Settings], Screen[None]]
    does: Does = nothing


def at(name: str, does: Does = nothing) -> Scene:
    """A scene on one of the screens on the book."""
    return Scene(lambda stage, settings: place(name)(stage.shelf, settings), does)


def playing(plays: Callable[[DemoShow], None]) -> Scene:
    """A scene on the playing screen, the show played so far beforehand."""

    def opens(stage: Stage, settings: Settings) -> Screen[None]:
        show = DemoShow(stage.shelf)
        plays(show)
        return PlayingScreen(show, show.plan, settings)

    return Scene(opens)


def keys(*pressed: str) -> Does:
    """Keys one after the other."""

    async def does(pilot: Pilot[None], _: Stage) -> None:
        await pilot.press(*pressed)

    return does


async def until(pilot: Pilot[None], true: Callable[[], bool]) -> None:
    """Let a screen and its threads go on until something is true, for ten seconds at the most."""
    for _ in range(500):
        if true():
            return
        await pilot.pause(0.02)
    raise AssertionError("it has not come to be within ten seconds")


async def settled(pilot: Pilot[None]) -> None:
    """Let everything come to rest that is under way: the screen has stayed the same for a few looks."""
    seen: list[Grid] = []
    for _ in range(200):
        await pilot.app.workers.wait_for_complete()
        for line in pilot.app.screen.query(Input):
            line.cursor_blink = False
        await pilot.pause(0.02)
        seen = [*seen[-2:], grid_of(pilot.app)]
        if len(seen) == 3 and seen[0] == seen[1] == seen[2]:
            return
    raise AssertionError("the screen has not come to rest")


@contextmanager
def stage() -> Iterator[Stage]:
    """A stage for one scene."""
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        root = Path(folder) / "book"
        shutil.copytree(demo_book(), root, ignore=shutil.ignore_patterns(".*"))
        system = FakeSystem(("Floor board", "Guitar box", "Host in"), ("Host out",))
        stack.enter_context(patch.dict(environ, XDG_STATE_HOME=folder))
        stack.enter_context(patch("showrunner.live.verifying.on_mains", lambda: True))
        stack.enter_context(patch("shutil.disk_usage", lambda _: SimpleNamespace(free=FREE_BYTES)))
        stack.enter_context(patch("showrunner.tui.plugged.LIT_S", float("inf")))
        for screen in map(place, PLACES):
            if hasattr(screen, "system_of"):
                stack.enter_context(patch.object(screen, "system_of", staticmethod(lambda: system)))
        shelf = Shelf(root)
        shelf.show, shelf.song = SHOW, SONG
        yield Stage(shelf, system)


@asynccontextmanager
async def shown(
    scene: Scene, size: tuple[int, int], theme: str = "stage", *, colours: str = "truecolor", plain: bool = False
) -> AsyncIterator[Pilot[None]]:
    """The scene on a terminal of this many columns and rows, and of these colours, `plain` where none are wanted."""
    with stage() as the_stage, patch.dict(environ, NO_COLOR="1" if plain else ""):
        settings = Settings(theme=theme)
        with patch("textual.constants.COLOR_SYSTEM", colours):
            app = Screens(scene.opens(the_stage, settings), settings)
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            await scene.does(pilot, the_stage)
            await settled(pilot)
            yield pilot
