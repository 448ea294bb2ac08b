"""How letters of made-up sizes are judged; the rule itself is held in tests/published."""

import pytest

from showrunner.planning.legibility import legibility


@pytest.mark.parametrize(("letter_rows", "reach"), [(1, "too small"), (1.5, "barely"), (2.5, "reached")])
def test_letters_are_judged_against_both_heights(letter_rows: float, reach: str) -> None:
    assert legibility(2.0, 14, 24, letter_rows).reach == reach


def test_nearer_needs_smaller_letters() -> None:
    assert legibility(0.5, 14, 24, 0.6).reach == "reached"
