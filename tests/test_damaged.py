"""Damaged input of every kind, a little of each: what `stress/fuzz.py` does for long.

The inputs that it kept, in `stress/corpus`, and some at random.
"""

import random
import shutil
import sys
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.places import demo_book

sys.path.append(str(Path(__file__).with_name("stress")))
from corpus import kept
from fuzz import TARGETS, Target, changed

A_FEW = settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
LARGEST_SEED = 1 << 32


class Fed(NamedTuple):
    name: str
    target: Target
    starts: list[bytes]


@pytest.fixture(scope="module", params=TARGETS)
def fed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Fed:
    name, folder = request.param, tmp_path_factory.mktemp(request.param)
    shutil.copytree(demo_book(), folder / "book", ignore=shutil.ignore_patterns(".*"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_STATE_HOME", str(folder))
        target: Target = TARGETS[name](folder / "book")
    return Fed(name, target, [*target.examples, *kept(name)])


@A_FEW
@given(seed=st.integers(0, LARGEST_SEED))
def test_what_is_damaged_is_refused_in_words_or_read(
    seed: int, fed: Fed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    fed.target.takes(changed(random.Random(seed), fed.starts))


def test_what_was_kept_is_refused_in_words_or_read(fed: Fed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert len(fed.starts) > len(fed.target.examples)
    for data in fed.starts:
        fed.target.takes(data)
