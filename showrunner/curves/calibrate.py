"""A control's calibration from readings: held at marks, and swept slowly from end to end and back."""

from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean, median
from typing import NamedTuple

Pair = tuple[float, float]

LEAST_REACH = 16
"""Raw steps of 127 below which a control has hardly moved."""
BY_EYE_PCT = 5.0
"""How far off a mark set by eye may be; a sweep further off than this was not even, and the marks correct it."""
UNEVEN_PCT = 10.0
"""From this distance to a straight response on, a control is called uneven (common practice: ±10 % of travel is
what a foot finds without looking)."""
GRID = 1000


class Mark(NamedTuple):
    """Raw values read while the control was held at a travel, %."""

    travel: float
    raws: tuple[int, ...]


class Leg(NamedTuple):
    """One slow movement from end to end: upward or back, from a time to a time, with what was read and when, s."""

    up: bool
    from_s: float
    to_s: float
    readings: tuple[tuple[float, int], ...]


class Calibration(NamedTuple):
    """What was found: the pairs for the rig's file, and how the control behaves, in raw steps and travel, %."""

    pairs: tuple[tuple[int, float], ...]
    reach: tuple[int, int]
    dead_heel_pct: float
    dead_toe_pct: float
    jitter_raw: int
    jitter_pct: float
    hysteresis_raw: float
    hysteresis_pct: float
    uneven_pct: float
    rejected: int

    @property
    def uneven(self) -> bool:
        """Whether its own response is far from even; with the pairs it feels even."""
        return self.uneven_pct > UNEVEN_PCT


class CalibrationError(ValueError):
    """Readings that make no calibration; says why and what to do."""


def calibrate(marks: Sequence[Mark], legs: Sequence[Leg], top: int = 127) -> Calibration:
    """The calibration of a control that reads 0 to `top`; CalibrationError where the readings don't make one."""
    grain = (top + 1) // 128
    held = {mark.travel: _held(mark, grain) for mark in sorted(marks)}
    low, high = _reach(held, legs, top)
    jitter = max(max(kept) - min(kept) for kept, _ in held.values()) if held else 0
    rejected = sum(len(mark.raws) - len(held[mark.travel][0]) for mark in marks)
    ups: list[dict[int, float]] = []
    downs: list[dict[int, float]] = []
    spikes = 0
    for leg in legs:
        places, dropped = _places(leg, (low, high), grain)
        (ups if leg.up else downs).append(places)
        spikes += dropped
    if not ups or not downs:
        raise CalibrationError("sweep from heel to toe and back to heel, at least once")
    up, down = _mean_places(ups), _mean_places(downs)
    between = {raw: (up[raw] + down[raw]) / 2 for raw in up.keys() & down.keys() if low < raw < high}
    inner = _rising(sorted(between.items()))
    points = [(float(low), 0.0), *inner, (float(high), 100.0)]
    points = _by_marks(points, {travel: median(kept) for travel, (kept, _) in held.items()})
    step_pct = 100 / (high - low)
    apart = [
        down_at - up_at for raw, up_at in up.items() if low < raw < high and (down_at := down.get(raw)) is not None
    ]
    apart_pct = abs(fmean(apart)) if apart else 0.0
    straight = [abs(travel - (raw - low) * step_pct) for raw, travel in points]
    return Calibration(
        pairs=tuple((round(raw), round(travel, 2)) for raw, travel in _thinned(points, grain)),
        reach=(low, high),
        dead_heel_pct=max(0.0, _still(legs, low + jitter, heel=True) - jitter * step_pct),
        dead_toe_pct=max(0.0, _still(legs, high - jitter, heel=False) - jitter * step_pct),
        jitter_raw=jitter,
        jitter_pct=jitter * step_pct,
        hysteresis_raw=apart_pct / step_pct,
        hysteresis_pct=apart_pct,
        uneven_pct=max(straight),
        rejected=rejected + spikes,
    )


def _held(mark: Mark, grain: int) -> tuple[list[int], float]:
    """A mark's readings without outliers, and their median."""
    if not mark.raws:
        raise CalibrationError(f"nothing was read at {mark.travel:g} %; is the control plugged in?")
    middle = median(mark.raws)
    spread = max(float(grain), median(abs(raw - middle) for raw in mark.raws))
    return [raw for raw in mark.raws if abs(raw - middle) <= 4 * spread], middle


def _reach(held: dict[float, tuple[list[int], float]], legs: Sequence[Leg], top: int) -> tuple[int, int]:
    middles = [middle for _, middle in held.values()]
    if middles:
        low, high = round(middles[0]), round(middles[-1])
    else:
        ends = [(sorted(raw for _, raw in leg.readings) or [0]) for leg in legs]
        low, high = round(median(raws[0] for raws in ends)), round(median(raws[-1] for raws in ends))
    if high < low:
        raise CalibrationError("it reads less at the toe than at the heel; turn it round in the board's own settings")
    if high - low < LEAST_REACH * (top + 1) / 128:
        raise CalibrationError(f"it moved from raw {low} to {high} only; go all the way from heel to toe")
    for before, after in pairwise(middles):
        if after < before:
            raise CalibrationError(
                "a mark further up reads less than the one below it; hold each mark still and repeat"
            )
    return low, high


