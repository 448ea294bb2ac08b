"""Letter heights against NUREG-0700 rev. 2, §1.3.1-4."""

import pytest

from showrunner.planning.legibility import (
    LEAST_ARC_MIN,
    PREFERRED_ARC_MIN,
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
