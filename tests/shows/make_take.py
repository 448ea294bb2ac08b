"""Makes the demo book's take anew: the first three songs of its first show, played on paper in under two minutes.

Run it from the checkout whenever the book or the machine has changed on purpose:

    python tests/shows/make_take.py

What comes in is made up here, with an easing foot and a fixed seed, so that it is the same every time. What goes out
and which cues are reached is what the show's machine makes of it.
"""

import math
import random
import tomllib
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from showrunner.curves.travel import raw_of
from showrunner.model.library import Book
from showrunner.model.rig import Control, Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.tempo import bar_starts_s
from showrunner.model.units import Meter
from showrunner.model.venue import Venue
from showrunner.places import demo_book
from showrunner.state.events import Heard, Out
from showrunner.state.machine import open_show, run
from showrunner.state.script import Script, script_of_show
from showrunner.takes.decode import take_of
from showrunner.takes.encode import bytes_of
from showrunner.takes.smf import write_take
from showrunner.takes.take import Take, TakeCue, TakeEvent, TempoMark

SHOW, RIG, SONGS, DATE = "pellmarsh-hall", "full", 3, "2026-11-14"
READINGS_A_SECOND = 125

Steps = list[tuple[float, str]]
Sweeps = list[tuple[str, list[tuple[float, float]]]]

PRESSES: Steps = [
    *((at_s, "sw 1") for at_s in (3.0, 12.6, 18.2, 24.1, 29.0, 36.4)),  # Saltmarsh Signal and its five cues
    *((at_s, "sw 1") for at_s in (41.0, 46.2)),  # changeover, Low Lantern
    *((at_s, "sw 1") for at_s in (50.0, 50.15)),  # its first cue, and a second press too soon
    *((at_s, "sw 1") for at_s in (58.6, 62.0, 68.4, 75.3)),
    *((at_s, "sw 1") for at_s in (79.0, 84.6, 88.0, 95.6, 102.2)),  # straight into Heron Clock
    (109.0, "sw 1"),  # the changeover after it
]

SWEEPS: Sweeps = [
    ("fade", [(0.2, 99), (0.4, 100)]),
    ("swell", [(0.6, 4), (0.8, 0)]),
    ("swell", [(4.6, 0), (5.8, 100), (6.6, 45), (8.2, 60), (9.0, 20), (12.0, 100)]),
    ("swell", [(14.0, 100), (15.1, 60), (16.9, 96), (17.6, 100)]),
    ("swell", [(19.4, 100), (20.6, 30), (21.4, 80), (23.6, 0)]),
    ("swell", [(29.8, 0), (33.4, 50)]),
    ("swell", [(42.2, 50), (43.4, 0)]),
    ("strip", [(51.6, 8), (52.9, 78), (54.2, 35), (55.0, 60)]),
    ("strip", [(56.4, 20), (57.2, 95)]),
    ("swell", [(59.6, 0), (61.4, 2)]),
    ("swell", [(63.2, 2), (64.4, 100), (65.2, 30), (67.6, 40)]),
    ("strip", [(70.4, 15), (71.6, 88), (72.3, 88)]),
    ("swell", [(80.6, 40), (81.9, 100), (83.4, 0)]),
    ("fade", [(88.8, 100), (93.0, 0)]),
    ("fade", [(94.0, 0), (95.2, 100)]),
    ("swell", [(97.2, 0), (98.2, 100), (99.1, 55), (100.8, 100)]),
    ("swell", [(103.4, 100), (105.2, 0)]),
]


def load() -> tuple[Book, Show, Rig]:
    """The demo book's songs of the take's show and its venue, the show and the rig."""
    root = demo_book()
    show = Show.model_validate(_toml(root / "shows" / f"{SHOW}.toml"))
    rig = Rig.model_validate(_toml(root / "rigs" / f"{RIG}.toml"))
    songs = {slug: Song.model_validate(_toml(root / "songs" / f"{slug}.toml")) for slug in show.songs}
    assert show.venue is not None
    venue = Venue.model_validate(_toml(root / "venues" / f"{show.venue}.toml"))
    return Book(songs=songs, venues={show.venue: venue}), show, rig


def path_of(show: Show) -> Path:
    """Where the take lies: under its first song, by date."""
    return demo_book() / "takes" / show.set_songs[0] / f"{DATE}.mid"


def perform(rig: Rig) -> list[TakeEvent]:
    """Everything that comes in, in time order."""
    dice = random.Random(1)
    events = [event for at_s, switch in PRESSES for event in _press(rig.controls[switch], at_s, dice)]
    for control, points in SWEEPS:
        events += _sweep(rig.controls[control], points, dice)
    return sorted(events, key=lambda event: event.at_s)


