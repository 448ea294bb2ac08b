"""The order that costs least to play through: exact where that can be had, else the best found and how far off it is.

Few free items go through dynamic programming. With more, local search gives an order and Held and Karp's bound what it
may lack; where that is not nothing, OR-Tools' CP-SAT closes the gap if it is installed, else dynamic
programming up to 17 items.
"""

from collections.abc import Callable, Collection, Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import NamedTuple

from showrunner.planning import exact
from showrunner.planning.bound import lower_bound
from showrunner.planning.heldkarp import best_order
from showrunner.planning.nearby import good_order
from showrunner.planning.task import Cost, NoneFoundError, NoOrderError, Pairs, Task, make_task

AT_ONCE = 12
"""Most free items that dynamic programming takes straight away: a twentieth of a second."""

BY_SETS = 17
"""Most free items that it takes at all: about two seconds."""

KICKS = 40
SECONDS = 10.0
SEED = 1
FREE: Mapping[int, int] = MappingProxyType({})


class Found(NamedTuple):
    """An order, its cost, whether no other costs less, and a cost that none undercuts."""

    order: list[int]
    total: float
    proved: bool
    bound: float


def solve(
    cost: Cost,
    *,
    first: int | None = None,
    last: int | None = None,
    fixed: Mapping[int, int] = FREE,
    after: Pairs = (),
    not_after: Pairs = (),
    closed: bool = False,
) -> tuple[list[int], float, bool]:
    """The cheapest order of all items, its cost, and whether that is proved; `search` says more and takes limits."""
    found = search(cost, first=first, last=last, fixed=fixed, after=after, not_after=not_after, closed=closed)
    return found.order, found.total, found.proved


def search(
    cost: Cost,
    *,
    first: int | None = None,
    last: int | None = None,
    fixed: Mapping[int, int] = FREE,
    after: Pairs = (),
    not_after: Pairs = (),
    closed: bool = False,
    not_last: Collection[int] = (),
    seconds: float = SECONDS,
    expired: Callable[[], bool] = lambda: False,
    seed: int = SEED,
) -> Found:
    """The cheapest order of all items of a square matrix, `cost[a][b]` from a to b; inf forbids.

    `fixed` maps places from 0 to items. `after` has pairs (a, b): b comes directly after a. `not_after` has pairs
    (a, b): b never comes directly after a, and no item of `not_last` ends the line. `closed` adds the way from the
    last item back to the first. Of orders that cost the same the written one is kept; if it is not among them, up to
    12 free items the one whose first item is written first, then the second, and so on.
    `seconds` limit CP-SAT and `expired`, asked now and then, local search. NoOrderError, a ValueError, if none
    meets the pins; ValueError for pins or costs that make no sense.
    """
    size = len(cost)
    places = _places(size, first, last, fixed)
    _check_pairs(size, (*after, *not_after))
    turn = 0
    if closed and size:
        turn = next(iter(places), 0)
        places = {(place - turn) % size: item for place, item in places.items()} or {0: 0}
    task = make_task(cost, places, after, not_after, closed)
    task = task._replace(end=tuple(task.never if item in not_last else s for item, s in enumerate(task.end)))
    if size < 2:
        return Found(list(range(size)), 0, True, 0)
    order, bound = _search(task, seconds, expired, seed)
    turned = order[size - turn :] + order[: size - turn]
    total = sum(cost[a][b] for a, b in pairwise([*turned, turned[0]] if closed else turned))
    proved = bound >= task.total(order)
    return Found(turned, total, proved, total if proved else bound / task.scale.numerator * task.scale.denominator)


def _places(size: int, first: int | None, last: int | None, fixed: Mapping[int, int]) -> dict[int, int]:
    wanted = list(fixed.items())
    wanted += [(0, first)] if first is not None else []
    wanted += [(size - 1, last)] if last is not None else []
    places: dict[int, int] = {}
    for place, item in wanted:
        if not (0 <= place < size and 0 <= item < size):
            raise ValueError(f"item {item} can't stand at place {place}: there are {size} of each, counted from 0")
        if places.setdefault(place, item) != item:
            raise NoOrderError(f"items {places[place]} and {item} are both pinned to place {place}")
    if len(set(places.values())) < len(places):
        raise NoOrderError("an item is pinned to two places")
    return places


def _check_pairs(size: int, pairs: Pairs) -> None:
    for a, b in pairs:
        if not (0 <= a < size and 0 <= b < size) or a == b:
            raise ValueError(f"({a}, {b}) is no pair of two of the {size} items")


def _search(task: Task, seconds: float, expired: Callable[[], bool], seed: int) -> tuple[list[int], int]:
    """The best order and a whole-number cost that none undercuts."""
    free = task.size - len(task.fixed)
    if free <= AT_ONCE:
        order = best_order(task)
        return order, task.total(order)
    order = good_order(task, seed, expired, KICKS)
    upper = task.total(order)
    bound, may = lower_bound(task, upper, expired)
    if bound < upper and (cp_model := exact.solver()) is not None:
        better, proved = exact.cheaper(task, upper, bound, may, seconds, cp_model)
        order, bound = better or order, max(bound, proved)
    elif bound < upper and free <= BY_SETS:
        order = best_order(task)
        bound = task.total(order)
    if task.total(order) >= task.never:
        if bound >= task.never:
            raise NoOrderError("no order meets the pins")
        raise NoneFoundError("no order was found that meets the pins")
    return order, bound
