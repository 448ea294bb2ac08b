"""What tests of the screens share: a run to the end of what is awaited, and the demo book on a shelf of its own."""

import asyncio
import shutil
from collections.abc import Awaitable, Callable
from functools import wraps
from pathlib import Path

from textual.app import App

from showrunner.places import demo_book
from showrunner.tui.shelf import Shelf
from showrunner.tui.widgets.foot import Foot, Offer


def driven(test: Callable[..., Awaitable[None]]) -> Callable[..., None]:
    """The test as a plain function that runs to its end."""
    return wraps(test)(lambda **given: asyncio.run(test(**given)))  # type: ignore[arg-type]


def demo_shelf(root: Path, *, show: str | None = None, song: str | None = None, without: tuple[str, ...] = ()) -> Shelf:
    """A copy of the demo book, with a show and a song at hand where they are named."""
    shutil.copytree(demo_book(), root, ignore=shutil.ignore_patterns(".*", *without))
    made = Shelf(root)
    made.show, made.song = show or made.show, song or made.song
    return made


def offers(app: App[None]) -> list[Offer]:
    """The keys at the foot of the screen that is up."""
    return [offer for foot in app.screen.query(Foot) for offer in foot.offers]
