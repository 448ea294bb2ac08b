"""Pictures of the screens for the README, made on the demo book on a clock of their own: `python tests/pictures.py`.

Each is the terminal's own drawing as Textual exports it, without the web font that it would load and the frame's dots.
"""

import asyncio
import re
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from showrunner.live.local import LocalShow
from showrunner.live.night import night_of
from showrunner.live.picture import Picture
from showrunner.live.rehearsal_local import LocalRehearsal
from showrunner.places import demo_book
from showrunner.planning.rehearsals import Wanted
from showrunner.planning.rehearsals import plan_of as plan_of_rehearsal
from showrunner.planning.underway import plan_of
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.playing import PlayingScreen
from showrunner.tui.screens.rehearse_play import RehearsingScreen
from showrunner.tui.shelf import Shelf

FOLDER = Path(__file__).parent.parent / ".pictures"
SIZE = (100, 30)
SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"
_FONT = re.compile(r"@font-face \{.*?\}\s*", re.DOTALL)
_DOTS = re.compile(r"<g transform=\"translate\(26,22\)\">.*?</g>", re.DOTALL)
_NUMBER = re.compile(r"terminal-\d+")


class Clock:
    """Seconds as the pictures need them."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


class Show(LocalShow):
    """The show without a process, on no day in particular."""

    def picture(self) -> Picture:
        return super().picture()._replace(unix_s=0.0)


def in_a_song(show: Show, clock: Clock) -> None:
    """At the second cue, the pedal two fifths of the way."""
    clock.now_s = 5
    show.ask("next")
    clock.now_s = 100
    show.move("swell", 40)
    show.ask("next")
    clock.now_s = 131


def in_a_changeover(show: Show, clock: Clock) -> None:
    """After the first song's last cue."""
    in_a_song(show, clock)
    clock.now_s = 410
    for _ in range(5):
        show.ask("next")
    clock.now_s = 415


async def playing(shelf: Shelf, act: Callable[[Show, Clock], None]) -> str:
    """The playing screen after some steps."""
    clock = Clock()
    night = night_of(shelf.book, SHOW, "full")
    show = Show(night.script(), clock, night=night)
    act(show, clock)
    return await drawn(Screens(PlayingScreen(show, plan_of(shelf.book, night.the_show, show.script.rig))))


async def rehearsing(shelf: Shelf) -> str:
    """A song from one cue to another, the pedal on its way, in the first time of five."""
    clock, wanted = Clock(), Wanted("full", song=SONG, start="Theme", stop="Solo", times=5, by_foot=True)
    with tempfile.TemporaryDirectory() as folder:
        client = LocalRehearsal(plan_of_rehearsal(shelf.book, wanted), wanted, Path(folder), clock)
        clock.now_s = 3
        client.move("swell", 90)
        clock.now_s = 58
        return await drawn(Screens(RehearsingScreen(client, by_foot=True)))


async def on_the_book(shelf: Shelf, name: str, *keys: str) -> str:
    """A screen on the book after some keys."""
    return await drawn(Screens(place(name)(shelf)), *keys)


async def drawn(app: Screens, *keys: str) -> str:
    """A screen as SVG, the same each time."""
    async with app.run_test(size=SIZE) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press(*keys)
        await pilot.pause()
        svg = app.export_screenshot(title="Showrunner")
    plain = _DOTS.sub("", _FONT.sub("", _NUMBER.sub("t", svg)))
    lines = plain.replace("Fira Code", "monospace").splitlines()
    return "\n".join(line.strip() for line in lines if line.strip()) + "\n"


def pictures() -> dict[str, str]:
    """Every picture by its file's name."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder) / "book"
        shutil.copytree(demo_book(), root, ignore=shutil.ignore_patterns(".*"))
        shelf = Shelf(root)
        shelf.show, shelf.song = SHOW, SONG
        return {
            "song-playing": asyncio.run(playing(shelf, in_a_song)),
            "changeover": asyncio.run(playing(shelf, in_a_changeover)),
            "set": asyncio.run(on_the_book(shelf, "set", "down", "down", "down", "down")),
            "rehearsing": asyncio.run(rehearsing(shelf)),
            "after": asyncio.run(on_the_book(shelf, "after", "down", "down")),
            "song": asyncio.run(on_the_book(shelf, "song", *["full_stop"] * 8)),
        }


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, svg in pictures().items():
        (FOLDER / f"{name}.svg").write_text(svg, encoding="utf-8")
