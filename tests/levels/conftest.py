"""Makers of small documents for the gain chain."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue


@pytest.fixture
def make_rig() -> Callable[..., Rig]:
    """A rig with two guitars and a chain of four stages; keyword arguments replace whole tables."""

    def make(**changes: Any) -> Rig:
        return Rig.model_validate(
            {
                "format": 1,
                "title": "Bench rig",
                "ports": {"host": {"output": "Host*"}},
                "targets": {
                    "output": {"port": "host", "channel": 1, "cc": 7, "unit": "dB", "range": [-60, 6], "level": True},
                    "drive": {"port": "host", "channel": 1, "cc": 70, "unit": "dB", "range": [-12, 12], "level": True},
                    "echo": {"port": "host", "channel": 1, "cc": 71, "range": [0, 100]},
                },
                "instruments": {
                    "baritone": {"tunings": {"B standard": ["B1", "E2"]}, "trim_db": -4},
                    "tenor": {"tunings": {"fifths": ["C3", "G3"]}, "trim_db": 3},
                },
                "gain": [
                    {"stage": "interface input", "range_db": [0, 60]},
                    {"stage": "software", "range_db": [0, 0]},
                    {"stage": "interface output", "range_db": [-60, 6]},
                    {"stage": "desk", "range_db": [-20, 60], "nominal_dbfs": -20},
                ],
                "trims": {"input_gain_db": 32, "interface_volume_db": -12, "volume_target": "output"},
                **changes,
            }
        )

    return make


@pytest.fixture
def make_song() -> Callable[..., Song]:
    """A song on the baritone."""

    def make(**changes: Any) -> Song:
        plain = {"format": 1, "title": "Low Water", "duration": "4:00", "instrument": "baritone"}
        return Song.model_validate({**plain, **changes})

    return make


@pytest.fixture
def make_venue() -> Callable[..., Venue]:
    """A room with the trims given."""

    def make(trims: dict[str, Any] | None = None, **changes: Any) -> Venue:
        return Venue.model_validate({"format": 1, "title": "The Shed", "trims": trims or {}, **changes})

    return make


@pytest.fixture
def make_show() -> Callable[..., Show]:
    """A show with the trims given."""

    def make(trims: dict[str, Any] | None = None, **changes: Any) -> Show:
        return Show.model_validate({"format": 1, "title": "Friday", "trims": trims or {}, **changes})

    return make
