"""Makers of targets, controls and curves for the tests of this room."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.model.rig import Control, Target
from showrunner.model.song import Curve


@pytest.fixture(scope="session")
def target() -> Callable[..., Target]:
    def make(**keys: Any) -> Target:
        return Target.model_validate({"port": "host", "channel": 1, "cc": 20, "range": [0, 100], **keys})

    return make


@pytest.fixture(scope="session")
def control() -> Callable[..., Control]:
    def make(**keys: Any) -> Control:
        return Control.model_validate({"kind": "pedal", "port": "floor", "channel": 1, "cc": 11, **keys})

    return make


@pytest.fixture(scope="session")
def curve() -> Callable[..., Curve]:
    def make(travel: list[float], **moves: Any) -> Curve:
        return Curve.model_validate({"travel": travel, "moves": moves})

    return make
