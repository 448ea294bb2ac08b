"""Makes the demo book's two runs anew: its first show run through a week before, and the night itself.

Run it from the checkout whenever the book or the machine has changed on purpose:

    python tests/shows/make_runs.py

The program plays the show on a clock of its own. When the foot comes down is made up here, with a fixed seed, so that
it is the same every time; what is logged is what the engine says.
"""

import json
import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal, NamedTuple

from showrunner.book.read import read_book
from showrunner.live.fake import FakeSystem, plain
from showrunner.live.night import night_of
from showrunner.live.player import Player
from showrunner.live.runlog import began_entry, stamp, trim_entry
from showrunner.model.library import Book
from showrunner.places import demo_book
from showrunner.planning.changeover import changeover_times
from showrunner.planning.lineup import line_up
from showrunner.state.events import Trimmed
from showrunner.state.moments import Piece

SHOW, RIG = "pellmarsh-hall", "full"


class Slip(NamedTuple):
    """Something that goes otherwise than planned, in a song after one of its cues is taken."""

    song: str
    cue: int
    what: str


class Evening(NamedTuple):
    """One run: when its first note is, how steady everyone is, and what goes wrong."""

    first_note: datetime
    seed: int
    pace: float
    talk: float
    slips: tuple[Slip, ...]

    @property
    def date(self) -> str:
        """The date that it is kept under."""
        return self.first_note.date().isoformat()


EVENINGS = (
    Evening(
        datetime(2026, 11, 28, 19, 31, 20, tzinfo=UTC),
        seed=28,
        pace=1.01,
        talk=0.7,
        slips=(
            Slip("glass-weather", 1, "back"),
            Slip("cold-arcade", 1, "too soon"),
            Slip("the-long-sluice", 2, "back"),
            Slip("under-the-jetty", 2, "engine"),
        ),
    ),
    Evening(
        datetime(2026, 12, 5, 20, 47, 5, tzinfo=UTC),
        seed=5,
        pace=1.035,
        talk=1.1,
        slips=(
            Slip("low-lantern", 1, "too soon"),
            Slip("heron-clock", 1, "volume"),
            Slip("eel-road", 1, "port"),
            Slip("tin-harbour", 1, "back"),
        ),
    ),
)


class Stage:
    """The show as the program plays it on a clock that is set, and what it says."""

    def __init__(self, book: Book, evening: Evening) -> None:
        self.now_s = 0.0
        self.night = night_of(book, SHOW, RIG, simulated=True)
        self.script = self.night.script()
        self.system = FakeSystem.simulated(self.script.rig)
        self.player = Player(self.script, self.system, lambda: self.now_s)
        self.dice = random.Random(evening.seed)
        self.lines: list[tuple[float, dict[str, Any]]] = [
            (0.0, began_entry(SHOW, RIG, simulated=False, run=f"{evening.seed:016x}") | {"at_s": 0.0})
        ]
        self._engine = 1
        self._keep()

    def wait(self, seconds: float) -> None:
        """Let time pass, as the engine sees it."""
        self.now_s += seconds
        self.player.look()
        self.player.engine.beat()
        self._keep()

    def press(self, step: Literal["next", "back"]) -> None:
        """The foot on a switch, and off it again."""
        switch = getattr(self.script.rig.steps, step)
        for raw in (127, 0):
            self.player.move(switch, raw)
            self.now_s += 0.09
        self.player.compile_ahead()
        self._keep()

    def slip(self, what: str) -> None:
        """Something goes wrong."""
        if what == "back":
            self.wait(1.2)
            self.press("back")
            self.wait(1.6)
            self.press("next")
        elif what == "too soon":
            self.wait(0.12)
            self.press("next")
        elif what == "port":
            name = plain(self.script.rig.ports["host"].output or "")
            self.system.pull(name)
            self.wait(0.15)
            self.wait(2.6)
            self.system.plug_input(name)
            self.system.plug_output(name)
            self.wait(0.25)
        elif what == "volume":
            for value in (0.0, -0.5):
                self.wait(2.0)
                self.player.do(Trimmed(self.now_s, "interface volume", value))
                self._keep()
        elif what == "engine":
            state, began_s = self.player.engine.state, self.player.began_s
            self.player.patch.close()
            self._engine += 1
            self.now_s += 0.4
            self.player = Player(self.script, self.system, lambda: self.now_s, state=state, began_s=began_s)
            self._keep()

    def _keep(self) -> None:
        for said in self.player.unwritten():
            kind, song, cue, say, trim = said.notice
            told: dict[str, Any] = {"kind": kind, "song": song, "cue": cue, "say": say}
            told |= trim_entry(trim) if trim is not None else {}
            rest = {"at_s": round(said.at_s, 3), "engine": self._engine, "number": said.number}
            self.lines.append((said.at_s, told | rest))
            self.player.written(said.number)


def play(book: Book, evening: Evening) -> Stage:
    """The evening from its beginning to its end."""
    stage = Stage(book, evening)
    stage.wait(600)
    places = line_up(stage.night.the_show)
    rig = book.rigs[RIG]
    needs = changeover_times(book, stage.night.the_show, rig)
    for place, after in zip(places, (*places[1:], None), strict=True):
        if stage.player.engine.state.phase == "changeover":
            stage.press("next")
        waits = list(_waits(stage.script.pieces[place.song], evening, stage.dice))
        for number in range(stage.player.engine.state.moment, len(waits)):
            stage.wait(waits[number])
            stage.press("next")
            for slip in evening.slips:
                if (slip.song, slip.cue) == (place.song, number + 1):
                    stage.slip(slip.what)
        if after is not None and stage.player.engine.state.phase == "changeover":
            needed_s = needs.get((place.song, after.song), 0.0) * stage.dice.uniform(0.85, 1.2)
            meant_s = place.pause.seconds * evening.talk * stage.dice.uniform(0.8, 1.25)
            stage.wait(max(4.0, needed_s, meant_s))
    stage.wait(180)
    stage.lines.append((stage.now_s, {"kind": "ended", "at_s": round(stage.now_s, 3)}))
    return stage


def _waits(piece: Piece, evening: Evening, dice: random.Random) -> Iterator[float]:
    """Seconds from step to step through a song: to each cue, then to its end."""
    count = len(piece.moments)
    plan = [0.0]
    for index, moment in enumerate(piece.moments[1:], 1):
        at_s = moment.at_s if moment.at_s is not None else piece.song.duration * index / count
        plan.append(max(at_s, plan[-1]))
    plan.append(max(float(piece.song.duration), plan[-1]))
    pace = evening.pace * dice.uniform(0.985, 1.02)
    for before, after in pairwise(plan):
        yield max(0.6, (after - before) * pace + min(1.5, dice.gauss(0.1, 0.25)))


def text_of(stage: Stage, evening: Evening) -> str:
    """The run's log as a file."""
    began = evening.first_note - timedelta(seconds=600)
    rows = []
    for at_s, told in stage.lines:
        at = began + timedelta(seconds=at_s)
        rows.append(json.dumps(stamp(at.timestamp(), UTC) | told, ensure_ascii=False))
    return "\n".join(rows) + "\n"


def runs() -> dict[str, str]:
    """Every run's log by its path in the book."""
    book = read_book(demo_book()).book
    return {f"runs/{SHOW}/{evening.date}.jsonl": text_of(play(book, evening), evening) for evening in EVENINGS}


if __name__ == "__main__":
    for name, text in runs().items():
        path: Path = demo_book() / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="")
        print(f"written: {name}")
