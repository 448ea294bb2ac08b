"""Loudness of a recording: ITU-R BS.1770, EBU Tech 3341 and Tech 3342, over blocks, in bounded memory. Needs numpy.

Only two numbers for each tenth of a second are kept, about 0.6 MB an hour.
"""

from array import array
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from showrunner.levels.kweighting import HIGH_PASS_48K, SHELF_48K, BlockFilter, at_rate
from showrunner.levels.truepeak import TruePeak

Samples = NDArray[np.float64]

OFFSET_DB = -0.691
SURROUND_WEIGHT = 1.41
ABSOLUTE_GATE_LUFS = -70.0
INTEGRATED_GATE_LU = -10.0
RANGE_GATE_LU = -20.0
RANGE_PERCENTILES = (10, 95)

STEPS_PER_S = 100
"""Momentary and short-term loudness are looked at every 10 ms, so that no maximum is missed."""

MOMENTARY_STEPS = 40
SHORT_TERM_STEPS = 300
GATING_STEPS = 10

CHUNK = 1 << 16
LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8000, 768000

_WEIGHTS = {
    1: (1.0,),
    2: (1.0, 1.0),
    3: (1.0, 1.0, 1.0),
    4: (1.0, 1.0, SURROUND_WEIGHT, SURROUND_WEIGHT),
    5: (1.0, 1.0, 1.0, SURROUND_WEIGHT, SURROUND_WEIGHT),
    6: (1.0, 1.0, 1.0, 0.0, SURROUND_WEIGHT, SURROUND_WEIGHT),
}
"""By number of channels, in the order of BS.1770 and of WAVE files: L, R, C, LFE, Ls, Rs; four are L, R, Ls, Rs."""


class Loudness(NamedTuple):
    """How loud a recording is; −inf where it is too short or too quiet to say, range None then.

    `short_term_lufs` holds a value for every tenth of a second from the third second on, for a plot over time.
    """

    integrated_lufs: float
    short_term_max_lufs: float
    momentary_max_lufs: float
    range_lu: float | None
    true_peak_dbtp: float
    seconds: float
    short_term_lufs: Samples


