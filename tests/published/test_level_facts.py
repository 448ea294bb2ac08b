"""Voltages against a transformer maker's table; full scale against EBU R 68 and SMPTE RP 155 and sums of sources
against HSE *Sound Advice*, as quoted by others."""

import pytest

from showrunner.levels import decibels as db


@pytest.mark.parametrize(
    ("dbu", "volts"), [(0, 0.7746), (4, 1.2277), (18, 6.1528), (24, 12.2765)]
)  # a transformer maker's table, recomputed
def test_dbu_is_the_printed_voltage(dbu: float, volts: float) -> None:
    assert db.dbu_to_volts(dbu) == pytest.approx(volts, abs=6e-5)
    assert db.volts_to_dbu(volts) == pytest.approx(dbu, abs=6e-4)


def test_minus_ten_dbv_is_the_printed_voltage_and_dbu() -> None:  # a transformer maker's table, recomputed
    assert db.dbv_to_volts(-10) == pytest.approx(0.3162, abs=5e-5)
    assert db.dbv_to_dbu(-10) == pytest.approx(-7.78, abs=5e-3)
    assert db.dbv_to_dbu(0) == pytest.approx(2.218, abs=5e-4)
    assert db.dbu_to_dbv(-7.78) == pytest.approx(-10, abs=5e-3)


def test_full_scale_is_plus_18_dbu_by_the_european_alignment() -> (
    None
):  # EBU R 68, as quoted: −18 dBFS is alignment level
    assert db.dbfs_to_dbu(0) == pytest.approx(18)
    assert db.dbu_to_dbfs(0) == pytest.approx(-18)


def test_full_scale_is_plus_24_dbu_by_the_american_alignment() -> None:
    # SMPTE RP 155, as quoted: −20 dBFS; that it goes with +4 dBu is from memory
    assert db.dbfs_to_dbu(-20, db.SMPTE_FULL_SCALE_DBU) == pytest.approx(4)


def test_85_and_85_make_88() -> None:  # HSE, Sound Advice, as quoted
    assert db.sum_incoherent_db([85, 85]) == pytest.approx(88, abs=0.02)


def test_two_equal_unrelated_sources_add_three_decibels() -> None:  # recomputed: 10·log10 2
    assert db.sum_incoherent_db([-6, -6]) == pytest.approx(-6 + 3.0103, abs=1e-4)


def test_two_equal_sources_in_phase_add_six_decibels() -> None:  # recomputed: 20·log10 2
    assert db.sum_coherent_db([-6, -6]) == pytest.approx(-6 + 6.0206, abs=1e-4)
