"""A better order for a show: least time in changeovers under its pins, sets kept together, the encore left alone.

Across a break the players leave the stage, so only what takes longer than the break counts there.
"""

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from math import inf
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show, Slot
from showrunner.planning.changeover import between_s, changeover_times
from showrunner.planning.lineup import Place, line_up
from showrunner.planning.order import SECONDS, search
from showrunner.planning.rearrange import reordered
from showrunner.planning.task import NoOrderError
from showrunner.state.moments import prepare

SAME_S = 1e-9
"""Two sums of seconds further apart than this, as a share, are not the same."""


class Matrix(NamedTuple):
    """Every changeover there could be, in seconds, and the pins as places and neighbours in the show's line."""

    songs: tuple[str, ...]
    cost: tuple[tuple[float, ...], ...]
    fixed: Mapping[int, int]
    after: tuple[tuple[int, int], ...]
    not_after: tuple[tuple[int, int], ...]


class BetterOrder(NamedTuple):
    """The order found and the show in it, what its changeovers take, and what those of the written order take."""

    order: tuple[str, ...]
    show: Show
    before_s: float
    after_s: float
    proved: bool
    bound_s: float


def better_order(
    book: Book, show: Show, rig: Rig, *, seconds: float = SECONDS, expired: Callable[[], bool] = lambda: False
) -> BetterOrder:
    """The order of the show's songs that costs least; of equals the written one.

    `proved` only where the stage, carried through that order, costs what the sum of its pairs says. NoOrderError, a
    ValueError, for pins that contradict each other.
    """
    matrix = matrix_of(book, show, rig)
    found = search(
        matrix.cost,
        fixed=matrix.fixed,
        after=matrix.after,
        not_after=matrix.not_after,
        seconds=seconds,
        expired=expired,
    )
    order = tuple(matrix.songs[item] for item in found.order)
    better = reordered(show, order)
    before_s, after_s = total_s(book, show, rig), total_s(book, better, rig)
    agrees = abs(after_s - found.total) <= SAME_S * max(1.0, after_s)
    return BetterOrder(order, better, before_s, after_s, found.proved and agrees, found.bound)


def total_s(book: Book, show: Show, rig: Rig) -> float:
    """Seconds of all changeovers with the stage carried from song to song."""
    places = [place for place in line_up(show) if place.song in book.songs]
    times = changeover_times(book, show, rig)
    return sum(_counts(a, b, times[a.song, b.song]) for a, b in pairwise(places))


def matrix_of(book: Book, show: Show, rig: Rig) -> Matrix:
    """The costs and pins of a show's songs, those that the book has, numbered in the show's line."""
    places = [place for place in line_up(show) if place.song in book.songs]
    pieces = [prepare(place.song, book.songs[place.song], rig, show) for place in places]
    parts = sorted({place.part for place in places})
    ends = {place.part: place for place in places}
    cost = []
    for a, before in zip(places, pieces, strict=True):
        following = {a.part, *parts[parts.index(a.part) + 1 :][:1]}
        cost.append(
            tuple(
                _counts(ends[a.part] if b.part != a.part else a, b, between_s(before, after))
                if b.part in following and a is not b
                else inf
                for b, after in zip(places, pieces, strict=True)
            )
        )
    index = {place.song: number for number, place in enumerate(places)}
    slots = [slot for part in show.sets for slot in part.songs if slot.song in index]
    encore = {number: number for number, place in enumerate(places) if place.part >= len(show.sets)}
    fixed = encore | _fixed(show, slots, index)
    return Matrix(tuple(index), tuple(cost), fixed, *_neighbours(places, slots, index))


def _counts(before: Place, after: Place, needs_s: float) -> float:
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
