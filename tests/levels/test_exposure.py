"""A day of parts: what it comes to, and what is left."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.levels.exposure import NIOSH, OSHA, Part, Rule, day_dba, equivalent_dba, parse_part

RULES = st.sampled_from([NIOSH, OSHA])


def test_a_part_is_a_name_a_level_and_a_length() -> None:
    assert parse_part("second set 98.5 dBA 1h24m") == Part("second set", 98.5, 5040)


def test_a_part_takes_lengths_as_the_files_write_them() -> None:
    assert parse_part("show 100 dB(A) 1:10:00") == Part("show", 100, 4200)


@pytest.mark.parametrize("text", ["", "rehearsal", "94 dBA 1h", "rehearsal 94 1h", "rehearsal 94 dBA", "x -3 dBA 1h"])
def test_a_part_with_something_missing_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="dBA"):
        parse_part(text)


def test_a_part_with_a_wrong_length_is_refused_with_what_to_write() -> None:
    with pytest.raises(ValueError, match="write 90s"):
        parse_part("rehearsal 94 dBA long")


def test_a_part_longer_than_the_day_is_refused() -> None:
    with pytest.raises(ValueError, match="longer than the day"):
        parse_part("rehearsal 94 dBA 25h")


def test_no_parts_are_no_dose() -> None:
    assert NIOSH.dose_pct([]) == 0
    assert NIOSH.twa_dba(0) == -math.inf
    assert equivalent_dba([]) == -math.inf
    assert day_dba([]) == -math.inf


@given(RULES, st.floats(min_value=70, max_value=120), st.floats(min_value=0, max_value=99))
@settings(max_examples=50)
def test_using_what_is_left_fills_the_day_exactly(rule: Rule, level: float, used_pct: float) -> None:
    left = rule.left_s(used_pct, level)
    assert used_pct + rule.dose_pct([Part("rest", level, left)]) == pytest.approx(100)


def test_nothing_is_left_of_a_day_that_is_full() -> None:
    assert NIOSH.left_s(140, 80) == 0


def test_equal_halves_of_a_day_average_by_energy() -> None:
    assert equivalent_dba([Part("a", 100, 60), Part("b", 90, 60)]) == pytest.approx(97.404, abs=1e-3)


def test_four_hours_count_three_decibels_less_over_the_day_of_eight() -> None:
    assert day_dba([Part("a", 88, 4 * 3600)]) == pytest.approx(84.99, abs=0.01)
