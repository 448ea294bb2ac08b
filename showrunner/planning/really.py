"""Orders by what they really cost, where that can be more than the sum of what their steps cost at least."""

from collections.abc import Callable, Sequence

from showrunner.planning.nearby import good_order
from showrunner.planning.task import Task

NEVER = 10**18
"""On top of what an order costs that breaks a pin."""

KICKS = 3
SEED = 1
PER_S = 10**6
"""Whole units to a second."""


SAME_S = 1e-5
"""Two sums of seconds closer to each other than this are the same."""


def whole(seconds: float) -> int:
    """Seconds in whole units, so that equal sums are equal in whatever order they were added."""
    return round(seconds * PER_S)


def undercuts(bound_s: float, price: int) -> bool:
    """Whether there may be a price below this one, where none is below the bound."""
    return price > whole(bound_s + SAME_S)


def cheapest(
    task: Task,
    orders: Sequence[Sequence[int]],
    least: Callable[[Sequence[int]], int],
    really: Callable[[Sequence[int]], int],
    expired: Callable[[], bool],
) -> list[int]:
    """The cheapest of some orders, of equals the first, and where it costs more than its steps, of those near them too.

    In whole units, `least` is what an order's steps cost and `really` what it does, more than `NEVER` if it breaks a
    pin.
    """
    best = min(orders, key=really)
    if undercuts(least(best) / PER_S, really(best)):
        found = [good_order(task, SEED, expired, KICKS, really, order) for order in dict.fromkeys(map(tuple, orders))]
        best = min((best, *found), key=really)
    return list(best)
