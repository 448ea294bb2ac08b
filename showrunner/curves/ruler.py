"""The ruler from heel to toe: what moves where along a control's travel, and where the control stands, as text."""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Literal, NamedTuple

from showrunner.curves.shapes import Row, columns, row_in

if TYPE_CHECKING:
    from showrunner.model.song import Curve

Way = Literal["rises", "falls", "rests"]

SIGNS: dict[Way, str] = {"rises": "╱", "falls": "╲", "rests": "·"}
STANDS = "┃"
BOUNDLESS = (-math.inf, math.inf)
HALVINGS = 20
"""How often a stretch is halved to find where a row meets the end of a range: to a ten-thousandth of the travel."""


class Span(NamedTuple):
    """A stretch of travel, %, over which a target moves one way; a jump has no length."""

    start: float
    end: float
    way: Way


def spans(curve: "Curve", target: str, by: float = 0.0, ends: tuple[float, float] = BOUNDLESS) -> tuple[Span, ...]:
    """What a target does from heel to toe, without gaps; it rests before its first and after its last column.

    `by` is what trims add to its values, `ends` the least and the most that it takes: it rests where it is held there.
    """
    move, travel = curve.moves[target], columns(curve, target)
    found = [Span(0, travel[0], "rests")]
    asked = [value + by for value in move.values]
    held = [min(max(value, ends[0]), ends[1]) for value in asked]
    for at, (start, end) in enumerate(pairwise(travel)):
        way: Way = "rises" if held[at + 1] > held[at] else "falls" if held[at + 1] < held[at] else "rests"
        if way == "rests" or move.shape == "step":
            found += [Span(start, end, "rests")] + ([Span(end, end, way)] if way != "rests" else [])
            continue
        moves = start if held[at] == asked[at] else _passes(row_in(curve, target, by), held[at], start, end)
        stops = end if held[at + 1] == asked[at + 1] else _passes(row_in(curve, target, by), held[at + 1], start, end)
        found += [Span(start, moves, "rests"), Span(moves, stops, way), Span(stops, end, "rests")]
    return _joined([*found, Span(travel[-1], 100, "rests")])


def _passes(row: Row, value: float, start: float, end: float) -> float:
    """The travel at which a row that does not turn between two columns passes a value that lies between theirs."""
    rises = row(start) < row(end)
    for _ in range(HALVINGS):
        middle = (start + end) / 2
        start, end = (start, middle) if (row(middle) > value) == rises else (middle, end)
    return (start + end) / 2


def way_at(of_target: Sequence[Span], travel: float) -> Way:
    """What a target does where the control stands, on the way up from there."""
    return next((span.way for span in of_target if span.start <= travel < span.end), of_target[-1].way)


def cell_of(travel: float, width: int) -> int:
    """The character, 0 to width − 1, that a travel in % falls into: two dots to a character, heel and toe the ends."""
    return round(min(max(travel, 0), 100) / 100 * (2 * width - 1)) // 2


def ruler(of_target: Sequence[Span], width: int, stands: float | None = None) -> str:
    """One line of `width` characters: a sign for each bit of travel, and a mark where the control stands, if known."""
    middles = [(2 * cell + 0.5) / (2 * width - 1) * 100 for cell in range(width)]
    signs = [SIGNS[way_at(of_target, middle)] for middle in middles]
    for span in of_target:
        first, last = cell_of(span.start, width), cell_of(span.end, width)
        if span.way != "rests" and SIGNS[span.way] not in signs[first : last + 1]:
            signs[(first + last) // 2] = SIGNS[span.way]
    if stands is not None:
        signs[cell_of(stands, width)] = STANDS
    return "".join(signs)


def scale(at: Iterable[float], width: int, stands: float | None = None) -> str:
    """The ruler's edge, `width` characters from heel to toe: a tick for each travel in `at`, heavy up to `stands`."""
    ticks = {cell_of(travel, width) for travel in at}
    reached = -1 if stands is None else cell_of(stands, width)
    line = [_EDGE[cell <= reached][cell in ticks] for cell in range(width)]
    line[0], line[-1] = ("┠" if reached < 0 else "┣"), ("┨" if reached < width - 1 else "┫")
    if stands is not None:
        line[reached] = "◆"
    return "".join(line)


def _joined(found: Iterable[Span]) -> tuple[Span, ...]:
    """The spans without empty rests, neighbours that do the same made one."""
    joined: list[Span] = []
    for span in found:
        if span.start == span.end and span.way == "rests":
            continue
        if joined and joined[-1].way == span.way and span.start != span.end:
            joined[-1] = joined[-1]._replace(end=span.end)
        else:
            joined.append(span)
    return tuple(joined)


_EDGE = (("─", "┼"), ("━", "╋"))
