"""Asking for a calibration: what is asked when, and what is said where an answer will not do."""

import pytest

from showrunner.curves.calibrate import CalibrationError
from showrunner.live.calibrating import HOLD_S, Calibrating, Reader
from showrunner.model.rig import Control, Rig

RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Test rig",
        "ports": {"floor": {"input": "Floor*"}},
        "controls": {
            "swell": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11},
            "fine": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 4, "bits": 14},
        },
    }
)
SWELL: Control = RIG.controls["swell"]


def marked(asking: Calibrating, at_s: float = 0.0) -> float:
    """All five marks held, at raw 0, 30, 60, 90, 120; the time then."""
    for raw in range(0, 121, 30):
        asking.heard(at_s, raw)
        at_s += HOLD_S + 1
        asking.done(at_s)
    return at_s


def swept(asking: Calibrating, from_s: float, to_s: float) -> None:
    """One even movement, up or down as the step says."""
    step = asking.step
    assert step is not None
    for number in range(121):
        asking.heard(from_s + (to_s - from_s) * number / 120, number if step.kind == "up" else 120 - number)
    asking.done(to_s)


def test_marks_are_asked_for_first_then_three_sweeps_there_and_back():
    asking, kinds = Calibrating(SWELL), []
    at_s = 0.0
    while (step := asking.step) is not None:
        kinds.append((step.kind, step.travel))
        if step.kind == "mark":
            asking.heard(at_s, round(step.travel))
            at_s += HOLD_S
            asking.done(at_s)
        elif step.kind == "ready":
            asking.done(at_s)
        else:
            swept(asking, at_s, at_s + 5)
            at_s += 5
    assert kinds[:5] == [("mark", 0), ("mark", 25), ("mark", 50), ("mark", 75), ("mark", 100)]
    assert kinds[5:] == [("ready", 0), ("up", 100), ("down", 0)] * 3


def test_a_still_control_reads_what_it_said_last():
    asking = Calibrating(SWELL)
    asking.heard(0.0, 3)
    assert asking.done(10.0) == "reads 3"


def test_readings_before_the_hold_do_not_count():
    asking = Calibrating(SWELL)
    for at_s, raw in ((0.0, 127), (1.0, 40), (2.0, 5), (2.5, 6)):
        asking.heard(at_s, raw)
    assert asking.done(3.0) == "reads 5 to 6"


def test_silence_is_said_and_the_same_mark_asked_for_again():
    asking = Calibrating(SWELL)
    before = asking.step
    with pytest.raises(CalibrationError, match="nothing was heard"):
        asking.done(5.0)
    assert asking.step == before


def test_a_mark_that_moved_is_asked_for_again():
    asking = Calibrating(SWELL)
    for number in range(60):
        asking.heard(number / 60, number)
    with pytest.raises(CalibrationError, match="hold it again"):
        asking.done(1.0)
    asking.heard(2.0, 0)
    assert asking.done(4.0) == "reads 0"


def test_a_sweep_back_that_was_too_fast_is_done_again_from_its_start_and_counted_once():
    asking = Calibrating(SWELL)
    at_s = marked(asking)
    asking.done(at_s)
    swept(asking, at_s, at_s + 5)
    with pytest.raises(CalibrationError, match="too fast"):
        swept(asking, at_s + 5, at_s + 5.5)
    step = asking.step
    assert step is not None
    assert step.kind == "ready"
    at_s += 10
    for _ in range(3):
        asking.done(at_s)
        swept(asking, at_s, at_s + 5)
        swept(asking, at_s + 5, at_s + 10)
        at_s += 10
    assert asking.step is None
    found = asking.found()
    assert found.reach == (0, 120)
    assert found.hysteresis_raw < 1


def test_the_reader_joins_fourteen_bits_and_passes_over_what_is_not_the_control():
    reader = Reader(RIG, "fine")
    assert list(reader.heard(0.0, "floor", bytes((0xB0, 11, 64)))) == []
    assert list(reader.heard(1.0, "floor", bytes((0xB0, 4, 64)))) == []
    assert list(reader.heard(1.001, "floor", bytes((0xB0, 36, 5)))) == [(1.001, 64 * 128 + 5)]


def test_an_msb_without_its_lsb_counts_once_its_wait_is_over():
    reader = Reader(RIG, "fine")
    assert list(reader.heard(1.0, "floor", bytes((0xB0, 4, 64)))) == []
    assert [raw for _, raw in reader.waited(2.0)] == [64 * 128]
