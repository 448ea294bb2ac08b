"""A better order for a show: least time in changeovers under its pins, the encore left alone.

What is least is the time that hands are busy between songs, since that is what an order decides; whether a pause holds
it can be mended by writing a longer one, so missing seconds count second, or first where that is asked for.
"""

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.across import share_out
from showrunner.planning.changeover import changeover_times, changeovers
from showrunner.planning.exact import solver
from showrunner.planning.lineup import line_up
from showrunner.planning.order import SECONDS, Found, search
from showrunner.planning.rearrange import reordered, shared_out
from showrunner.planning.setmatrix import Matrix, counts_s, matrix_of
from showrunner.planning.setparts import parts_of, weighed, weighed_parts
from showrunner.planning.timing import NOTHING

SAME_S = 1e-9
"""Two sums of seconds further apart than this, as a share, are not the same."""


FIRST = 1e6
"""Weight of the seconds that count first: a thousandth of one outweighs a thousand that count second."""


FIRST_SHARE = 0.7
"""Of the seconds allowed, for the search after what counts first."""


class BetterOrder(NamedTuple):
    """The order found and the show in it, what its changeovers take, and what those of the written order take.

    `short_s` are the seconds missing in changeovers longer than their pause, and `newly_short` the changeovers that
    are too short now and did not stand in the written order, or not as short.
    """

    order: tuple[str, ...]
    show: Show
    before_s: float
    after_s: float
    proved: bool
    bound_s: float
    before_short_s: float = 0.0
    after_short_s: float = 0.0
    newly_short: tuple[tuple[str, str], ...] = ()


class _Way(NamedTuple):
    """A way found: the show in it, the sum of its costs, whether nothing costs less, what nothing undercuts."""

    show: Show
    total: float
    proved: bool
    bound: float


def better_order(
    book: Book,
    show: Show,
    rig: Rig,
    *,
    across_sets: bool = False,
    in_time: bool = False,
    played: Mapping[str, Sequence[float]] = NOTHING,
    seconds: float = SECONDS,
    expired: Callable[[], bool] = lambda: False,
) -> BetterOrder:
    """The order of the show's songs whose changeovers take least; of equals the written one, else the least short one.

    With `in_time` the order whose changeovers are least short of time, and of those the one that takes least. With
    `across_sets` songs may move between sets that keep their lengths, which `played` seconds by song tell better.
    `proved` only where the stage, carried through that order, costs what the sum of its pairs says. NoOrderError, a
    ValueError, for pins that contradict each other.
    """
    find = _across(book, show, rig, played, expired) if across_sets else _within(book, show, rig, expired)
    least = way = find(1, 0, FIRST_SHARE * seconds)
    short_s = sum(short_changeovers(book, show, rig).values())
    took_s, proved = total_s(book, way.show, rig), False
    if in_time:
        way = find(1, FIRST, (1 - FIRST_SHARE) * seconds)
        took_s, missing_s = total_s(book, way.show, rig), sum(short_changeovers(book, way.show, rig).values())
        proved = way.proved and _same(took_s + FIRST * missing_s, way.total)
    else:
        proved = least.proved and _same(took_s, least.total)
        if not expired() and newly_short(book, show, way.show, rig):
            other = find(FIRST, 1, (1 - FIRST_SHARE) * seconds)
            if _less_short(book, rig, other.show, way.show):
                way, took_s = other, total_s(book, other.show, rig)
    return BetterOrder(
        order=tuple(place.song for place in line_up(way.show) if place.song in book.songs),
        show=way.show,
        before_s=total_s(book, show, rig),
        after_s=took_s,
        proved=proved,
        bound_s=least.bound,
        before_short_s=short_s,
        after_short_s=sum(short_changeovers(book, way.show, rig).values()),
        newly_short=newly_short(book, show, way.show, rig),
    )


