"""From what a control sends to where it stands, and back."""

import math
from bisect import bisect_left
from itertools import pairwise

from showrunner.curves.laws import interpolate
from showrunner.model.rig import Control


def travel_of(control: Control, raw: int) -> float:
    """Travel, 0–100 %, of a raw value by the control's calibration; flat beyond its first and last pair."""
    raws, travels = _points(control)
    return interpolate(raws, travels, raw)


def raw_of(control: Control, travel: float) -> int:
    """The raw value whose travel is nearest to one in %; the lowest such where the calibration stands still."""
    raws, travels = _points(control)
    index = bisect_left(travels, min(travel, travels[-1]))
    exact = raws[index]
    if index > 0:
        share = (min(travel, travels[-1]) - travels[index - 1]) / (travels[index] - travels[index - 1])
        exact = raws[index - 1] + (raws[index] - raws[index - 1]) * share
    return min(math.floor(exact), math.ceil(exact), key=lambda raw: abs(interpolate(raws, travels, raw) - travel))


def travels_of(control: Control) -> list[float]:
    """Travel of every raw value the control can send, 128 or 16,384 of them, never falling."""
    raws, travels = _points(control)
    found = [travels[0]] * math.ceil(raws[0])
    for (raw, next_raw), (travel, next_travel) in zip(pairwise(raws), pairwise(travels), strict=True):
        rise, width = next_travel - travel, next_raw - raw
        found += [travel + rise * ((at - raw) / width) for at in range(len(found), math.ceil(next_raw))]
    return found + [travels[-1]] * (control.top + 1 - len(found))


def _points(control: Control) -> tuple[tuple[float, ...], tuple[float, ...]]:
    if not control.calibration:
        return (0.0, float(control.top)), (0.0, 100.0)
    raws, travels = zip(*control.calibration, strict=True)
    return raws, travels
