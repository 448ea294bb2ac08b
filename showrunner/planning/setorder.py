"""A better order for a show: least time in changeovers under its pins, the encore left alone.

What is least is the time that hands are busy between songs, since that is what an order decides; whether a pause holds
it can be mended by writing a longer one, so missing seconds count second, or first where that is asked for.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import pairwise, product
from math import inf, prod
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.across import share_out
from showrunner.planning.changeover import changeover_times, changeovers
from showrunner.planning.exact import solver
from showrunner.planning.lineup import line_up
from showrunner.planning.order import SECONDS, Found, search
from showrunner.planning.really import NEVER, SAME_S, cheapest, undercuts, whole
from showrunner.planning.rearrange import reordered, shared_out
from showrunner.planning.setmatrix import Matrix, counts_s, matrix_of
from showrunner.planning.setparts import parts_of, weighed, weighed_parts
from showrunner.planning.task import NoneFoundError, NoOrderError, make_task
from showrunner.planning.timing import NOTHING

FIRST = 1e6
"""Weight of the seconds that count first: a thousandth of one outweighs a thousand that count second."""


FIRST_SHARE = 0.7
"""Of the seconds allowed, for the search after what counts first."""


class BetterOrder(NamedTuple):
    """The order found and the show in it, what its changeovers take, and what those of the written order take.

    `short_s` are the seconds missing in changeovers longer than their pause, and `newly_short` the changeovers that
    are too short now and did not stand in the written order, or not as short. `as_pinned` says whether the written
    order is among those that are allowed.
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
    as_pinned: bool = True


class _Way(NamedTuple):
    """A way found: the show in it, what no way undercuts, and whether the order as written meets the pins."""

    show: Show
    bound: float
    allowed: bool


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
    `proved` only where the stage, carried through that order, costs what no order undercuts. NoOrderError, a
    ValueError, for pins that contradict each other.
    """
    find = _across(book, show, rig, played, expired) if across_sets else _within(book, show, rig, expired)
    least = way = find(1, 0, FIRST_SHARE * seconds)
    if in_time:
        way = find(1, FIRST, (1 - FIRST_SHARE) * seconds)
    elif not expired() and newly_short(book, show, way.show, rig):
        other = find(FIRST, 1, (1 - FIRST_SHARE) * seconds)
        if _less_short(book, rig, other.show, way.show):
            way = other
    weights = (1, FIRST) if in_time else (1, 0)
    if way.allowed and _price(_costs(book, show, rig), *weights) <= _price(_costs(book, way.show, rig), *weights):
        way = way._replace(show=show)
    (before_s, before_short_s), (after_s, after_short_s) = (_costs(book, its, rig) for its in (show, way.show))
    bound = way.bound if in_time else least.bound
    return BetterOrder(
        order=tuple(place.song for place in line_up(way.show) if place.song in book.songs),
        show=way.show,
        before_s=before_s,
        after_s=after_s,
        proved=not undercuts(bound, _price((after_s, after_short_s), *weights)),
        bound_s=min(after_s, least.bound),
        before_short_s=before_short_s,
        after_short_s=after_short_s,
        newly_short=newly_short(book, show, way.show, rig),
        as_pinned=way.allowed,
    )


def _costs(book: Book, show: Show, rig: Rig) -> tuple[float, float]:
    """Seconds that a show's changeovers take, and seconds that their pauses do not hold."""
    return total_s(book, show, rig), sum(short_changeovers(book, show, rig).values())


def _price(costs: tuple[float, float], of_time: float, of_short: float) -> int:
    """Seconds and seconds short as one number."""
    return whole(of_time * costs[0] + of_short * costs[1])


def short_changeovers(book: Book, show: Show, rig: Rig) -> dict[tuple[str, str], float]:
    """Seconds missing in each changeover that takes longer than its pause, by the songs before and after it."""
    return {(one.before, one.after): one.short_s for one in changeovers(book, show, rig) if one.short_s > 0}


def newly_short(book: Book, before: Show, after: Show, rig: Rig) -> tuple[tuple[str, str], ...]:
    """Changeovers that are too short now and did not stand in the show before, or not as short."""
    was = short_changeovers(book, before, rig)
    return tuple(pair for pair, s in short_changeovers(book, after, rig).items() if s > was.get(pair, 0.0))


def _less_short(book: Book, rig: Rig, one: Show, other: Show) -> bool:
    """Whether a show's changeovers take as long as the other's, and less of that is missing."""
    (one_s, one_short_s), (other_s, other_short_s) = _costs(book, one, rig), _costs(book, other, rig)
    return whole(one_s) == whole(other_s) and whole(one_short_s) < whole(other_short_s)


