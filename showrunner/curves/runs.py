"""Where along a control's raw values a row's number changes: worked out from breakpoints, not from every raw value."""

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from showrunner.curves.shapes import Row


class Run(NamedTuple):
    """A number that holds from a raw value on, until the next run."""

    raw: int
    number: int


def number_runs(
    travels: Sequence[float], columns: Sequence[float], row: Row, numbering: Callable[[float], int]
) -> list[Run]:
    """Every change of a row's number over the raw values, from raw 0 up.

    `travels` is the travel of each raw value, never falling; `columns` are those of the row, between which it never
    turns: so a stretch with one number at both ends has no other in between, and is not looked into.
    """
    runs: list[Run] = []
    for start, end in _stretches(travels, columns):
        for raw, number in _changes(start, end, lambda raw: numbering(row(travels[raw]))):
            if not runs or runs[-1].number != number:
                runs.append(Run(raw, number))
    return runs


def _stretches(travels: Sequence[float], columns: Sequence[float]) -> Iterator[tuple[int, int]]:
    """First and last raw value of each stretch between columns."""
    starts = sorted({0, *(bisect_left(travels, column) for column in columns)} - {len(travels)})
    for start, after in pairwise([*starts, len(travels)]):
        yield start, after - 1


def _changes(first: int, last: int, number_at: Callable[[int], int]) -> Iterator[tuple[int, int]]:
    """Raw values of one stretch where a new number begins, rising, each with its number."""
    low, low_number = first, number_at(first)
    yield low, low_number
    ahead = [(last, number_at(last))] if last > first else []
    while ahead:
        high, high_number = ahead[-1]
        if low_number == high_number or high - low == 1:
            if low_number != high_number:
                yield high, high_number
            low, low_number = ahead.pop()
        else:
            middle = (low + high) // 2
            ahead.append((middle, number_at(middle)))
