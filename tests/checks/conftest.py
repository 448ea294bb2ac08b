"""One small healthy book as plain data, and how to make a book of such data with edits put in."""

import copy
from collections.abc import Callable, Mapping
from typing import Any

import pytest

from showrunner.checks.run import SystemPorts
from showrunner.model.checklist import Checklist
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue

DOCUMENTS = {"songs": Song, "rigs": Rig, "venues": Venue, "shows": Show, "checklists": Checklist}
Data = dict[str, Any]


def _pedal(limb: str, cc: int) -> Data:
    return {"kind": "pedal", "limb": limb, "port": "floor", "channel": 1, "cc": cc, "rest": 0}


def _switch(cc: int) -> Data:
    return {"kind": "switch", "limb": "left foot", "port": "floor", "channel": 1, "cc": cc}


def _target(cc: int, **more: Any) -> Data:
    return {"port": "host", "channel": 1, "cc": cc, "unit": "%", "range": [0, 100], "rest": 0} | more


def _full() -> Data:
    return {
        "format": 1,
        "title": "Full rig",
        "ports": {
            "floor": {"input": "Floor*", "wire": "din"},
            "guitar": {"input": "Guitar*", "wire": "usb"},
            "host": {"output": "Host*"},
        },
        "controls": {
            "swell": _pedal("right foot", 11),
            "wash": _pedal("right foot", 4),
            "strip": {
                "kind": "strip",
                "limb": "picking hand",
                "port": "guitar",
                "channel": 1,
                "cc": 16,
                "rest": 0,
                "on_release": {"to": 0},
            },
            "sw 1": _switch(80),
            "sw 2": _switch(81),
            "sw 3": _switch(82),
            "sw 4": _switch(83),
            "octave switch": {
                "kind": "selector",
                "limb": "picking hand",
                "positions": ["off", "fundamental", "octave"],
                "rest": "off",
                "seconds": 1,
            },
            "tone knob": {"kind": "knob", "limb": "picking hand", "seconds": 2},
        },
        "targets": {
            "drive": _target(70, unit="dB", range=[-12, 12], level=True, rest=3),
            "delay mix": _target(71),
            "room": _target(72),
            "width": _target(73),
            "output": _target(7, unit="dB", range=[-90, 0], law="gm-volume", level=True, rest=-12),
        },
        "steps": {"next": "sw 1", "back": "sw 2"},
        "mute": {"target": "output", "value": -90, "switch": "sw 4"},
        "instruments": {
            "baritone": {
                "tunings": {"B standard": ["B1", "E2", "A2", "D3", "F#3", "B3"]},
                "carries": ["strip", "octave switch"],
                "battery": "driver cell",
                "swap_s": 15,
            },
            "six": {"tunings": {"standard": ["E2", "A2", "D3", "G3", "B3", "E4"]}, "swap_s": 15},
        },
        "batteries": {"driver cell": {"capacity_mah": 550, "load_ma": 18}},
        "gain": [{"stage": "interface input", "range_db": [0, 60], "nominal_dbfs": -18, "clip_dbfs": 0}],
        "trims": {"input_gain_db": 32, "interface_volume_db": -12},
    }


def _lantern() -> Data:
    return {
        "format": 1,
        "title": "Low Lantern",
        "tempo_bpm": 96,
        "duration": "4:00",
        "instrument": "baritone",
        "tuning": "B standard",
        "program": {"port": "host", "channel": 1, "bank_msb": 0, "bank_lsb": 0, "number": 3},
        "start": {"controls": {"swell": 0}, "by_hand": {"octave switch": "off"}},
        "curves": {
            "verse": {
                "swell": {"travel": [0, 100], "entry": "glide", "moves": {"delay mix": [0, 40], "drive": [3, 4]}}
            },
            "lead": {
                "swell": {"travel": [0, 50, 100], "moves": {"room": [0, 0, 30], "width": [60, 20, 20]}},
                "strip": {"travel": [0, 100], "entry": "glide", "moves": {"delay mix": [0, 60]}},
            },
        },
        "cues": [
            {"name": "Theme", "at": "0:40", "by_hand": {"octave switch": "fundamental"}, "hold": True},
            {"name": "Solo", "at": "1:30", "curves": "lead", "say": "strip and swell"},
            {"name": "Out", "at": "3:00", "curves": "verse", "stop": {"by": "picking hand", "driver": "off"}},
        ],
    }