def _within(book: Book, show: Show, rig: Rig, expired: Callable[[], bool]) -> Callable[[float, float, float], _Way]:
    """Finds the best order of each set's own songs, seconds and seconds short weighed as asked."""
    matrix = matrix_of(book, show, rig)
    written = tuple(range(len(matrix.songs)))
    parts = sorted(set(matrix.parts)) if matrix.parts_are_apart else ()
    lines = [[item for item in written if matrix.parts[item] == part] for part in parts] or [[*written]]

    def find(of_time: float, of_short: float, seconds: float) -> _Way:
        cost = weighed(matrix.cost, matrix.short, of_time, of_short)
        task = make_task(cost, matrix.fixed, matrix.after, matrix.not_after, False)
        founds = [_best(matrix, line, (of_time, of_short), seconds, expired) for line in lines]

        def least(order: Sequence[int]) -> int:
            return whole(task.total(order) / task.scale.numerator * task.scale.denominator) if order else 0

        def really(order: Sequence[int]) -> int:
            total = task.total(order) if order else 0
            allowed = total < task.never and task.in_place(order)
            return _price(matrix.really(order), of_time, of_short) if allowed else NEVER + total

        orders = (written, tuple(item for found in founds for item in found.order))
        order = cheapest(task, orders, least, really, expired)
        better = reordered(show, [matrix.songs[item] for item in order])
        bound = sum(found.bound for found in founds)
        return _Way(show if tuple(order) == written else better, bound, really(written) < NEVER)

    return find


def _best(
    matrix: Matrix, line: Sequence[int], weights: tuple[float, float], seconds: float, expired: Callable[[], bool]
) -> Found:
    """The best order of some neighbouring places of the show's line, in the items' own numbers.

    A song that ended its set takes over the pause of the one that does now: where that makes the order found cost more
    than it seemed, the songs that may end it are tried apart, by what is written after them.
    """
    found = _search(matrix, line, weights, (), seconds, expired)
    ends = [end for end in sorted(matrix.ends & set(line)) if matrix.beside(end)]
    last = {matrix.parts[song]: song for song in found.order}
    now_s = {end: matrix.pauses_s[last[matrix.parts[end]]] for end in ends if last[matrix.parts[end]] != end}
    if not weights[1] or _cost(matrix.with_pauses(now_s), found.order, weights) <= found.total + SAME_S:
        return found
    choices = [sorted({matrix.pauses_s[song] for song in matrix.beside(end)}) for end in ends]
    ways, bound, share = [], inf, seconds / prod(map(len, choices))
    for pauses_s in product(*choices):
        if expired():
            bound = found.bound
            break
        after_s = dict(zip(ends, pauses_s, strict=True))
        barred = [song for end in ends for song in matrix.beside(end) if matrix.pauses_s[song] != after_s[end]]
        try:
            ways.append(_search(matrix.with_pauses(after_s), line, weights, barred, share, expired))
            bound = min(bound, ways[-1].bound)
        except NoneFoundError:
            bound = found.bound
        except NoOrderError:
            continue
    best = min(ways, key=lambda way: way.total, default=found)
    return best._replace(proved=best.total <= bound, bound=max(found.bound, bound))


def _cost(matrix: Matrix, order: Sequence[int], weights: tuple[float, float]) -> float:
    cost = weighed(matrix.cost, matrix.short, *weights)
    return sum(cost[a][b] for a, b in pairwise(order))


def _search(
    matrix: Matrix,
    line: Sequence[int],
    weights: tuple[float, float],
    barred: Collection[int],
    seconds: float,
    expired: Callable[[], bool],
) -> Found:
    """The best order of these places in which none of the songs `barred` ends its set."""
    if not line:
        return search([])
    first, last = line[0], line[-1] + 1
    cost = [list(row[first:last]) for row in weighed(matrix.cost, matrix.short, *weights)[first:last]]
    for song in barred:
        cost[song - first] = [
            inf if matrix.parts[b] != matrix.parts[song] else s for b, s in zip(line, cost[song - first], strict=True)
        ]
    found = search(
        cost,
        fixed={place - first: item - first for place, item in matrix.fixed.items() if first <= place < last},
        after=[(a - first, b - first) for a, b in matrix.after if first <= a < last],
        not_after=[(a - first, b - first) for a, b in matrix.not_after if first <= a < last],
        not_last=[song - first for song in barred],
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
        def price(costs: tuple[float, float]) -> int:
            return _price(costs, of_time, of_short)

        found = share_out(weighed_parts(parts, of_time, of_short), price, seconds, expired, cp_model)
        sets: list[list[str]] = [[] for _ in show.sets]
        for number, songs in zip(parts.sets, found.sets, strict=True):
            sets[number] = [parts.songs[song] for song in songs]
        same = found.sets == parts.written
        return _Way(show if same else shared_out(show, sets), found.bound, found.allowed)

    return find


def total_s(book: Book, show: Show, rig: Rig) -> float:
    """Seconds of all changeovers with the stage carried from song to song."""
    places = [place for place in line_up(show) if place.song in book.songs]
    times = changeover_times(book, show, rig)
    return sum(counts_s(a, b, times[a.song, b.song]) for a, b in pairwise(places))
