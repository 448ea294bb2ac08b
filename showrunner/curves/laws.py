"""From value to controller number and back, by the law of the target."""

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence

from showrunner.model.rig import Target

GM_VOLUME_DB_PER_DECADE = 40.0
"""dB = 40·log10(cc/127): MIDI Association M2-113, Appendix B."""


def to_number(target: Target, value: float) -> int:
    """The nearest controller number to a value in the target's unit; values outside the range clamp to its ends."""
    return numbering(target)(value)


def to_value(target: Target, number: int) -> float:
    """The value, in the target's unit and inside its range, that a controller number from 0 to the top stands for."""
    return inside(target, _VALUES[target.law](target, min(max(number, 0), target.top)))


def ends_of(target: Target) -> tuple[float, float]:
    """The least and the most that a target takes, in its unit."""
    return min(target.range), max(target.range)


def inside(target: Target, value: float) -> float:
    """A value held to what its target takes."""
    low, high = ends_of(target)
    return min(max(value, low), high)


def numbering(target: Target) -> Callable[[float], int]:
    """`to_number` of one target as a function, for many values."""
    low, high = min(target.range), max(target.range)
    exact = _NUMBERS[target.law](target)
    return lambda value: int(exact(min(max(value, low), high)) + 0.5)


def interpolate(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """Straight lines between points whose xs do not fall; flat beyond the ends."""
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    index = bisect_right(xs, x) - 1
    return ys[index] + (ys[index + 1] - ys[index]) * ((x - xs[index]) / (xs[index + 1] - xs[index]))


def _linear_number(target: Target) -> Callable[[float], float]:
    (low, high), top = target.range, target.top
    return lambda value: (value - low) / (high - low) * top


def _linear_value(target: Target, number: int) -> float:
    low, high = target.range
    return high if number == target.top else low + (high - low) * (number / target.top)


def _log_number(target: Target) -> Callable[[float], float]:
    start, end, top = *(math.log(abs(end)) for end in target.range), target.top
    return lambda value: (math.log(abs(value)) - start) / (end - start) * top


def _log_value(target: Target, number: int) -> float:
    low, high = target.range
    if number in (0, target.top):
        return high if number else low
    start, end = math.log(abs(low)), math.log(abs(high))
    return math.copysign(math.exp(start + (end - start) * (number / target.top)), low)


def _gm_volume_number(target: Target) -> Callable[[float], float]:
    low, top = min(target.range), target.top
    silent = low < _gm_volume_db(1, top)
    return lambda value: 0.0 if silent and value == low else top * 10.0 ** (min(value, 0.0) / GM_VOLUME_DB_PER_DECADE)


def _gm_volume_value(target: Target, number: int) -> float:
    return _gm_volume_db(number, target.top) if number else min(target.range)


def _gm_volume_db(number: int, top: int) -> float:
    return GM_VOLUME_DB_PER_DECADE * math.log10(number / top)


def _table_number(target: Target) -> Callable[[float], float]:
    numbers, values = zip(*target.table, strict=True)
    return lambda value: interpolate(values, numbers, value)


def _table_value(target: Target, number: int) -> float:
    numbers, values = zip(*target.table, strict=True)
    return interpolate(numbers, values, number)


_NUMBERS: dict[str, Callable[[Target], Callable[[float], float]]] = {
    "linear": _linear_number,
    "log": _log_number,
    "gm-volume": _gm_volume_number,
    "table": _table_number,
}
_VALUES: dict[str, Callable[[Target, int], float]] = {
    "linear": _linear_value,
    "log": _log_value,
    "gm-volume": _gm_volume_value,
    "table": _table_value,
}
