"""The ruler from heel to toe: what moves where along a control's travel, and where the control stands, as text."""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Literal, NamedTuple

from showrunner.curves.shapes import columns

if TYPE_CHECKING:
    from showrunner.model.song import Curve

Way = Literal["rises", "falls", "rests"]

SIGNS: dict[Way, str] = {"rises": "╱", "falls": "╲", "rests": "·"}
STANDS = "┃"


class Span(NamedTuple):
    """A stretch of travel, %, over which a target moves one way; a jump has no length."""

    start: float
    end: float
    way: Way


def spans(curve: "Curve", target: str) -> tuple[Span, ...]:
    """What a target does from heel to toe, without gaps; it rests before its first and after its last column."""
    move, travel = curve.moves[target], columns(curve, target)
    found = [Span(0, travel[0], "rests")]
    for (start, end), (value, next_value) in zip(pairwise(travel), pairwise(move.values), strict=True):
        way: Way = "rises" if next_value > value else "falls" if next_value < value else "rests"
        jumps = move.shape == "step" and way != "rests"
        found += [Span(start, end, "rests"), Span(end, end, way)] if jumps else [Span(start, end, way)]
    return _joined([*found, Span(travel[-1], 100, "rests")])


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
