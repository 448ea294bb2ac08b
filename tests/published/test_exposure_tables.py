"""Times, doses and averages against NIOSH 98-126 (1998), as quoted by others, and 29 CFR 1910.95 Appendix A."""

import pytest

from showrunner.levels.exposure import LIMITS, NIOSH, OSHA, Part


@pytest.mark.parametrize(
    ("level_dba", "minutes"), [(85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15)]
)  # NIOSH 98-126 (1998), Table 1-1
def test_niosh_halves_the_time_every_three_decibels(level_dba: float, minutes: float) -> None:
    assert NIOSH.allowed_s(level_dba) == pytest.approx(minutes * 60)


def test_niosh_allows_two_hours_31_at_90() -> None:  # NIOSH 98-126 (1998), Table 1-1
    assert NIOSH.allowed_s(90) == pytest.approx(151 * 60, abs=30)


def test_niosh_at_99_follows_the_formula_and_not_the_misprinted_row() -> None:
    # NIOSH 98-126 (1998), Table 1-1 prints 18 min 59 s; its own formula gives 18 min 54 s
    assert NIOSH.allowed_s(99) == pytest.approx(18 * 60 + 54, abs=0.5)


@pytest.mark.parametrize(
    ("level_dba", "hours"), [(90, 8), (95, 4), (100, 2), (105, 1), (110, 0.5), (115, 0.25)]
)  # 29 CFR 1910.95 Appendix A, Table G-16a
def test_osha_halves_the_time_every_five_decibels(level_dba: float, hours: float) -> None:
    assert OSHA.allowed_s(level_dba) == pytest.approx(hours * 3600)


def test_osha_allows_an_hour_and_a_half_at_102() -> None:  # 29 CFR 1910.95 Appendix A; the table rounds to 1.5 h
    assert OSHA.allowed_s(102) == pytest.approx(1.5 * 3600, rel=0.011)


def test_niosh_average_is_ten_logs_of_the_dose_over_85() -> None:  # NIOSH 98-126: TWA = 10·log10(D/100) + 85
    assert NIOSH.twa_dba(100) == pytest.approx(85)
    assert NIOSH.twa_dba(1000) == pytest.approx(95)


def test_osha_average_is_16_61_logs_of_the_dose_over_90() -> None:
    # 29 CFR 1910.95 Appendix A: TWA = 16.61·log10(D/100) + 90
    assert OSHA.twa_dba(100) == pytest.approx(90)
    assert OSHA.twa_dba(1000) == pytest.approx(106.61)


def test_the_dose_of_several_parts_is_the_sum_of_their_shares() -> None:
    # 29 CFR 1910.95 Appendix A I(1): D = 100·(C1/T1 + C2/T2 + …)
    day = [Part("rehearsal", 95, 2 * 3600), Part("show", 100, 3600)]
    assert OSHA.dose_pct(day) == pytest.approx(50 + 50)


def test_the_limits_are_the_printed_ones() -> None:
    # Directive 2003/10/EC Art. 3, as quoted; WHO global standard for safe listening venues and events (2022)
    assert {(limit.laeq_dba, limit.over_s) for limit in LIMITS} == {
        (80, 28800),
        (85, 28800),
        (87, 28800),
        (100, 900),
    }
