"""From value to controller number and back."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.laws import to_number, to_value

LAWS = (
    {"law": "linear", "range": [-12, 12]},
    {"law": "linear", "range": [12, -12]},
    {"law": "log", "range": [20, 20000]},
    {"law": "log", "range": [8000, 80]},
    {"law": "log", "range": [-1, -50]},
    {"law": "gm-volume", "range": [-90, 0]},
    {"law": "gm-volume", "range": [-40, -6]},
    {"law": "table", "range": [-90, 6], "table": [[0, -90], [10, -40], [100, 0], [127, 6]]},
)
BITS = (7, 14)


@pytest.mark.parametrize("bits", BITS)
@pytest.mark.parametrize("law", LAWS)
def test_every_number_in_use_reads_back_as_itself(target, law, bits):
    of = target(**law, bits=bits)
    numbers = {to_number(of, end) for end in of.range}
    used = range(min(numbers), max(numbers) + 1)
    assert [to_number(of, to_value(of, number)) for number in used] == list(used)


@pytest.mark.parametrize("bits", BITS)
@pytest.mark.parametrize("law", LAWS)
def test_a_value_outside_the_range_counts_as_the_end_it_is_past(target, law, bits):
    of = target(**law, bits=bits)
    low, high = min(of.range), max(of.range)
    assert to_number(of, low - 1000) == to_number(of, low)
    assert to_number(of, high + 100000) == to_number(of, high)


@pytest.mark.parametrize("bits", BITS)
@pytest.mark.parametrize("law", LAWS)
def test_every_number_reads_as_a_value_inside_the_range(target, law, bits):
    of = target(**law, bits=bits)
    values = [to_value(of, number) for number in range(of.top + 1)]
    assert min(of.range) <= min(values)
    assert max(values) <= max(of.range)


@pytest.mark.parametrize("law", LAWS[:5])
def test_both_ends_of_a_range_are_reached(target, law):
    of = target(**law)
    assert [to_number(of, end) for end in of.range] == [0, 127]
    assert [to_value(of, number) for number in (0, 127)] == list(of.range)


@pytest.mark.parametrize("law", LAWS)
@settings(max_examples=60)
@given(part=st.floats(0, 1))
def test_no_other_number_is_nearer_to_a_value(target, law, part):
    of = target(**law, bits=7)
    low, high = of.range
    value = low + (high - low) * part
    number = to_number(of, value)
    below, above = (to_value(of, min(max(n, 0), 127)) for n in (number - 1, number + 1))
    assert min(below, above) <= value <= max(below, above)


@settings(max_examples=60)
@given(value=st.floats(-12, 12))
def test_linear_is_never_off_by_more_than_half_a_number(target, value):
    of = target(law="linear", range=[-12, 12])
    assert abs(to_value(of, to_number(of, value)) - value) <= 24 / 127 / 2 * (1 + 1e-9)


def test_log_halves_travel_at_the_geometric_mean(target):
    assert to_value(target(law="log", range=[100, 10000], bits=14), 8192) == pytest.approx(1000, rel=1e-3)


def test_a_volume_law_sends_its_low_end_as_zero_where_number_one_is_louder(target):
    of = target(law="gm-volume", range=[-90, 0])
    assert to_number(of, -90) == 0
    assert to_number(of, -200) == 0
    assert to_number(of, -84) == 1
    assert to_value(of, 0) == -90


def test_a_volume_law_sends_its_low_end_as_it_is_where_numbers_reach_below_it(target):
    of = target(law="gm-volume", range=[-40, 0])
    assert to_number(of, -40) == 13
    assert to_value(of, 0) == -40


def test_a_table_is_read_in_straight_lines(target):
    of = target(law="table", range=[-90, 6], table=[[0, -90], [10, -40], [100, 0], [127, 6]])
    assert to_number(of, -20) == 55
    assert to_value(of, 55) == -20


def test_a_table_ends_where_it_was_measured(target):
    of = target(law="table", range=[-100, 20], table=[[5, -90], [100, 0]])
    assert (to_number(of, -100), to_number(of, 20)) == (5, 100)


def test_log_of_the_smallest_floats_gives_a_number(target):
    of = target(law="log", range=[5e-324, 1])
    assert [to_number(of, value) for value in (5e-324, 1)] == [0, 127]


def test_a_range_too_wide_to_subtract_its_ends_is_refused(target):
    with pytest.raises(ValueError, match="less than or equal to 1000000000000"):
        target(range=[-1e308, 1e308])
