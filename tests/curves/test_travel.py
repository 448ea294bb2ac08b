"""From what a control sends to where it stands."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.travel import raw_of, travel_of, travels_of

WORN = [[2, 0], [60, 50], [125, 100]]

calibrations = st.builds(
    lambda raws, travels: [list(pair) for pair in zip(sorted(raws), sorted(travels), strict=False)],
    st.lists(st.floats(0, 127), min_size=2, max_size=6, unique=True),
    st.lists(st.integers(0, 100), min_size=6, max_size=6),
)


def test_without_calibration_the_whole_range_is_the_travel(control):
    assert [travel_of(control(), raw) for raw in (0, 127)] == [0, 100]
    assert [travel_of(control(bits=14), raw) for raw in (0, 16383)] == [0, 100]


def test_a_calibration_is_followed_in_straight_lines(control):
    assert [travel_of(control(calibration=WORN), raw) for raw in (2, 31, 60, 125)] == [0, 25, 50, 100]


def test_past_the_calibrated_ends_a_control_stands_at_its_ends(control):
    assert [travel_of(control(calibration=WORN), raw) for raw in (0, 1, 126, 127)] == [0, 0, 100, 100]


@settings(max_examples=60)
@given(calibration=calibrations)
def test_travel_never_falls_as_the_raw_value_rises(control, calibration):
    travels = travels_of(control(calibration=calibration))
    assert travels == sorted(travels)


@settings(max_examples=60)
@given(calibration=calibrations)
def test_the_travels_of_all_raw_values_are_those_of_each(control, calibration):
    pedal = control(calibration=calibration)
    assert travels_of(pedal) == [travel_of(pedal, raw) for raw in range(128)]


@settings(max_examples=60)
@given(calibration=calibrations, raw=st.integers(0, 127))
def test_going_back_to_raw_gives_the_same_travel(control, calibration, raw):
    pedal = control(calibration=calibration)
    assert travel_of(pedal, raw_of(pedal, travel_of(pedal, raw))) == pytest.approx(travel_of(pedal, raw), abs=1e-9)


@settings(max_examples=60)
@given(calibration=calibrations, travel=st.floats(0, 100))
def test_no_raw_value_is_nearer_to_a_travel(control, calibration, travel):
    pedal = control(calibration=calibration)
    off = [abs(there - travel) for there in travels_of(pedal)]
    assert off[raw_of(pedal, travel)] == pytest.approx(min(off), abs=1e-9)


def test_the_ends_are_reached_going_back_to_raw(control):
    pedal = control(calibration=[[2.4, 0], [60, 50], [110.2, 100], [120, 100]])
    assert travel_of(pedal, raw_of(pedal, 0)) == 0
    assert travel_of(pedal, raw_of(pedal, 100)) == 100


def test_where_a_calibration_stands_still_the_lowest_raw_value_is_taken(control):
    assert raw_of(control(calibration=[[0, 0], [50, 40], [70, 40], [127, 100]]), 40) == 50


def test_a_strip_is_read_just_as_a_pedal_is(control):
    """Common practice, no source."""
    strip, pedal = control(kind="strip", calibration=WORN), control(kind="pedal", calibration=WORN)
    assert travels_of(strip) == travels_of(pedal)
