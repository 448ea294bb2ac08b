"""The volume law of the MIDI Association's M2-113-UM v1.0 (2020), Appendix B: dB = 40·log10(cc/127)."""

import pytest

from showrunner.curves.laws import to_number, to_value
from showrunner.model.rig import Target


def _volume(bits=7, **keys):
    fields = {"port": "host", "channel": 1, "cc": 7, "bits": bits, "unit": "dB", "law": "gm-volume", "range": [-90, 0]}
    return Target.model_validate(fields | keys)


@pytest.mark.parametrize(("number", "db"), [(96, -4.9), (64, -11.9), (16, -36.0), (127, 0.0)])
def test_printed_values_are_met(number, db):
    # Appendix B prints the first three; 127 is the formula's own zero.
    assert to_value(_volume(), number) == pytest.approx(db, abs=0.05)


@pytest.mark.parametrize(("db", "number"), [(-4.9, 96), (-11.9, 64), (-36.0, 16)])
def test_printed_values_are_met_the_other_way(db, number):
    assert to_number(_volume(), db) == number


def test_volume_and_expression_add_up_in_db():
    # Appendix B prints −23.8 for volume 64 with expression 64.
    volume, expression = _volume(), _volume(cc=11)
    assert to_value(volume, 64) + to_value(expression, 64) == pytest.approx(-23.8, abs=0.05)


@pytest.mark.parametrize(("step_db", "below"), [(1.0, 17), (0.5, 35)])
def test_single_steps_grow_as_the_number_falls(step_db, below):
    # Recomputed and agreeing: over 1 dB a step at 17 and below, over 0.5 dB at 35 and below.
    steps = {n: to_value(_volume(), n) - to_value(_volume(), n - 1) for n in range(2, 128)}
    assert {n for n, step in steps.items() if step > step_db} == set(range(2, below + 1))


def test_fourteen_bits_follow_the_same_law_in_finer_steps():
    # The law with its top at 16,383: half of that is 12.04 dB down, as half of 127 is.
    assert to_value(_volume(bits=14), 8192) == pytest.approx(-12.04, abs=0.01)
