"""Loudness and range against ITU-R BS.1770 and the test signals of EBU Tech 3341 (2023) and Tech 3342.

Cases 7 and 8 of Tech 3341, and 5 and 6 of Tech 3342, are recordings and can't be made here. Tables read as quoted by
others.
"""

from itertools import chain

import numpy as np
import pytest
from numpy.typing import NDArray

from showrunner.levels.kweighting import HIGH_PASS_48K, SHELF_48K, Biquad, at_rate
from showrunner.levels.loudness import Loudness, Meter, measure

RATE = 48000
Samples = NDArray[np.float64]


def tones(*parts: tuple[float, float | None], rate: int = RATE) -> Samples:
    """1 kHz in phase in left and right: (seconds, peak in dBFS or None for silence) in turn, without a break."""
    gains = np.concatenate(
        [np.full(round(seconds * rate), 0.0 if dbfs is None else 10 ** (dbfs / 20)) for seconds, dbfs in parts]
    )
    tone = gains * np.sin(2 * np.pi * 1000 * np.arange(gains.size) / rate)
    return np.stack([tone, tone], axis=1)


def of(signal: Samples, rate: int = RATE) -> Loudness:
    return measure([signal], rate, signal.shape[1])


def readings(signal: Samples, every_s: float) -> tuple[list[float], list[float]]:
    """Momentary and short-term loudness read again and again while the signal runs."""
    meter, step = Meter(RATE, signal.shape[1]), round(every_s * RATE)
    momentary, short_term = [], []
    for start in range(0, signal.shape[0], step):
        meter.update(signal[start : start + step])
        momentary.append(meter.momentary_lufs)
        short_term.append(meter.short_term_lufs)
    return momentary, short_term


def test_a_full_scale_sine_in_one_channel_reads_minus_3_01() -> None:  # ITU-R BS.1770: 997 Hz, 0 dBFS, −3.01 LKFS
    sine = np.sin(2 * np.pi * 997 * np.arange(10 * RATE) / RATE)
    left_only = np.stack([sine, np.zeros_like(sine)], axis=1)
    assert of(left_only).integrated_lufs == pytest.approx(-3.01, abs=0.005)
    assert of(sine[:, np.newaxis]).integrated_lufs == pytest.approx(-3.01, abs=0.005)


@pytest.mark.parametrize("section", [SHELF_48K, HIGH_PASS_48K])
def test_the_filters_at_48_khz_are_the_printed_ones(section: Biquad) -> None:  # ITU-R BS.1770, Tables 1 and 2
    assert at_rate(section, 48000) == pytest.approx(section, abs=1e-14)


def test_a_calibration_tone_at_minus_18_reads_minus_18() -> None:  # EBU Tech 3341 §2.9
    assert of(tones((5, -18))).integrated_lufs == pytest.approx(-18, abs=0.1)


@pytest.mark.parametrize("dbfs", [-23.0, -33.0])  # EBU Tech 3341 Table 1, cases 1 and 2
def test_a_steady_tone_reads_its_level_in_all_three_times(dbfs: float) -> None:
    found = of(tones((20, dbfs)))
    for figure in (found.integrated_lufs, found.short_term_max_lufs, found.momentary_max_lufs):
        assert figure == pytest.approx(dbfs, abs=0.1)


@pytest.mark.parametrize(
    "parts",
    [
        [(10, -36.0), (60, -23.0), (10, -36.0)],  # EBU Tech 3341 Table 1, case 3
        [(10, -72.0), (10, -36.0), (60, -23.0), (10, -36.0), (10, -72.0)],  # case 4
        [(20, -26.0), (20.1, -20.0), (20, -26.0)],  # case 5
    ],
)
def test_quiet_parts_are_gated_out(parts: list[tuple[float, float | None]]) -> None:
    assert of(tones(*parts)).integrated_lufs == pytest.approx(-23, abs=0.1)


@pytest.mark.parametrize("channels", [5, 6])
def test_surround_channels_weigh_more_and_the_low_effects_nothing(channels: int) -> None:
    # EBU Tech 3341 Table 1, case 6: L, R −28, C −24, Ls, Rs −30 dBFS; with a sixth channel, the LFE, in its place
    tone = np.sin(2 * np.pi * 1000 * np.arange(20 * RATE) / RATE)
    levels = [-28, -28, -24, -30, -30] if channels == 5 else [-28, -28, -24, 0, -30, -30]
    signal = np.stack([10 ** (level / 20) * tone for level in levels], axis=1)
    assert of(signal).integrated_lufs == pytest.approx(-23, abs=0.1)


def test_short_term_loudness_is_constant_after_three_seconds() -> None:  # EBU Tech 3341 Table 1, case 9
    signal = tones(*[(1.34, -20.0), (1.66, -30.0)] * 5)
    short_term = readings(signal, 0.1)[1]
    assert short_term[29:] == pytest.approx([-23] * len(short_term[29:]), abs=0.1)


@pytest.mark.parametrize("i", range(20))
def test_the_short_term_maximum_is_found_wherever_it_starts(i: int) -> None:  # EBU Tech 3341 Table 1, case 10
    signal = tones((i * 0.15, None), (3, -23.0), (1, None))
    assert of(signal).short_term_max_lufs == pytest.approx(-23, abs=0.1)


def test_short_term_maxima_follow_one_another() -> None:  # EBU Tech 3341 Table 1, case 11
    parts = [[(i * 0.15, None), (3, -38.0 + i), (3 - i * 0.15, None)] for i in range(20)]
    short_term = readings(tones(*chain.from_iterable(parts)), 0.15)[1]
    maxima = [max(short_term[: 40 * (i + 1)]) for i in range(20)]
    assert maxima == pytest.approx([-38 + i for i in range(20)], abs=0.1)


def test_momentary_loudness_is_constant_after_a_second() -> None:  # EBU Tech 3341 Table 1, case 12
    momentary = readings(tones(*[(0.18, -20.0), (0.22, -30.0)] * 25), 0.01)[0]
    assert momentary[99:] == pytest.approx([-23] * len(momentary[99:]), abs=0.1)


@pytest.mark.parametrize("i", range(20))
def test_the_momentary_maximum_is_found_wherever_it_starts(i: int) -> None:  # EBU Tech 3341 Table 1, case 13
    signal = tones((i * 0.02, None), (0.4, -23.0), (1, None))
    assert of(signal).momentary_max_lufs == pytest.approx(-23, abs=0.1)


def test_momentary_maxima_follow_one_another() -> None:  # EBU Tech 3341 Table 1, case 14
    parts = [[(i * 0.02, None), (0.4, -38.0 + i), (0.4 - i * 0.02, None)] for i in range(20)]
    momentary = readings(tones(*chain.from_iterable(parts)), 0.01)[0]
    maxima = [max(momentary[: 80 * (i + 1)]) for i in range(20)]
    assert maxima == pytest.approx([-38 + i for i in range(20)], abs=0.1)


@pytest.mark.parametrize(
    ("levels", "range_lu"),
    [
        ([-20, -30], 10),  # EBU Tech 3342 Table 1, case 1
        ([-20, -15], 5),  # case 2
        ([-40, -20], 20),  # case 3
        ([-50, -35, -20, -35, -50], 15),  # case 4
    ],
)
def test_the_range_is_that_of_the_tones(levels: list[float], range_lu: float) -> None:
    assert of(tones(*[(20.0, level) for level in levels])).range_lu == pytest.approx(range_lu, abs=1)
