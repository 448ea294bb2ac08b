"""What a show's songs cost after one another with each in its own set, and the pins as places and neighbours.

Across a break the players leave the stage, so only what takes longer than the break counts there.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import inf
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show, Slot
from showrunner.planning.changeover import between_s
from showrunner.planning.lineup import Place, line_up
from showrunner.planning.setparts import own_pause_s
from showrunner.planning.task import NoOrderError
from showrunner.state.moments import prepare_song


class Matrix(NamedTuple):
    """Every changeover there could be, in seconds, and the pins as places and neighbours in the show's line.

    `short` are the seconds of each that its pause does not hold, as long as the song before ends no set; `parts` the
    number of each song's set.
    """

    songs: tuple[str, ...]
    cost: tuple[tuple[float, ...], ...]
    fixed: Mapping[int, int]
    after: tuple[tuple[int, int], ...]
    not_after: tuple[tuple[int, int], ...]
    short: tuple[tuple[float, ...], ...]
    parts: tuple[int, ...]

    @property
    def parts_are_apart(self) -> bool:
        """Whether no break costs or holds anything, so that each set can be ordered by itself."""
        places = range(len(self.songs))
        over = (self.cost[a][b] for a in places for b in places if self.parts[a] != self.parts[b])
        held = (self.parts[a] == self.parts[b] for a, b in (*self.after, *self.not_after))
        return all(s in (0, inf) for s in over) and all(held)


def matrix_of(book: Book, show: Show, rig: Rig) -> Matrix:
    """The costs and pins of a show's songs, those that the book has, numbered in the show's line."""
    places = [place for place in line_up(show) if place.song in book.songs]
    pieces = [prepare_song(book, place.song, rig, show) for place in places]
    parts = sorted({place.part for place in places})
    ends = {place.part: place for place in places}
    cost, short = [], []
    for a, before in zip(places, pieces, strict=True):
        has_s = own_pause_s(a, ends[a.part] is a and a.part != parts[-1])
        following = {a.part, *parts[parts.index(a.part) + 1 :][:1]}
        cost.append(
            tuple(
                counts_s(ends[a.part] if b.part != a.part else a, b, between_s(before, after))
                if b.part in following and a is not b
                else inf
                for b, after in zip(places, pieces, strict=True)
            )
        )
        short.append(
            tuple(
                s if s == inf or b.part != a.part else max(0.0, s - has_s)
                for s, b in zip(cost[-1], places, strict=True)
            )
        )
    index = {place.song: number for number, place in enumerate(places)}
    slots = [slot for part in show.sets for slot in part.songs if slot.song in index]
    encore = {number: number for number, place in enumerate(places) if place.part >= len(show.sets)}
    fixed = encore | _fixed(show, slots, index)
    return Matrix(
        tuple(index),
        tuple(cost),
        fixed,
        *_neighbours(places, slots, index),
        tuple(short),
        parts=tuple(p.part for p in places),
    )


def counts_s(before: Place, after: Place, needs_s: float) -> float:
    """What a changeover counts: within a set all of it, over a break what the break does not hold."""
    return needs_s if before.part == after.part else max(0.0, needs_s - before.pause.seconds)


def _fixed(show: Show, slots: Sequence[Slot], index: Mapping[str, int]) -> dict[int, int]:
    """Places of the songs pinned first or last in their set, or here."""
    places: dict[int, int] = {}
    for part in show.sets:
        here = [slot for slot in part.songs if slot.song in index]
        for slot in here:
            ends = {"first": index[here[0].song], "last": index[here[-1].song], "here": index[slot.song]}
            place = ends.get(slot.pin.kind) if slot.pin is not None else None
            if place is not None and places.setdefault(place, index[slot.song]) != index[slot.song]:
                other = slots[places[place]].song
                raise NoOrderError(f'"{other}" and "{slot.song}" are pinned to the same place')
    return places


def _neighbours(
    places: Sequence[Place], slots: Sequence[Slot], index: Mapping[str, int]
) -> tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]:
    """Pairs that must and pairs that must not follow each other; a written segue holds its two songs together."""
    after = [(index[a.song], index[b.song]) for a, b in pairwise(places) if a.pause.kind == "segue"]
    not_after = []
    for slot in slots:
        other = slot.pin.song if slot.pin is not None else None
        if slot.pin is None or other is None or other not in index or other == slot.song:
            continue
        pair = (index[other], index[slot.song])
        if slot.pin.kind == "not after":
            not_after.append(pair)
        elif pair not in after:
            after.append(pair)
    return tuple(after), tuple(not_after)
