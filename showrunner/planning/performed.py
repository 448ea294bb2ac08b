"""What runs tell of guitars: how long each was in hand."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

BEGINS, ENDS = "song", ("over", "ended")


class Mark(NamedTuple):
    """One line of a run's log: when, in seconds of any clock, what happened, and in which song."""

    at_s: float
    kind: str
    song: str | None = None


def hours_in_hand(marks: Iterable[Mark], guitar_of: Mapping[str, str | None]) -> dict[str, float]:
    """Hours each guitar was in hand from the run's first song to its end, by the guitar of each song."""
    held: dict[str, float] = {}
    guitar: str | None = None
    since_s: float | None = None
    for mark in marks:
        if since_s is not None and guitar is not None:
            held[guitar] = held.get(guitar, 0.0) + (mark.at_s - since_s) / 3600
        if mark.kind in ENDS:
            since_s = None
        elif mark.kind == BEGINS or since_s is not None:
            since_s = mark.at_s
        if mark.song is not None:
            guitar = guitar_of.get(mark.song) or guitar
    return held
