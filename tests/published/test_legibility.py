"""Letter heights against the published rule for displays."""

import pytest

from showrunner.planning.legibility import (
    LEAST_ARC_MIN,
    PREFERRED_ARC_MIN,
    legibility,
    letter_height_mm,
    row_height_mm,
)


def test_letters_at_two_metres_are_as_high_as_the_rule_says() -> None:
    # NUREG-0700 rev. 2 §1.3.1-4: h = 6.283·D·MA/21600; at least 16 minutes of arc, 20 preferred.
    assert letter_height_mm(2.0, LEAST_ARC_MIN) == pytest.approx(9.31, abs=0.005)
    assert letter_height_mm(2.0, PREFERRED_ARC_MIN) == pytest.approx(11.64, abs=0.005)


def test_a_row_of_24_on_a_14_inch_screen_is_seven_millimetres() -> None:
    # A 16:9 screen of 14 inches is 174.3 mm high (Pythagoras).
    assert row_height_mm(14, 24) == pytest.approx(174.3 / 24, abs=0.01)


@pytest.mark.parametrize(("letter_rows", "reach"), [(1, "too small"), (1.5, "barely"), (2.5, "reached")])
def test_letters_are_judged_against_both_heights(letter_rows: float, reach: str) -> None:
    assert legibility(2.0, 14, 24, letter_rows).reach == reach


def test_nearer_needs_smaller_letters() -> None:
    assert legibility(0.5, 14, 24, 0.6).reach == "reached"
