"""The smallest level difference that is heard, by Jesteadt, Wier and Green (1977), as quoted by others."""

import pytest

from showrunner.curves.steps import just_noticeable_db


@pytest.mark.parametrize(("above_threshold_db", "db"), [(40, 0.93), (60, 0.69), (80, 0.50)])
def test_the_published_formula_gives_the_recomputed_differences(above_threshold_db, db):
    # ΔI/I = 0.463·(I/I0)^−0.072; the three values recomputed and agreeing.
    assert just_noticeable_db(above_threshold_db) == pytest.approx(db, abs=0.005)


def test_a_louder_sound_shows_a_smaller_step():
    heard = [just_noticeable_db(level) for level in range(0, 110, 10)]
    assert heard == sorted(heard, reverse=True)