def _harbour() -> Data:
    return {
        "format": 1,
        "title": "Tin Harbour",
        "tempo_bpm": 120,
        "duration": "3:30",
        "instrument": "six",
        "program": {"port": "host", "channel": 1, "bank_msb": 0, "bank_lsb": 0, "number": 4},
        "curves": {"main": {"swell": {"travel": [0, 100], "moves": {"delay mix": [0, 30]}}}},
        "cues": [{"name": "Chorus", "at": "1:00", "targets": {"drive": 6}}],
    }


def _eel() -> Data:
    return {
        "format": 1,
        "title": "Eel Road",
        "duration": "5:00",
        "instrument": "baritone",
        "program": {"port": "host", "channel": 1, "bank_msb": 0, "bank_lsb": 0, "number": 5},
        "curves": {"main": {"wash": {"travel": [0, 100], "moves": {"room": [0, 50]}}}},
    }


def healthy_book() -> Data:
    """Three songs on two guitars, one rig, one show: nothing to find."""
    return {
        "name": "Healthy",
        "rig": "full",
        "songs": {"lantern": _lantern(), "harbour": _harbour(), "eel": _eel()},
        "rigs": {"full": _full()},
        "venues": {"hall": {"format": 1, "title": "Fleet Hall", "curfew": "23:00"}},
        "shows": {
            "friday": {
                "format": 1,
                "title": "Friday",
                "venue": "hall",
                "start": "20:00",
                "slot": "45:00",
                "checklists": ["stage"],
                "sets": [
                    {
                        "title": "One",
                        "songs": [
                            {"song": "lantern", "then": "talk 1:30"},
                            {"song": "harbour", "then": "talk 1:30"},
                            {"song": "eel"},
                        ],
                    }
                ],
            }
        },
        "checklists": {
            "stage": {
                "format": 1,
                "title": "Stage",
                "items": [{"ask": "driver cell fresh", "critical": True}, {"ask": "setlist taped down"}],
            }
        },
    }


@pytest.fixture
def healthy() -> Data:
    """The healthy book's data, to be edited."""
    return healthy_book()


@pytest.fixture
def ports() -> SystemPorts:
    """All that the healthy rig needs, plugged in."""
    return SystemPorts(("Floor 1", "Guitar 1"), ("Host 1",))


@pytest.fixture
def book_of() -> Callable[..., Book]:
    """Makes a book of data, after edits by path (`"songs/eel/cues/0/hold"`) and with paths left out."""

    def make(data: Data, edits: Mapping[str, Any] | None = None, without: tuple[str, ...] = ()) -> Book:
        data, edits = copy.deepcopy(data), copy.deepcopy(edits)
        for path, value in (edits or {}).items():
            *way, last = _steps(path)
            place = data
            for step in way:
                place = place[step] if isinstance(step, int) else place.setdefault(step, {})
            if isinstance(place, list) and last == len(place):
                place.append(value)
            else:
                place[last] = value
        for path in without:
            *way, last = _steps(path)
            place = data
            for step in way:
                place = place[step]
            del place[last]
        documents = {
            kind: {slug: document.model_validate(text) for slug, text in data[kind].items()}
            for kind, document in DOCUMENTS.items()
        }
        return Book(name=data["name"], rig=data.get("rig"), **documents)

    return make


def _steps(path: str) -> list[Any]:
    return [int(step) if step.isdigit() else step for step in path.split("/")]
