"""How long a song lasts on the night, from how long it is written to be and how long it was played."""

from collections.abc import Iterable, Sequence
from math import sqrt
from statistics import median
from typing import NamedTuple

LIVE_STRETCH = 1.04
"""A song on the night against its written duration; common practice, no source."""

SONG_SPREAD = 0.03
"""Standard deviation of a song's length on the night, as a share of it; our own figure, no source."""

WRITTEN_WEIGHT = 2
"""As how many performances the written duration counts; our own figure, no source."""

WHOLE = (0.5, 2.0)
"""A performance shorter or longer than these shares of the written duration was cut off, and is left out."""

NORMAL_FROM_MAD = 1.4826
"""Standard deviation of a normal distribution over its median absolute deviation."""


class Length(NamedTuple):
    """A song's expected length and its standard deviation, s, and how many performances it rests on."""

    expected_s: float
    spread_s: float
    rests_on: int


def whole(played_s: Iterable[float], written_s: float) -> list[float]:
    """Those of the times a song was played that were neither broken off nor far too long, in their order."""
    return [s for s in played_s if written_s > 0 and WHOLE[0] <= s / written_s <= WHOLE[1]]


def expected_length(written_s: float, played_s: Sequence[float] = (), tonight_s: float | None = None) -> Length:
    """The median of what was played, drawn towards the written duration with 4 % on top, the fewer there are.

    A written duration that is to the second one that was played has been taken from there: it stands without the 4 %,
    and that performance counts only as what is written. With `tonight_s` the song is cut or stretched tonight: what
    was played counts as shares of `written_s`.
    """
    base = written_s if tonight_s is None else tonight_s
    if written_s <= 0:
        return Length(base * LIVE_STRETCH, base * SONG_SPREAD, 0)
    shares = [s / written_s for s in whole(played_s, written_s)]
    rest, written = _but_taken(shares, written_s)
    middle, count = median(rest) if rest else written, len(rest)
    share = (WRITTEN_WEIGHT * written + count * middle) / (WRITTEN_WEIGHT + count)
    own = NORMAL_FROM_MAD * median(abs(s - middle) for s in rest) if rest else 0.0
    variance = (WRITTEN_WEIGHT * (share * SONG_SPREAD) ** 2 + count * own**2) / (WRITTEN_WEIGHT + count)
    return Length(base * share, base * sqrt(variance), len(shares))


def _but_taken(shares: list[float], written_s: float) -> tuple[list[float], float]:
    """The shares without the one that the written duration was taken from, and the share that is written."""
    for index, share in enumerate(shares):
        if round(share * written_s) == written_s:
            return shares[:index] + shares[index + 1 :], share
    return shares, LIVE_STRETCH
