"""A small rig and songs for the show machine, and a player who sends raw values and reads what goes out."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.curves.tables import Send
from showrunner.model.rig import Rig
from showrunner.model.show import Then
from showrunner.model.song import Song
from showrunner.state.events import Asked, Event, Heard, Moved, Out, Tick
from showrunner.state.machine import fold, open_show, run, wakes_at
from showrunner.state.moments import prepare
from showrunner.state.script import Script


def rig_data() -> dict[str, Any]:
    switch = {"kind": "switch", "limb": "left foot", "port": "floor", "channel": 1}
    percent = {"port": "host", "channel": 1, "range": [0, 100]}
    return {
        "format": 1,
        "title": "Test rig",
        "ports": {
            "floor": {"input": "Floor*", "wire": "usb", "unmapped": "pass host"},
            "guitar": {"input": "Guitar*"},
            "host": {"output": "Host*", "settle_ms": 300},
            "light": {"output": "Light*", "settle_ms": 0},
        },
        "controls": {
            "swell": {"kind": "pedal", "limb": "right foot", "port": "floor", "channel": 1, "cc": 11},
            "fine": {"kind": "pedal", "limb": "left foot", "port": "floor", "channel": 1, "cc": 4, "bits": 14},
            "strip": {
                "kind": "strip",
                "limb": "picking hand",
                "port": "guitar",
                "channel": 1,
                "cc": 16,
                "on_release": {"to": 0, "after_ms": 60, "over_ms": 240},
            },
            "next": {**switch, "cc": 80},
            "back": {**switch, "cc": 81},
            "tune": {**switch, "cc": 82},
            "octave switch": {"kind": "selector", "positions": ["off", "fundamental", "octave"], "rest": "off"},
        },
        "targets": {
            "mix": {**percent, "cc": 20, "rest": 0},
            "drive": {**percent, "cc": 21, "unit": "dB", "range": [0, 127], "rest": 10},
            "width": {**percent, "cc": 22, "rest": 50},
            "pitch": {**percent, "cc": 12, "bits": 14, "rest": 0},
            "lamp": {**percent, "port": "light", "cc": 23},
            "output": {**percent, "cc": 7, "unit": "dB", "range": [-90, 0], "rest": -10},
        },
        "steps": {"next": "next", "back": "back"},
        "mute": {"target": "output", "value": -90, "switch": "tune"},
        "instruments": {
            "six": {"tunings": {"E standard": ["E2", "A2", "D3", "G3", "B3", "E4"]}, "carries": ["octave switch"]}
        },
    }


def song_data(**changes: Any) -> dict[str, Any]:
    song = {
        "format": 1,
        "title": "Low Lantern",
        "duration": "4:00",
        "instrument": "six",
        "program": {"port": "host", "channel": 1, "bank_msb": 1, "bank_lsb": 2, "number": 12},
        "start": {"curves": "verse", "targets": {"mix": 5}, "by_hand": {"octave switch": "fundamental"}},
        "curves": {
            "verse": {"swell": {"travel": [0, 100], "moves": {"drive": [0, 127]}}},
            "lead": {"swell": {"travel": [0, 100], "moves": {"drive": [127, 0], "width": [0, 100]}}},
        },
        "cues": [
            {"name": "Theme", "at": "1:00", "curves": "lead", "hold": True},
            {"name": "Break", "at": "2:00", "targets": {"mix": 40}, "stop": {"by": "picking hand", "driver": "off"}},
            {"name": "Solo", "open": True, "back_to": "Theme"},
        ],
    }
    return {**song, **changes}


class Player:
    """Plays a script: sends events in order with the ticks they need, keeps what went out, and mirrors the receiver."""

    def __init__(self, script: Script) -> None:
        self.script = script
        self.at_s = 0.0
        self.sent: list[tuple[float, str, bytes]] = []
        self.notices: list[tuple[str, str | None, str | None, str]] = []
        self.state, out = open_show(script, 0.0)
        self._keep(0.0, out)

    def _keep(self, at_s: float, out: Out) -> None:
        self.sent += [(at_s, send.port, send.message) for send in out.sends]
        self.notices += [tuple(notice) for notice in out.shows]

    def do(self, event: Event) -> list[Send]:
        """Fold one event, after the ticks due before it; what was sent meanwhile."""
        sends: list[Send] = []
        for passed, state, out in run(self.script, self.state, [event]):
            self.state = state
            self._keep(passed.at_s, out)
            sends += out.sends
        self.at_s = event.at_s
        return sends

    def hear(self, after_s: float, port: str, *data: int) -> list[Send]:
        return self.do(Heard(self.at_s + after_s, port, bytes(data)))

    def move(self, after_s: float, control: str, raw: int) -> list[Send]:
        return self.do(Moved(self.at_s + after_s, control, raw))

    def press(self, switch: str, *, after_s: float = 2.0, for_s: float = 0.1) -> list[Send]:
        return self.move(after_s, switch, 127) + self.move(for_s, switch, 0)

    def ask(self, what: Any, after_s: float = 2.0) -> list[Send]:
        return self.do(Asked(self.at_s + after_s, what))

    def wait(self, for_s: float) -> list[Send]:
        return self.do(Tick(self.at_s + for_s))

    def settle(self) -> None:
        """Let everything under way end."""
        while (due_s := wakes_at(self.script, self.state)) is not None:
            self.state, out = fold(self.script, self.state, Tick(due_s))
            self._keep(due_s, out)
            self.at_s = max(self.at_s, due_s)


@pytest.fixture
def make_rig() -> Callable[..., Rig]:
    def make(**changes: Any) -> Rig:
        return Rig.model_validate({**rig_data(), **changes})

    return make


@pytest.fixture
def make_song() -> Callable[..., Song]:
    return lambda **changes: Song.model_validate(song_data(**changes))


@pytest.fixture
def make_script(make_rig: Callable[..., Rig]) -> Callable[..., Script]:
    """A script of songs by slug, in the order given, those named in `reserve` aside."""

    def make(songs: dict[str, Song], *, rig: Rig | None = None, then: dict[str, Then] | None = None) -> Script:
        rig = make_rig() if rig is None else rig
        pieces = {slug: prepare(slug, song, rig) for slug, song in songs.items()}
        order = tuple(slug for slug in songs if not slug.startswith("reserve"))
        spare = tuple(slug for slug in songs if slug.startswith("reserve"))
        return Script(rig, pieces, order, spare, then or {})

    return make


@pytest.fixture
def make_player() -> Callable[[Script], Player]:
    return Player


@pytest.fixture
def player(make_script: Callable[..., Script], make_song: Callable[..., Song]) -> Player:
    """At the changeover to the first of two songs and a reserve song, everything settled."""
    plain = make_song(title="Plain", program={"port": "host", "channel": 1, "number": 3}, curves={}, cues=[], start={})
    the = Player(make_script({"lantern": make_song(), "plain": plain, "reserve song": plain}))
    the.settle()
    return the
