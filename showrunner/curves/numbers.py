"""A row's controller number for every raw value of its control, from the places where it changes if those are few."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from showrunner.curves.shapes import Row

_FEW = 16
"""Finding a change takes about as many looks as a stretch of so many raw values."""


def numbers_over(
    travels: Sequence[float], columns: Sequence[float], row: Row, numbering: Callable[[float], int]
) -> list[int]:
    """The numbers of one row for `travels`, the travel of each raw value, which never falls.

    Between two of the row's columns its value never turns, so a number found at both ends of a stretch fills it.
    """
    numbers: list[int] = []
    for stretch in _stretches(travels, columns):
        numbers += _numbers(stretch, lambda travel: numbering(row(travel)))
    return numbers


def _stretches(travels: Sequence[float], columns: Sequence[float]) -> Iterator[Sequence[float]]:
    cuts = {bisect_left(travels, column) for column in columns}
    for start, end in pairwise(sorted({0, *cuts, len(travels)})):
        yield travels[start:end]


def _numbers(stretch: Sequence[float], number_at: Callable[[float], int]) -> list[int]:
    number, last = number_at(stretch[0]), number_at(stretch[-1])
    if abs(last - number) * _FEW > len(stretch):
        return [number_at(travel) for travel in stretch]
    sign = 1 if last > number else -1
    numbers: list[int] = []
    while number != last:
        after = bisect_right(stretch, sign * number, len(numbers), key=lambda travel: sign * number_at(travel))
        numbers += [number] * (after - len(numbers))
        number = number_at(stretch[after])
    return numbers + [last] * (len(stretch) - len(numbers))
