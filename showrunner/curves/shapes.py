"""From travel to value: how a row goes from column to column."""

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from showrunner.model.song import Curve, Shape

Row = Callable[[float], float]
"""Travel, %, to a value in the target's unit."""


def value_at(travel: Sequence[float], values: Sequence[float], shape: "Shape", at: float) -> float:
    """A row's value at one travel; flat beyond the first and the last column."""
    return row_of(travel, values, shape)(at)


def row_of(travel: Sequence[float], values: Sequence[float], shape: "Shape") -> Row:
    """A row as a function of travel; `travel` rises and is as long as `values`, which has one value at least.

    Between two columns every shape stays between their values and never turns.
    """
    xs, ys = tuple(travel), tuple(values)
    if len(xs) != len(ys) or not xs:
        raise ValueError(f"{len(ys)} values for {len(xs)} columns")
    first, last, low, high = xs[0], xs[-1], ys[0], ys[-1]
    pieces = _PIECES[shape](xs, ys)

    def value(at: float) -> float:
        if at <= first:
            return low
        if at >= last:
            return high
        index = bisect_right(xs, at) - 1
        return pieces[index](at - xs[index])

    return value


def columns(curve: "Curve", target: str) -> tuple[float, ...]:
    """The travel of a row's columns, %: its own, else the curve's."""
    own = curve.moves[target].travel
    return curve.travel if own is None else own


def row_in(curve: "Curve", target: str, by: float = 0.0) -> Row:
    """One target's row of a curve as a function of travel, with what trims add to its values, in the target's unit."""
    move = curve.moves[target]
    row = row_of(columns(curve, target), move.values, move.shape)
    return (lambda at: row(at) + by) if by else row


def smooth_slopes(xs: Sequence[float], ys: Sequence[float]) -> list[float]:
    """Slope at each column of the monotone cubic: Fritsch–Butland inside, SciPy's three-point rule at the ends."""
    widths = [b - a for a, b in pairwise(xs)]
    chords = [(b - a) / width for (a, b), width in zip(pairwise(ys), widths, strict=True)]
    if len(chords) < 2:
        return [chords[0]] * 2 if chords else [0.0]
    inner = [_mean_slope(*steps, *slopes) for steps, slopes in zip(pairwise(widths), pairwise(chords), strict=True)]
    return [_end_slope(*widths[:2], *chords[:2]), *inner, _end_slope(*widths[:-3:-1], *chords[:-3:-1])]


def _mean_slope(width: float, next_width: float, chord: float, next_chord: float) -> float:
    if chord == 0 or next_chord == 0 or (chord < 0) != (next_chord < 0):
        return 0.0
    weight, next_weight = 2 * next_width + width, next_width + 2 * width
    return (weight + next_weight) / (weight / chord + next_weight / next_chord)


def _end_slope(width: float, next_width: float, chord: float, next_chord: float) -> float:
    slope = ((2 * width + next_width) * chord - width * next_chord) / (width + next_width)
    if _sign(slope) != _sign(chord):
        return 0.0
    if _sign(chord) != _sign(next_chord) and abs(slope) > 3 * abs(chord):
        return 3 * chord
    return slope


def _sign(number: float) -> int:
    return (number > 0) - (number < 0)


def _straight(xs: Sequence[float], ys: Sequence[float]) -> list[Row]:
    return [_line(b - a, start, end) for (a, b), (start, end) in _spans(xs, ys)]


def _line(width: float, start: float, end: float) -> Row:
    return lambda beyond: start + (end - start) * (beyond / width)


def _smooth(xs: Sequence[float], ys: Sequence[float]) -> list[Row]:
    slopes = pairwise(smooth_slopes(xs, ys))
    return [
        _cubic(b - a, start, end, *ends) for ((a, b), (start, end)), ends in zip(_spans(xs, ys), slopes, strict=True)
    ]


def _cubic(width: float, start: float, end: float, slope: float, end_slope: float) -> Row:
    chord = (end - start) / width
    bend = (slope + end_slope - 2 * chord) / width
    square, cube = (chord - slope) / width - bend, bend / width
    low, high = min(start, end), max(start, end)

    def value(beyond: float) -> float:
        result = ((cube * beyond + square) * beyond + slope) * beyond + start
        return result if low <= result <= high else low if result < low else high

    return value


def _step(xs: Sequence[float], ys: Sequence[float]) -> list[Row]:
    return [_held(start) for _, (start, _end) in _spans(xs, ys)]


def _held(value: float) -> Row:
    return lambda _beyond: value


def _equal_power(xs: Sequence[float], ys: Sequence[float]) -> list[Row]:
    return [_quarter_sine(b - a, start, end) for (a, b), (start, end) in _spans(xs, ys)]


def _quarter_sine(width: float, start: float, end: float) -> Row:
    depth, turn = end - start, math.pi / 2 / width
    if start < end:
        return lambda beyond: start + depth * math.sin(turn * beyond)
    return lambda beyond: start + depth * (1 - math.cos(turn * beyond))


def _spans(xs: Sequence[float], ys: Sequence[float]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    return list(zip(pairwise(xs), pairwise(ys), strict=True))


_PIECES: "dict[Shape, Callable[[Sequence[float], Sequence[float]], list[Row]]]" = {
    "straight": _straight,
    "smooth": _smooth,
    "step": _step,
    "equal-power": _equal_power,
}
