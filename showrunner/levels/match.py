"""Song trims that bring songs to one loudness without any passing the ceiling."""

import math
from collections.abc import Mapping
from statistics import median
from typing import NamedTuple

from showrunner.levels.headroom import CEILING_DBTP

STEP_DB = 0.5
"""Common practice: what a trim is rounded to."""

SUSPECT_DB = 6.0
"""Common practice: a trim beyond this points at something else that is wrong."""


class Measured(NamedTuple):
    """A song's loudness and true peak at the reference trims."""

    integrated_lufs: float
    true_peak_dbtp: float


class Match(NamedTuple):
    """The trim proposed for a song, and how far it stays below the loudness wanted because of its peaks, in dB."""

    trim_db: float
    short_db: float


def matched(
    songs: Mapping[str, Measured],
    target_lufs: float | None = None,
    ceiling_dbtp: float = CEILING_DBTP,
    step_db: float = STEP_DB,
) -> dict[str, Match]:
    """A trim for each song that brings it to `target_lufs`, no true peak passing the ceiling once it is applied.

    Without a target it is the middle one's loudness, or less where not every song can reach that. Trims are rounded to
    whole steps, downwards where rounding up would pass the ceiling. Songs of no measurable loudness are left out.
    """
    heard = {name: song for name, song in songs.items() if math.isfinite(song.integrated_lufs)}
    if target_lufs is None:
        reached = [song.integrated_lufs + ceiling_dbtp - song.true_peak_dbtp for song in heard.values()]
        middle = median(song.integrated_lufs for song in heard.values()) if heard else 0.0
        target_lufs = min([middle, *reached])
    matches = {}
    for name, song in heard.items():
        wanted, most = target_lufs - song.integrated_lufs, ceiling_dbtp - song.true_peak_dbtp
        trim = round(wanted / step_db) * step_db
        if song.true_peak_dbtp + trim > ceiling_dbtp:
            trim = math.floor(most / step_db) * step_db
        matches[name] = Match(trim + 0.0, max(0.0, wanted - most))
    return matches
