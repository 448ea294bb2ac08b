"""Damaged documents, logs, takes, packs, frames and MIDI, a few of each: what `stress/fuzz.py` does for long."""

import random
import shutil
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.places import demo_book

sys.path.append(str(Path(__file__).with_name("stress")))
from fuzz import TARGETS, Target, changed

A_FEW = settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
LARGEST_SEED = 1 << 32


@pytest.fixture(scope="module", params=TARGETS)
def target(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Target:
    folder = tmp_path_factory.mktemp(request.param)
    shutil.copytree(demo_book(), folder / "book", ignore=shutil.ignore_patterns(".*"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_STATE_HOME", str(folder))
        made: Target = TARGETS[request.param](folder / "book")
    return made


@A_FEW
@given(seed=st.integers(0, LARGEST_SEED))
def test_what_is_damaged_is_refused_in_words_or_read(
    seed: int, target: Target, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    target.takes(changed(random.Random(seed), target.examples))
