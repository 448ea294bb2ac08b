"""Steps that may be heard."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.laws import to_value
from showrunner.curves.steps import in_db, largest_step, steps
from showrunner.curves.tables import compile_curve

GAIN = {"unit": "dB", "level": True}


def test_a_level_over_all_its_numbers_steps_by_one_number_at_a_time(control, curve, target):
    gain = target(**GAIN, range=[-12, 12])
    step = largest_step(control(), curve([0, 100], gain=[-12, 12]), "gain", gain)
    assert step.size == pytest.approx(24 / 127)
    assert step.to_number - step.from_number == 1


def test_a_steep_row_skips_numbers_and_steps_further(control, curve, target):
    gain = target(**GAIN, range=[-12, 12])
    step = largest_step(control(), curve([40, 50], gain=[-12, 12]), "gain", gain)
    assert step.size > 8 * 24 / 127
    assert 40 <= step.travel <= 51


def test_fourteen_bits_from_a_seven_bit_pedal_step_as_coarsely_as_the_pedal(control, curve, target):
    gain, moves = target(**GAIN, bits=14, range=[-12, 12]), curve([0, 100], gain=[-12, 12])
    coarse, fine = (largest_step(control(bits=bits), moves, "gain", gain).size for bits in (7, 14))
    assert coarse == pytest.approx(24 / 127, rel=0.01)
    assert fine == pytest.approx(24 / 16383, rel=0.01)


def test_a_volume_law_steps_furthest_at_its_quiet_end(control, curve, target):
    volume = target(**GAIN, law="gm-volume", range=[-60, 0])
    step = largest_step(control(), curve([0, 100], volume=[-60, 0]), "volume", volume)
    assert (step.from_number, step.to_number) == (4, 5)
    assert step.travel < 10


def test_a_jump_of_a_stepped_row_is_one_step_at_its_column(control, curve, target):
    gain = target(**GAIN, range=[-12, 12])
    found = list(steps(control(), curve([0, 50, 100], gain={"values": [0, 6, 6], "shape": "step"}), "gain", gain))
    assert [(step.size, step.travel) for step in found] == [(pytest.approx(6, abs=0.2), pytest.approx(50, abs=0.8))]


def test_a_resting_row_has_no_step(control, curve, target):
    assert largest_step(control(), curve([0, 100], gain=[3, 3]), "gain", target(**GAIN, range=[-12, 12])) is None


def test_only_a_level_in_db_has_steps_of_known_loudness(target):
    assert in_db(target(**GAIN))
    assert not in_db(target(unit="%", level=True))
    assert not in_db(target(unit="dB"))


@settings(max_examples=40)
@given(values=st.lists(st.integers(-12, 12), min_size=3, max_size=3), shape=st.sampled_from(["straight", "smooth"]))
def test_the_largest_step_is_the_largest_between_neighbouring_rows(control, curve, target, values, shape):
    gain = target(**GAIN, range=[-12, 12])
    moves = curve([0, 20, 100], gain={"values": values, "shape": shape})
    table = compile_curve(control(), moves, {"gain": gain})
    heard = [to_value(gain, table.row(raw)[0]) for raw in range(128)]
    step = largest_step(control(), moves, "gain", gain)
    assert (step.size if step else 0) == max(abs(b - a) for a, b in pairwise(heard))
