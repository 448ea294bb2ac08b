"""Steps that are heard, and the bound that spares looking for them."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.checks.audible import a_reading_pct, largest_possible_db
from showrunner.checks.context import TargetRow
from showrunner.checks.run import check
from showrunner.curves.steps import largest_step
from showrunner.model.library import Book
from showrunner.model.rig import Control, Rig, Target
from showrunner.model.song import Curve, Song

LAWS = {
    "linear": {"law": "linear", "range": [-60, 0]},
    "falling": {"law": "linear", "range": [6, -24]},
    "gm-volume": {"law": "gm-volume", "range": [-80, 0]},
    "log": {"law": "log", "range": [-60, -1]},
    "table": {"law": "table", "range": [-90, 0], "table": [[0, -90], [12, -48], [40, -28], [127, 0]]},
}


def target(law: str, bits: int = 7) -> Target:
    return Target.model_validate(
        {"port": "host", "channel": 1, "cc": 7, "unit": "dB", "level": True, "bits": bits} | LAWS[law]
    )


def control(bits: int = 7, **more: object) -> Control:
    return Control.model_validate({"kind": "pedal", "port": "floor", "channel": 1, "cc": 11, "bits": bits} | more)


def findings(row: object, of: Target, moved_by: Control) -> list[str]:
    rig = Rig.model_validate({"format": 1, "title": "Rig", "ports": {"host": {"output": "h"}, "floor": {"input": "f"}}})
    rig = rig.model_copy(update={"targets": {"volume": of}, "controls": {"swell": moved_by}})
    song = {"format": 1, "title": "Song", "duration": "3:00", "curves": {"a": {"swell": row}}}
    book = Book(rig="r", rigs={"r": rig}, songs={"s": Song.model_validate(song)})
    return [f.what for f in check(book) if f.rule == "audible-step"]


@settings(max_examples=100, deadline=None)
@given(
    st.sampled_from(sorted(LAWS)),
    st.sampled_from(("straight", "smooth", "equal-power", "step")),
    st.lists(st.integers(0, 100), min_size=2, max_size=5, unique=True).map(sorted),
    st.data(),
    st.sampled_from(([], [[2, 0], [60, 50], [125, 100]], [[0, 0], [20, 80], [100, 100]])),
)
def test_no_step_is_larger_than_the_quick_bound(
    law: str, shape: str, travel: list[int], data: st.DataObject, calibration: list[list[int]]
) -> None:
    the = target(law)
    low, high = min(the.range), max(the.range)
    values = data.draw(st.lists(st.floats(low, high), min_size=len(travel), max_size=len(travel)))
    curve = Curve.model_validate({"travel": travel, "moves": {"volume": {"values": values, "shape": shape}}})
    moved_by = control(calibration=calibration)
    row = TargetRow("a", "swell", "volume", curve, curve.moves["volume"], curve.travel, min(values), max(values))
    step = largest_step(moved_by, curve, "volume", the)
    assert step is None or step.size <= largest_possible_db(row, a_reading_pct(moved_by), the) + 1e-6


def test_the_same_row_is_smooth_in_14_bits_and_steps_in_7() -> None:
    row = {"travel": [0, 100], "moves": {"volume": [-48, 0]}}
    assert findings(row, target("gm-volume", 14), control(14)) == []
    assert len(findings(row, target("gm-volume"), control())) == 1


def test_what_lies_far_under_the_band_is_not_heard() -> None:
    """Common practice, no source: 60 dB under the top nothing is heard beside a band."""
    row = {"travel": [0, 100], "moves": {"volume": {"values": [-80, -60.5], "shape": "step"}}}
    assert findings(row, target("gm-volume"), control()) == []


def test_a_switch_is_meant_to_step() -> None:
    row = {"travel": [0, 100], "moves": {"volume": [-12, 0]}}
    the = control()
    assert len(findings(row, target("linear"), the.model_copy(update={"calibration": ((0, 0), (20, 100))}))) == 1
    assert findings(row, target("linear"), the.model_copy(update={"kind": "switch"})) == []


@pytest.mark.parametrize("shape", ["straight", "smooth"])
def test_a_row_that_rests_has_no_step(shape: str) -> None:
    row = {"travel": [0, 100], "moves": {"volume": {"values": [-6, -6], "shape": shape}}}
    assert findings(row, target("gm-volume"), control()) == []
