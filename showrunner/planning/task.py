"""An ordering task in whole numbers: what follows what at which cost, where it may begin and end, what is fixed."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from math import gcd, inf, isnan, lcm
from typing import NamedTuple

Cost = Sequence[Sequence[float]]
Pairs = Sequence[tuple[int, int]]

FITS = 2**60
"""Whole-number totals stay below this, so that solvers with 64 bits can add them."""


class NoOrderError(ValueError):
    """No order meets the pins."""


class NoneFoundError(NoOrderError):
    """None was found that does; there may be one."""


class Task(NamedTuple):
    """Costs in whole numbers, `never` for what may not follow; `start` and `end` of a first and a last place.

    `fixed` maps places to items. `scale` is how many whole units one unit of the plain costs is.
    """

    cost: tuple[tuple[int, ...], ...]
    start: tuple[int, ...]
    end: tuple[int, ...]
    fixed: Mapping[int, int]
    never: int
    scale: Fraction

    @property
    def size(self) -> int:
        """How many items there are."""
        return len(self.cost)

    def total(self, order: Sequence[int]) -> int:
        """Whole-number cost of an order; `never` or more if some step of it is forbidden."""
        steps = sum(self.cost[a][b] for a, b in pairwise(order))
        return self.start[order[0]] + steps + self.end[order[-1]]

    def in_place(self, order: Sequence[int]) -> bool:
        """Whether every item that is fixed stands in its place."""
        return all(order[place] == item for place, item in self.fixed.items())


def make_task(
    cost: Cost, fixed: Mapping[int, int], after: Pairs, not_after: Pairs, closed: bool, also: Sequence[float] = ()
) -> Task:
    """The task of an open line; a closed one has something fixed at place 0, whose costs come back as `end`.

    Costs count as the decimal numbers they print as; `scale` and `never` suit costs that come on top, `also`, as well.
    ValueError if they are no square matrix of numbers.
    """
    size = len(cost)
    if any(len(row) != size for row in cost):
        raise ValueError("the costs must be a square matrix")
    exact = [[None if a == b else _exact(value) for b, value in enumerate(row)] for a, row in enumerate(cost)]
    more = [value for value in map(_exact, also) if value is not None]
    known = [value for row in exact for value in row if value is not None] + more
    scale = _scale(known, size)
    whole = [[None if value is None else round(value * scale) for value in row] for row in exact]
    for a, b in not_after:
        whole[a][b] = None
    for a, b in after:
        whole[a] = [value if i == b else None for i, value in enumerate(whole[a])]
        for i in range(size):
            whole[i][b] = whole[i][b] if i == a else None
    most = max((abs(value) for row in whole for value in row if value is not None), default=0)
    never = 1 + (size + 1) * max(most, *(round(value * scale) for value in more), 0) * 2
    rows = tuple(tuple(never if value is None else value for value in row) for row in whole)
    leads, follows = {a for a, _ in after}, {b for _, b in after}
    if closed:
        start, end = (0,) * size, tuple(rows[i][fixed[0]] if i != fixed[0] else 0 for i in range(size))
    else:
        start = tuple(never if i in follows else 0 for i in range(size))
        end = tuple(never if i in leads else 0 for i in range(size))
    return Task(rows, start, end, fixed, never, scale)


def _exact(value: float) -> Fraction | None:
    if isnan(value) or value == -inf:
        raise ValueError(f"a cost must be a number or inf, not {value}")
    return None if value == inf else Fraction(value) if isinstance(value, int) else Fraction(repr(float(value)))


def _scale(values: Sequence[Fraction], size: int) -> Fraction:
    """Whole units to one unit: exact where that fits 64 bits, else as fine as fits."""
    finest = lcm(*(value.denominator for value in values))
    scale = Fraction(finest, gcd(*(int(value * finest) for value in values)) or 1)
    largest = max((abs(value) for value in values), default=Fraction(0)) * 4 * (size + 2) ** 2
    return scale if largest * scale < FITS else FITS / largest
