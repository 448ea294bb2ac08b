"""How long a song lasts on the night."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.planning.evidence import expected_length


def test_without_evidence_the_written_duration_and_four_percent():
    """Common practice, no source."""
    length = expected_length(200)
    assert (length.expected_s, length.rests_on) == (pytest.approx(208), 0)


def test_two_performances_count_as_much_as_what_is_written():
    assert expected_length(100, [110, 110]).expected_s == pytest.approx((104 + 110) / 2)


def test_many_performances_outweigh_what_is_written():
    assert expected_length(100, [90] * 500).expected_s == pytest.approx(90, abs=0.1)


def test_one_night_of_a_long_solo_does_not_move_the_middle():
    usual = [100, 101, 99, 100, 100]
    with_solo = expected_length(100, [*usual, 190])
    assert with_solo.expected_s == pytest.approx(expected_length(100, usual).expected_s, abs=1)


def test_a_take_that_was_cut_off_is_not_counted():
    assert expected_length(100, [12, 110]) == expected_length(100, [110])


def test_it_says_how_many_it_rests_on():
    assert expected_length(100, [99, 101, 103]).rests_on == 3


def test_steady_players_have_a_smaller_spread():
    assert expected_length(100, [103] * 20).spread_s < expected_length(100).spread_s


@given(st.floats(1, 5000), st.lists(st.floats(0.1, 10_000), max_size=12))
def test_the_expected_length_lies_between_what_is_written_and_what_was_played(written_s, played_s):
    length = expected_length(written_s, played_s)
    ends = [written_s * 1.04, *played_s]
    assert min(ends) * (1 - 1e-9) <= length.expected_s <= max(ends) * (1 + 1e-9)
    assert length.spread_s > 0
