"""A small show of our own on a clock that a test sets."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from showrunner.live.fake import FakeSystem
from showrunner.live.local import LocalShow
from showrunner.live.night import Night, night_of
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning.underway import Plan, plan_of
from showrunner.tui.screens.checklists import ChecklistsScreen
from showrunner.tui.screens.rig import RigScreen
from showrunner.tui.screens.soundcheck import SoundcheckScreen

SWITCH = {"kind": "switch", "port": "floor", "channel": 1}
TARGET = {"port": "host", "channel": 1}
RIG = {
    "format": 1,
    "title": "Test rig",
    "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*", "settle_ms": 0}},
    "controls": {
        "swell": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11, "rest": 0},
        "sw 1": {**SWITCH, "cc": 80},
        "sw 2": {**SWITCH, "cc": 81},
        "octave switch": {"kind": "selector", "positions": ["off", "octave"], "rest": "off"},
    },
    "targets": {
        "drive": {**TARGET, "cc": 70, "unit": "dB", "range": [-12, 12], "rest": 0},
        "output": {**TARGET, "cc": 7, "unit": "dB", "range": [-90, 0], "rest": 0},
    },
    "steps": {"next": "sw 1", "back": "sw 2"},
    "mute": {"target": "output", "value": -90},
    "instruments": {
        "tenor": {"tunings": {"standard": ["E2"], "drop D": ["D2"]}, "rest_tuning": "standard"},
        "baritone": {"tunings": {"B standard": ["B1"]}},
    },
}
LANTERN = {
    "format": 1,
    "title": "Low Lantern",
    "duration": "3:00",
    "tempo_bpm": 92,
    "meter": "7/8",
    "first_chord": "Dm",
    "count_in": {"bars": 2, "by": "drums"},
    "instrument": "tenor",
    "tuning": "drop D",
    "program": {"port": "host", "channel": 1, "number": 5},
    "curves": {
        "verse": {"swell": {"travel": [0, 100], "moves": {"drive": [0, 12]}}},
        "lead": {"swell": {"travel": [0, 50, 100], "moves": {"drive": [3, 3, 12]}}},
    },
    "cues": [
        {
            "name": "Lead",
            "curves": "lead",
            "controls": {"swell": 100},
            "by_hand": {"octave switch": "octave"},
            "say": "hold the E",
        },
        {"name": "Out", "by_hand": {"octave switch": "off"}},
    ],
}
ROAD = {"format": 1, "title": "Eel Road", "duration": "4:00", "instrument": "tenor", "capo": 2}
KILN = {"format": 1, "title": "Kiln Light", "duration": "2:00", "instrument": "baritone"}


class Clock:
    """Seconds as a test sets them."""

    def __init__(self) -> None:
        self.now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


class Bench:
    """A show played in the test's process, its clock and its times."""

    def __init__(self, **show_of: object) -> None:
        songs = {"lantern": LANTERN, "road": ROAD, "kiln": KILN}
        show = {
            "format": 1,
            "title": "Night",
            "start": "20:00",
            "sets": [{"songs": [{"song": "lantern"}, {"song": "road"}]}],
            "reserve": ["kiln"],
        } | show_of
        self.book = Book(
            songs={slug: Song.model_validate(song) for slug, song in songs.items()},
            rigs={"rig": Rig.model_validate(RIG)},
            shows={"night": Show.model_validate(show)},
        )
        self.clock = Clock()
        self.night: Night = night_of(self.book, "night", "rig", simulated=True)
        self.plan: Plan = plan_of(self.book, self.night.the_show, self.book.rigs["rig"])
        self.client = LocalShow(self.night.script(), self.clock, night=self.night)

    def play(self, *steps: str | tuple[str, int]) -> None:
        """Steps by name and pedals by raw value, a second and a half apart."""
        for step in steps:
            self.clock.now_s += 1.5
            if isinstance(step, str):
                self.client.ask(step)  # type: ignore[arg-type]
            else:
                self.client.move(*step)


@pytest.fixture(autouse=True)
def _state_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test keeps what runs and what was answered in a folder of its own."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


@pytest.fixture(autouse=True)
def _nothing_plugged_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test opens the ports of the machine it runs on."""
    for screen in (ChecklistsScreen, RigScreen, SoundcheckScreen):
        monkeypatch.setattr(screen, "system_of", staticmethod(FakeSystem))


@pytest.fixture
def bench() -> Bench:
    return Bench()


@pytest.fixture
def make_bench() -> Callable[[], Bench]:
    return Bench


@pytest.fixture(name="until")
def _until() -> Callable[..., Any]:
    """Lets a screen and its threads go on until something is true, for ten seconds at the most."""

    async def until(pilot: Any, true: Callable[[], Any]) -> None:
        for _ in range(500):
            if true():
                return
            await pilot.pause(0.02)
        raise AssertionError("it has not come to be within ten seconds")

    return until