def short_changeovers(book: Book, show: Show, rig: Rig) -> dict[tuple[str, str], float]:
    """Seconds missing in each changeover that takes longer than its pause, by the songs before and after it."""
    return {(one.before, one.after): one.short_s for one in changeovers(book, show, rig) if one.short_s > 0}


def newly_short(book: Book, before: Show, after: Show, rig: Rig) -> tuple[tuple[str, str], ...]:
    """Changeovers that are too short now and did not stand in the show before, or not as short."""
    was = short_changeovers(book, before, rig)
    return tuple(pair for pair, s in short_changeovers(book, after, rig).items() if s > was.get(pair, 0.0))


def _less_short(book: Book, rig: Rig, one: Show, other: Show) -> bool:
    """Whether a show's changeovers take as long as the other's, and less of that is missing."""
    shorts = [sum(short_changeovers(book, show, rig).values()) for show in (one, other)]
    return _same(total_s(book, one, rig), total_s(book, other, rig)) and shorts[0] < shorts[1]


def _same(a: float, b: float) -> bool:
    return abs(a - b) <= SAME_S * max(1.0, a)


def _within(book: Book, show: Show, rig: Rig, expired: Callable[[], bool]) -> Callable[[float, float, float], _Way]:
    """Finds the best order of each set's own songs, seconds and seconds short weighed as asked."""
    matrix = matrix_of(book, show, rig)

    def find(of_time: float, of_short: float, seconds: float) -> _Way:
        weighed_matrix = matrix._replace(cost=weighed(matrix.cost, matrix.short, of_time, of_short))
        parts = sorted(set(matrix.parts)) if matrix.parts_are_apart else ()
        lines = [[item for item, its in enumerate(matrix.parts) if its == part] for part in parts]
        founds = [_best(weighed_matrix, line, seconds, expired) for line in lines or [[*range(len(matrix.songs))]]]
        order = [matrix.songs[item] for found in founds for item in found.order]
        total, bound = sum(found.total for found in founds), sum(found.bound for found in founds)
        return _Way(reordered(show, order), total, all(found.proved for found in founds), bound)

    return find


def _best(matrix: Matrix, line: Sequence[int], seconds: float, expired: Callable[[], bool]) -> Found:
    """The best order of some neighbouring places of the show's line, in the items' own numbers."""
    if not line:
        return search([])
    first, last = line[0], line[-1] + 1
    found = search(
        [row[first:last] for row in matrix.cost[first:last]],
        fixed={place - first: item - first for place, item in matrix.fixed.items() if first <= place < last},
        after=[(a - first, b - first) for a, b in matrix.after if first <= a < last],
        not_after=[(a - first, b - first) for a, b in matrix.not_after if first <= a < last],
        seconds=seconds,
        expired=expired,
    )
    return found._replace(order=[item + first for item in found.order])


def _across(
    book: Book,
    show: Show,
    rig: Rig,
    played: Mapping[str, Sequence[float]],
    expired: Callable[[], bool],
) -> Callable[[float, float, float], _Way]:
    """Finds the best order with songs free to move between sets, seconds and seconds short weighed as asked."""
    parts = parts_of(book, show, rig, played)
    if len(parts.sets) < 2:
        return _within(book, show, rig, expired)
    cp_model = solver()

    def find(of_time: float, of_short: float, seconds: float) -> _Way:
        found = share_out(weighed_parts(parts, of_time, of_short), seconds, expired, cp_model)
        sets: list[list[str]] = [[] for _ in show.sets]
        for number, songs in zip(parts.sets, found.sets, strict=True):
            sets[number] = [parts.songs[song] for song in songs]
        same = found.sets == parts.written
        return _Way(show if same else shared_out(show, sets), found.total, found.proved, found.bound)

    return find


def total_s(book: Book, show: Show, rig: Rig) -> float:
    """Seconds of all changeovers with the stage carried from song to song."""
    places = [place for place in line_up(show) if place.song in book.songs]
    times = changeover_times(book, show, rig)
    return sum(counts_s(a, b, times[a.song, b.song]) for a, b in pairwise(places))