def make() -> Take:
    """The whole take: what comes in, what the machine sends, and where it gets to.

    A file keeps whole ticks, so the machine hears what came in as the file will have it: replayed, it sends the same.
    """
    book, show, rig = load()
    script = script_of_show(book, show, rig)
    once = _played(script, show, perform(rig))
    kept = take_of(bytes_of(once))
    return _played(script, show, [event for event in kept.events if event.direction == "in"])


def _played(script: Script, show: Show, came_in: list[TakeEvent]) -> Take:
    state, out = open_show(script, 0.0)
    went_out, cues = _recorded(0.0, out)
    for event, _, out in run(script, state, [Heard(e.at_s, e.port, e.data) for e in came_in]):
        sent, reached = _recorded(event.at_s, out)
        went_out, cues = went_out + sent, cues + reached
    events = sorted([*came_in, *went_out], key=lambda event: event.at_s)
    return Take(tuple(events), tuple(cues), SHOW, RIG, show.set_songs[0], tuple(_tempos(script, cues)))


def _toml(path: Path) -> dict[str, object]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _recorded(at_s: float, out: Out) -> tuple[list[TakeEvent], list[TakeCue]]:
    sent = [TakeEvent(at_s, send.port, "out", send.message) for send in out.sends]
    reached = [(n.song, n.cue) for n in out.shows if n.kind in ("song", "cue")]
    return sent, [TakeCue(at_s, song, cue) for song, cue in reached if song is not None and cue is not None]


def _message(control: Control, at_s: float, cc: int, value: int) -> TakeEvent:
    assert control.port is not None
    assert control.channel is not None
    return TakeEvent(round(at_s, 4), control.port, "in", bytes((0xB0 | control.channel - 1, cc, value)))


def _press(control: Control, at_s: float, dice: random.Random) -> Iterator[TakeEvent]:
    """A momentary switch: down, and up again within a tenth of a second or so."""
    assert control.cc is not None
    yield _message(control, at_s, control.cc, 127)
    yield _message(control, at_s + 0.06 + 0.05 * dice.random(), control.cc, 0)


def _sweep(control: Control, points: list[tuple[float, float]], dice: random.Random) -> Iterator[TakeEvent]:
    """From point to point of seconds and travel, easing in and out, with a tremor; equal readings say nothing."""
    assert control.cc is not None
    at_s, said = points[0][0], -1
    while at_s <= points[-1][0]:
        travel = _eased(points, at_s)
        tremor = (dice.random() - 0.5) * 0.4 if 0 < travel < 100 else 0.0
        raw = raw_of(control, min(100.0, max(0.0, travel + tremor)))
        if raw != said and control.bits == 14:
            yield _message(control, at_s, control.cc, raw >> 7)
            yield _message(control, at_s + 0.0004, control.cc + 32, raw & 0x7F)
        elif raw != said:
            yield _message(control, at_s, control.cc, raw)
        said = raw
        at_s += (0.85 + 0.3 * dice.random()) / READINGS_A_SECOND
    end = raw_of(control, points[-1][1])
    if end != said and control.bits == 7:
        yield _message(control, points[-1][0], control.cc, end)


def _eased(points: list[tuple[float, float]], at_s: float) -> float:
    for (start_s, start), (end_s, end) in pairwise(points):
        if at_s <= end_s:
            share = (at_s - start_s) / (end_s - start_s)
            return start + (end - start) * (1 - math.cos(math.pi * share)) / 2
    return points[-1][1]


def _tempos(script: Script, cues: list[TakeCue]) -> Iterator[TempoMark]:
    """The tempo and meter that each cue's place in its song has, where they change."""
    before: tuple[int, Meter] | None = None
    for cue in cues:
        piece = script.pieces[cue.song]
        song, moment = piece.song, next(m for m in piece.moments if m.name == cue.cue)
        tempo, meter = song.tempo_bpm, song.meter
        for change in song.tempo_changes:
            starts_s = bar_starts_s(song, change.bar)
            if moment.at_s is not None and starts_s is not None and starts_s <= moment.at_s + 1e-6:
                tempo, meter = change.tempo_bpm or tempo, change.meter or meter
        now = (round(60_000_000 / tempo), meter) if tempo is not None else before
        if now is not None and now != before:
            yield TempoMark(cue.at_s, *now)
            before = now


if __name__ == "__main__":
    path = path_of(load()[1])
    write_take(path, make())
    print(f"written: {path.relative_to(demo_book().parent.parent)}")
