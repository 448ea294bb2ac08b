"""Decibels against volts, full scale and amplitude, and what several sources sum to."""

import math
from collections.abc import Iterable

DBU_VOLTS = math.sqrt(0.6)
"""0 dBu in volts RMS: what drives 1 mW into 600 Ω."""

EBU_FULL_SCALE_DBU = 18.0
"""0 dBFS in dBu where −18 dBFS is aligned to 0 dBu (EBU R 68)."""

SMPTE_FULL_SCALE_DBU = 24.0
"""0 dBFS in dBu where −20 dBFS is aligned to +4 dBu (SMPTE RP 155)."""


def amplitude_to_db(ratio: float) -> float:
    """Decibels of an amplitude ratio; −inf for 0, ValueError below."""
    if ratio < 0:
        raise ValueError(f"an amplitude of {ratio:g} has no level; it must be 0 or more")
    return 20 * math.log10(ratio) if ratio > 0 else -math.inf


def db_to_amplitude(level_db: float) -> float:
    """Amplitude ratio of a level in dB."""
    return math.pow(10.0, level_db / 20)


def power_to_db(ratio: float) -> float:
    """Decibels of a power ratio; −inf for 0, ValueError below."""
    if ratio < 0:
        raise ValueError(f"a power of {ratio:g} has no level; it must be 0 or more")
    return 10 * math.log10(ratio) if ratio > 0 else -math.inf


def db_to_power(level_db: float) -> float:
    """Power ratio of a level in dB."""
    return math.pow(10.0, level_db / 10)


def volts_to_dbu(volts: float) -> float:
    """dBu of a voltage in V RMS."""
    return amplitude_to_db(volts / DBU_VOLTS)


def dbu_to_volts(level_dbu: float) -> float:
    """V RMS of a level in dBu."""
    return DBU_VOLTS * db_to_amplitude(level_dbu)


def volts_to_dbv(volts: float) -> float:
    """dBV of a voltage in V RMS; 0 dBV is 1 V."""
    return amplitude_to_db(volts)


def dbv_to_volts(level_dbv: float) -> float:
    """V RMS of a level in dBV."""
    return db_to_amplitude(level_dbv)


def dbv_to_dbu(level_dbv: float) -> float:
    """dBu of a level in dBV."""
    return level_dbv - amplitude_to_db(DBU_VOLTS)


def dbu_to_dbv(level_dbu: float) -> float:
    """dBV of a level in dBu."""
    return level_dbu + amplitude_to_db(DBU_VOLTS)


def dbfs_to_dbu(level_dbfs: float, full_scale_dbu: float = EBU_FULL_SCALE_DBU) -> float:
    """dBu that leaves a converter for a level in dBFS, given what full scale comes out as."""
    return level_dbfs + full_scale_dbu


def dbu_to_dbfs(level_dbu: float, full_scale_dbu: float = EBU_FULL_SCALE_DBU) -> float:
    """dBFS that a level in dBu reads in a converter, given what full scale goes in as."""
    return level_dbu - full_scale_dbu


def sum_incoherent_db(levels_db: Iterable[float]) -> float:
    """Level of unrelated sources together: their powers add. −inf for none."""
    return power_to_db(math.fsum(db_to_power(level) for level in levels_db))


def sum_coherent_db(levels_db: Iterable[float]) -> float:
    """Level of one signal arriving several times in phase: the amplitudes add. −inf for none."""
    return amplitude_to_db(math.fsum(db_to_amplitude(level) for level in levels_db))