class Meter:
    """Takes a recording block by block and says how loud it is.

    ValueError for a rate outside 8 to 768 kHz, for no or more than six channels, or for samples that are no numbers.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
            raise ValueError(f"a sample rate of {rate_hz} Hz can't be measured; it must lie in 8000 to 768000")
        if channels not in _WEIGHTS:
            raise ValueError(f"{channels} channels can't be measured; 1 to 6 can, from mono to 5.1")
        self._rate, self._channels = rate_hz, channels
        self._weights = np.array(_WEIGHTS[channels])
        self._filter = BlockFilter((at_rate(SHELF_48K, rate_hz), at_rate(HIGH_PASS_48K, rate_hz)), channels)
        self._peak = TruePeak(channels)
        self._frames = 0
        self._step_sum = 0.0
        self._steps = 0
        self._recent: Samples = np.zeros(0)
        self._gating, self._short_term = array("d"), array("d")
        self._momentary_max = self._short_term_max = 0.0

    @property
    def momentary_lufs(self) -> float:
        """Loudness of the last 400 ms in whole steps of 10 ms; −inf before there are as many."""
        return self._last(MOMENTARY_STEPS)

    @property
    def short_term_lufs(self) -> float:
        """Loudness of the last 3 s in whole steps of 10 ms; −inf before there are as many."""
        return self._last(SHORT_TERM_STEPS)

    def update(self, block: ArrayLike) -> None:
        """Takes the next block: shape (frames, channels), or (frames,) of a mono recording, full scale being 1."""
        samples = np.asarray(block, dtype=np.float64)
        if samples.ndim == 1:
            samples = samples[:, np.newaxis]
        if samples.ndim != 2 or samples.shape[1] != self._channels:
            raise ValueError(f"a block of shape {samples.shape} has not the {self._channels} channels it began with")
        for start in range(0, samples.shape[0], CHUNK):
            self._take(np.ascontiguousarray(samples[start : start + CHUNK].T))

    def result(self) -> Loudness:
        """All figures of what has been taken in; the meter takes no more afterwards."""
        peak = self._peak.finish()
        return Loudness(
            _gated(np.array(self._gating)),
            _lufs(self._short_term_max),
            _lufs(self._momentary_max),
            _range(np.array(self._short_term)),
            float(20 * np.log10(peak)) if peak > 0 else -np.inf,
            self._frames / self._rate,
            _lufs_of(np.array(self._short_term)),
        )

    def _take(self, block: Samples) -> None:
        if not np.isfinite(block).all():
            at_s = self._frames / self._rate
            raise ValueError(f"there are samples that are no numbers, soon after {at_s:.0f} s")
        self._peak(block)
        filtered = self._filter(block)
        self._sum_steps(np.einsum("cn,cn,c->n", filtered, filtered, self._weights))

    def _sum_steps(self, power: Samples) -> None:
        """Sums power over steps of 10 ms, whose edges fall on the nearest sample, and looks at the windows they end."""
        start, stop = self._frames, self._frames + power.size
        self._frames = stop
        ended = (stop * STEPS_PER_S + self._rate // 2) // self._rate  # steps whose edge lies at or before `stop`
        steps = np.arange(self._steps + 1, ended + 2)
        edges = (steps * self._rate + STEPS_PER_S // 2) // STEPS_PER_S
        edges = edges[edges <= stop] - start
        if not edges.size:
            self._step_sum += float(power.sum())
            return
        pieces = np.split(power, edges)
        sums = np.array([piece.sum() for piece in pieces])
        sums[0] += self._step_sum
        self._step_sum = float(sums[-1])
        self._steps += edges.size
        self._look(sums[:-1])

    def _look(self, sums: Samples) -> None:
        """Follows momentary and short-term loudness over the steps that have just ended."""
        known = np.concatenate((self._recent, sums))
        self._recent = known[-SHORT_TERM_STEPS:]
        first = self._steps - sums.size + 1  # number of the first new step, from 1
        every_100_ms = np.arange(first, self._steps + 1) % GATING_STEPS == 0
        momentary = self._windows(known, MOMENTARY_STEPS, sums.size)
        short_term = self._windows(known, SHORT_TERM_STEPS, sums.size)
        self._momentary_max = max(self._momentary_max, momentary.max(initial=0.0))
        self._short_term_max = max(self._short_term_max, short_term.max(initial=0.0))
        self._gating.extend(momentary[every_100_ms[sums.size - momentary.size :]])
        self._short_term.extend(short_term[every_100_ms[sums.size - short_term.size :]])

    def _windows(self, known: Samples, steps: int, new: int) -> Samples:
        """Mean power of the full windows that end with one of the `new` last steps."""
        tail = known[-(new + steps - 1) :]
        if tail.size < steps:
            return np.zeros(0)
        sums: Samples = np.lib.stride_tricks.sliding_window_view(tail, steps).sum(axis=1)
        return sums * (STEPS_PER_S / (steps * self._rate))

    def _last(self, steps: int) -> float:
        if self._recent.size < steps:
            return -float("inf")
        return _lufs(float(self._recent[-steps:].sum()) * STEPS_PER_S / (steps * self._rate))


def measure(blocks: Iterable[ArrayLike], rate_hz: int, channels: int) -> Loudness:
    """Loudness of a recording that comes in blocks of shape (frames, channels); ValueError as for Meter."""
    meter = Meter(rate_hz, channels)
    for block in blocks:
        meter.update(block)
    return meter.result()


def _lufs(power: float) -> float:
    return OFFSET_DB + 10 * float(np.log10(power)) if power > 0 else -float("inf")


def _lufs_of(powers: Samples) -> Samples:
    with np.errstate(divide="ignore"):
        return OFFSET_DB + 10 * np.log10(powers)


def _power(lufs: float) -> float:
    return float(10 ** ((lufs - OFFSET_DB) / 10))


def _gated(powers: Samples) -> float:
    """Integrated loudness of gating blocks: those over −70 LUFS, then those over 10 LU below these (BS.1770)."""
    loud = powers[powers > _power(ABSOLUTE_GATE_LUFS)]
    if not loud.size:
        return -float("inf")
    gate = float(loud.mean()) * 10 ** (INTEGRATED_GATE_LU / 10)
    return _lufs(float(loud[loud > gate].mean()))


def _range(powers: Samples) -> float | None:
    """Loudness range in LU of short-term powers: 10th to 95th percentile of those over both gates (Tech 3342)."""
    loud = powers[powers >= _power(ABSOLUTE_GATE_LUFS)]
    if not loud.size:
        return None
    gate = float(loud.mean()) * 10 ** (RANGE_GATE_LU / 10)
    levels = np.sort(_lufs_of(loud[loud >= gate]))
    low, high = (float(levels[round((levels.size - 1) * percent / 100)]) for percent in RANGE_PERCENTILES)
    return high - low
