"""Levels in and out again."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.levels import decibels as db

LEVELS = st.floats(min_value=-150, max_value=60, allow_nan=False)


@given(LEVELS)
@settings(max_examples=50)
def test_a_level_comes_back_from_volts(level: float) -> None:
    assert db.volts_to_dbu(db.dbu_to_volts(level)) == pytest.approx(level, abs=1e-9)
    assert db.volts_to_dbv(db.dbv_to_volts(level)) == pytest.approx(level, abs=1e-9)


@given(st.lists(LEVELS, min_size=1, max_size=8))
@settings(max_examples=50)
def test_a_sum_is_no_quieter_than_its_loudest_and_coherent_is_no_quieter_than_incoherent(levels: list[float]) -> None:
    incoherent, coherent = db.sum_incoherent_db(levels), db.sum_coherent_db(levels)
    assert max(levels) - 1e-9 <= incoherent <= coherent + 1e-9


def test_nothing_at_all_is_infinitely_quiet() -> None:
    assert db.amplitude_to_db(0) == -math.inf
    assert db.sum_incoherent_db([]) == -math.inf
    assert db.db_to_amplitude(-math.inf) == 0


def test_a_negative_amplitude_is_refused() -> None:
    with pytest.raises(ValueError, match="no level"):
        db.amplitude_to_db(-1)
    with pytest.raises(ValueError, match="no level"):
        db.power_to_db(-1)
