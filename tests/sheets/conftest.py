"""A small book that the tests of this room share: two guitars, three songs, a set, an encore and a reserve."""

import copy
import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from showrunner.model.library import KINDS, Book
from showrunner.places import templates as shipped

RIG: dict[str, Any] = {
    "format": 1,
    "title": "Small rig",
    "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*", "programs_count_from": 1}},
    "controls": {
        "swell": {"kind": "pedal", "limb": "right foot", "port": "floor", "channel": 1, "cc": 11, "rest": 0},
        "wah": {"kind": "pedal", "limb": "left foot", "port": "floor", "channel": 1, "cc": 12},
        "string driver": {
            "kind": "selector",
            "limb": "picking hand",
            "positions": ["off", "fundamental", "octave"],
            "rest": "off",
        },
    },
    "targets": {
        "drive": {"port": "host", "channel": 1, "cc": 70, "unit": "dB", "range": [-12, 12], "level": True, "rest": 3},
        "echo": {"port": "host", "channel": 1, "cc": 71, "range": [0, 100], "rest": 0},
    },
    "mute": {"target": "drive", "value": -12},
    "instruments": {
        "low": {
            "tunings": {"B standard": ["B1", "E2", "A2", "D3", "F#3", "B3"]},
            "carries": ["string driver"],
            "battery": "cell",
            "spare": "other low",
        },
        "high": {
            "tunings": {
                "standard": ["E2", "A2", "D3", "G3", "B3", "E4"],
                "drop D": ["D2", "A2", "D3", "G3", "B3", "E4"],
            }
        },
    },
    "batteries": {"cell": {"capacity_mah": 550, "load_ma": 18, "fitted": datetime.date(2027, 1, 2), "used_h": 1.5}},
}

SONGS: dict[str, dict[str, Any]] = {
    "tide": {
        "format": 1,
        "title": "Tide Over Everything",
        "first_chord": "Dm",
        "key": "D minor",
        "tempo_bpm": 120,
        "count_in": {"bars": 2, "by": "drums"},
        "duration": "4:00",
        "instrument": "low",
        "program": {"port": "host", "channel": 1, "number": 12},
        "level": {"integrated_lufs": -18.2, "true_peak_dbtp": -3.1},
        "start": {"controls": {"swell": 0}, "targets": {"echo": 20}, "by_hand": {"string driver": "fundamental"}},
        "curves": {
            "verse": {
                "swell": {
                    "travel": [0, 50, 100],
                    "moves": {"drive": [3, 3, 12], "echo": {"travel": [0, 40], "values": [60, 20]}},
                }
            },
            "lead": {"swell": {"travel": [0, 100], "entry": "glide", "moves": {"drive": [9, 12]}}},
        },
        "cues": [
            {
                "name": "Theme",
                "at": "1:12",
                "curves": "lead",
                "targets": {"drive": 9},
                "controls": {"swell": 100},
                "by_hand": {"string driver": "octave"},
                "hold": True,
                "say": "eight bars",
            },
            {"name": "Solo", "bar": 61, "open": True, "back_to": "Theme"},
            {"name": "Out", "stop": {"by": "picking hand", "driver": "off"}},
        ],
    },
    "ferry": {
        "format": 1,
        "title": "Ferry",
        "duration": "3:00",
        "instrument": "high",
        "tuning": "drop D",
        "capo": 2,
        "meter": "3/4",
        "level": {"integrated_lufs": -21},
        "start": {"targets": {"drive": 0}},
        "cues": [{"name": "Loud", "at": "1:00", "targets": {"drive": 6}}],
    },
    "lamp": {"format": 1, "title": "Lamp", "duration": "2:00", "instrument": "high"},
    "spare": {"format": 1, "title": "Spare", "duration": "2:30"},
}

VENUE: dict[str, Any] = {
    "format": 1,
    "title": "The Dry Dock",
    "curfew": "23:00",
    "sound_limit": {"laeq_db": 97, "over": "1:00:00"},
    "depth_m": 34.9,
    "visits": [
        {"date": datetime.date(2026, 3, 1), "note": "Too much low end.", "temperature_c": 30},
        {"date": datetime.date(2026, 9, 1), "note": "Better with the\ncurtain shut."},
    ],
}

SHOW: dict[str, Any] = {
    "format": 1,
    "title": "A night at the dock",
    "date": datetime.date(2027, 2, 3),
    "venue": "dock",
    "rig": "small",
    "start": "21:00",
    "slot": "30:00",
    "checklists": ["doors"],
    "sets": [
        {
            "songs": [
                {"song": "tide", "then": "talk 1:30"},
                {"song": "ferry", "then": "segue", "optional": True},
                {"song": "lamp"},
            ]
        }
    ],
    "encore": ["last"],
    "reserve": ["spare"],
}

CHECKLIST: dict[str, Any] = {
    "format": 1,
    "title": "Before doors",
    "when": "at 19:30",
    "items": [{"ask": "Strings", "answer": "stretched", "critical": True, "who": "crew"}, {"ask": "Water"}],
}

Files = dict[str, dict[str, dict[str, Any]]]


@pytest.fixture
def files() -> Files:
    """The documents of the small book as plain data, by kind and slug; a test may change them."""
    songs = {**SONGS, "last": {"format": 1, "title": "Last", "duration": "5:00", "instrument": "low"}}
    return copy.deepcopy(
        {
            "song": songs,
            "rig": {"small": RIG},
            "venue": {"dock": VENUE},
            "show": {"dock": SHOW},
            "checklist": {"doors": CHECKLIST},
        }
    )


@pytest.fixture
def book_of() -> Callable[[Files], Book]:
    """Makes a book of plain documents."""
    return make_book


@pytest.fixture
def book(files: Files) -> Book:
    """The small book."""
    return make_book(files)


@pytest.fixture
def templates() -> list[Path]:
    """The templates that come with the program."""
    return [shipped()]


def make_book(files: Files) -> Book:
    """A book of plain documents."""
    made: dict[str, Any] = {
        f"{kind}s": {slug: KINDS[kind].model_validate(data) for slug, data in of_kind.items()}
        for kind, of_kind in files.items()
    }
    return Book("Small book", None, **made)
