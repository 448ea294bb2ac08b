"""What runs tell: how long each song was played, and how long each guitar was in hand."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

BEGINS, CHANGES, CUE, ENDS = "song", "changeover", "cue", ("over", "ended")


class Mark(NamedTuple):
    """One line of a run's log: when, in seconds of any clock, what happened, and in which song."""

    at_s: float
    kind: str
    song: str | None = None


def songs_played(marks: Iterable[Mark]) -> list[tuple[str, float]]:
    """Each song that was begun and left, with the seconds between.

    A song begun anew counts from its last beginning; one left too soon and gone back to, until it is left for good.
    """
    played: list[tuple[str, float]] = []
    song: str | None = None
    began_s = 0.0
    for mark in marks:
        if mark.kind == CUE and song is None and played and played[-1][0] == mark.song:
            song = played.pop()[0]
        elif mark.kind == CHANGES and mark.song == song:
            song = None
        elif mark.kind in (BEGINS, CHANGES, *ENDS):
            if song is not None:
                played.append((song, mark.at_s - began_s))
            song = mark.song if mark.kind == BEGINS else None
            began_s = mark.at_s if mark.kind == BEGINS else began_s
    return played


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