def _places(leg: Leg, reach: tuple[int, int], grain: int) -> tuple[dict[int, float], int]:
    """Mean travel at which each raw value stood over an even movement, and how many lone spikes were left out.

    Of 14 bits, raw values are taken in 128 groups, each by its middle: a sweep meets few of them twice.
    """
    readings, dropped = _without_spikes(leg.readings, (reach[1] - reach[0]) / 10)
    if len(readings) < 3 or leg.to_s <= leg.from_s:
        raise CalibrationError("a sweep has hardly any readings; move slowly, over some five seconds")
    sums: dict[int, list[float]] = {}
    index, raw = 0, reach[0] if leg.up else reach[1]
    for step in range(GRID + 1):
        at_s = leg.from_s + (leg.to_s - leg.from_s) * step / GRID
        while index < len(readings) and readings[index][0] <= at_s:
            raw = readings[index][1]
            index += 1
        share = 100 * step / GRID
        sums.setdefault(raw // grain * grain + grain // 2, []).append(share if leg.up else 100 - share)
    return {raw: fmean(travels) for raw, travels in sums.items()}, dropped


def _without_spikes(readings: Sequence[tuple[float, int]], far: float) -> tuple[list[tuple[float, int]], int]:
    kept = [
        (at_s, raw)
        for index, (at_s, raw) in enumerate(readings)
        if not (0 < index < len(readings) - 1)
        or abs(raw - readings[index - 1][1]) <= far
        or abs(raw - readings[index + 1][1]) <= far
    ]
    return kept, len(readings) - len(kept)


def _mean_places(legs: Sequence[dict[int, float]]) -> dict[int, float]:
    raws = sorted({raw for places in legs for raw in places})
    return {raw: fmean([places[raw] for places in legs if raw in places]) for raw in raws}


def _rising(points: Sequence[tuple[int, float]]) -> list[Pair]:
    """Points made monotone by pooling neighbours that fall (isotonic regression, pool adjacent violators)."""
    pools: list[tuple[list[int], float]] = []
    for raw, travel in points:
        pool = ([raw], travel)
        while pools and pools[-1][1] > pool[1]:
            raws, mean = pools.pop()
            both = raws + pool[0]
            pool = (both, (mean * len(raws) + pool[1] * len(pool[0])) / len(both))
        pools.append(pool)
    return [(float(raw), min(max(mean, 0.0), 100.0)) for raws, mean in pools for raw in raws]


def _by_marks(points: list[Pair], marks: dict[float, float]) -> list[Pair]:
    """Points bent so that each mark is met, where any is further off than an eye is."""
    meets = [(0.0, 0.0)]
    for travel, raw in sorted(marks.items()):
        if 0 < travel < 100:
            meets.append((_at(points, raw), travel))
    meets.append((100.0, 100.0))
    if all(abs(swept - by_eye) <= BY_EYE_PCT for swept, by_eye in meets):
        return points
    meets = [meet for index, meet in enumerate(meets) if index == 0 or meet[0] > meets[index - 1][0]]
    return [(raw, _at(meets, travel)) for raw, travel in points]


def _at(points: Sequence[Pair], x: float) -> float:
    for (left, low), (right, high) in pairwise(points):
        if x <= right:
            return low if right == left else low + (high - low) * max(0.0, x - left) / (right - left)
    return points[-1][1]


def _thinned(points: list[Pair], grain: int) -> list[Pair]:
    """As few points as keep every other one within a quarter of a raw step in 128 of the lines between them."""
    first, last = points[0], points[-1]
    step = grain * (last[1] - first[1]) / max(1.0, last[0] - first[0])
    worst, off = 0, max(0.25 * step, 0.1)
    for index, (raw, travel) in enumerate(points[1:-1], 1):
        away = abs(travel - _at([first, last], raw))
        if away > off:
            worst, off = index, away
    if not worst:
        return [first, last]
    return _thinned(points[: worst + 1], grain)[:-1] + _thinned(points[worst:], grain)


def _still(legs: Sequence[Leg], edge: int, *, heel: bool) -> float:
    """Travel at one end, %, over which readings stay beyond the edge, as the mean over legs."""
    parts = []
    for leg in legs:
        inside = [at_s for at_s, raw in leg.readings if (raw > edge if heel else raw < edge)]
        if inside:
            still_s = inside[0] - leg.from_s if leg.up == heel else leg.to_s - inside[-1]
            parts.append(100 * still_s / (leg.to_s - leg.from_s))
    return fmean(parts) if parts else 0.0
