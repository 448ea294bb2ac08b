"""The meter: blocks of any size, recordings too short or silent, and agreement with others."""

import math
import tracemalloc

import numpy as np
import pyloudnorm
import pytest
from numpy.typing import NDArray
from scipy.signal import resample, resample_poly

from showrunner.levels.loudness import Loudness, Meter, measure

Samples = NDArray[np.float64]
RATES = [44100, 48000, 96000]
CHANNELS = [1, 2]


def made(kind: str, rate: int, channels: int) -> Samples:
    """Five seconds of noise, tones or bursts, different in each channel."""
    t = np.arange(5 * rate) / rate
    rng = np.random.default_rng(11)
    tones = np.stack([0.3 * np.sin(2 * np.pi * hz * t) for hz in (220, 3500)[:channels]], axis=1)
    if kind == "tones":
        return tones
    noise = 0.1 * rng.standard_normal((t.size, channels))
    if kind == "noise":
        return noise * (0.2 + t / 5)[:, np.newaxis]
    return tones * ((t % 1.7) < 0.5)[:, np.newaxis] + 0.001 * noise


def of(signal: Samples, rate: int = 48000) -> Loudness:
    return measure([signal], rate, signal.shape[1])


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("channels", CHANNELS)
@pytest.mark.parametrize("kind", ["noise", "tones", "bursts"])
def test_integrated_loudness_agrees_with_another_library(kind: str, rate: int, channels: int) -> None:
    signal = made(kind, rate, channels)
    other = pyloudnorm.Meter(rate, filter_class="DeMan").integrated_loudness(signal)
    assert of(signal, rate).integrated_lufs == pytest.approx(other, abs=0.05)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("channels", CHANNELS)
def test_momentary_and_short_term_agree_with_another_library(rate: int, channels: int) -> None:
    signal = made("bursts", rate, channels)
    meter, momentary, short_term = Meter(rate, channels), [], []
    for start in range(0, signal.shape[0], rate // 10):
        meter.update(signal[start : start + rate // 10])
        momentary.append(meter.momentary_lufs)
        short_term.append(meter.short_term_lufs)
    for ours, length_s in ((momentary, 0.4), (short_term, 3.0)):
        other = pyloudnorm.Meter(rate, filter_class="DeMan", block_size=length_s, overlap=1 - 0.1 / length_s)
        other.integrated_loudness(signal)
        assert ours[round(length_s * 10) - 1 :] == pytest.approx(other.blockwise_loudness, abs=0.05)


@pytest.mark.parametrize("kind", ["noise", "tones"])
def test_range_agrees_with_another_library(kind: str) -> None:
    signal = np.concatenate([gain * made(kind, 48000, 2) for gain in (0.15, 0.3, 0.3, 1.0, 1.0, 0.3, 0.6, 0.15)])
    other = pyloudnorm.Meter(48000, filter_class="DeMan").loudness_range(signal)
    with_its_silence = np.concatenate([signal, np.zeros((72000, 2))])  # that library adds 1.5 s before it measures
    assert of(with_its_silence).range_lu == pytest.approx(other, abs=0.1)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("channels", CHANNELS)
@pytest.mark.parametrize("kind", ["noise", "tones", "bursts"])
def test_true_peak_agrees_with_a_far_finer_oversampling(kind: str, rate: int, channels: int) -> None:
    band_limited = resample_poly(made(kind, rate, channels)[: rate // 2], 5, 4)  # nothing over 0.4 of the rate
    signal = band_limited * np.hanning(len(band_limited))[:, np.newaxis]
    finer = np.abs(resample(signal, 32 * len(signal))).max()
    assert of(signal, rate).true_peak_dbtp == pytest.approx(20 * np.log10(finer), abs=0.12)


@pytest.mark.parametrize("rate", [48000, 44100, 22050, 11025])
def test_blocks_of_any_size_give_the_same_figures(rate: int) -> None:
    signal = made("noise", rate, 2)
    whole = of(signal, rate)
    sizes = np.random.default_rng(3).integers(1, 3000, 400)
    parts = measure(np.split(signal, np.minimum(np.cumsum(sizes), len(signal))), rate, 2)
    assert parts[:6] == pytest.approx(whole[:6], abs=1e-6)
    assert parts.short_term_lufs == pytest.approx(whole.short_term_lufs, abs=1e-6)


def test_twice_the_amplitude_is_six_decibels_in_every_figure_and_no_more_range() -> None:
    signal = made("noise", 48000, 2)
    quiet, loud = of(signal), of(2 * signal)
    moved = np.subtract(loud[:5], quiet[:5])
    assert moved == pytest.approx([6.0206, 6.0206, 6.0206, 0, 6.0206], abs=1e-3)


def test_the_true_peak_is_never_below_the_largest_sample() -> None:
    click = np.zeros((48000, 1))
    click[31234] = -0.5
    assert of(click).true_peak_dbtp == pytest.approx(20 * math.log10(0.5), abs=1e-6)


def test_a_peak_on_the_last_sample_counts() -> None:
    signal = np.zeros((4800, 1))
    signal[-2:] = 0.5
    assert of(signal).true_peak_dbtp > 20 * math.log10(0.5) + 1


def test_silence_has_no_loudness() -> None:
    found = of(np.zeros((48000 * 4, 2)))
    assert found.integrated_lufs == found.short_term_max_lufs == found.true_peak_dbtp == -math.inf
    assert found.range_lu is None


def test_a_recording_shorter_than_a_window_has_none_of_its_figures() -> None:
    found = of(made("noise", 48000, 1)[: 48000 // 3])
    assert found.momentary_max_lufs == found.integrated_lufs == -math.inf
    assert found.true_peak_dbtp > -40


def test_nothing_at_all_is_silence() -> None:
    assert measure([], 48000, 2).true_peak_dbtp == -math.inf


def test_the_plot_has_ten_values_a_second_from_the_third_on() -> None:
    assert of(made("noise", 48000, 1)).short_term_lufs.size == 21


def test_memory_does_not_grow_with_the_recording_beyond_two_numbers_a_tenth_of_a_second() -> None:
    block = np.random.default_rng(5).standard_normal((8000, 1)) * 0.1
    meter = Meter(8000, 1)
    for _ in range(20):
        meter.update(block)
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    for _ in range(90):
        meter.update(block)
    grown = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    assert grown < 2 * 10 * 8 * 90 + 10_000


@pytest.mark.parametrize("rate", [0, 7999, 1_000_000])
def test_a_rate_nothing_is_recorded_at_is_refused(rate: int) -> None:
    with pytest.raises(ValueError, match="sample rate"):
        Meter(rate, 2)


@pytest.mark.parametrize("channels", [0, 7])
def test_more_channels_than_five_and_one_are_refused(channels: int) -> None:
    with pytest.raises(ValueError, match="1 to 6"):
        Meter(48000, channels)


def test_a_block_with_other_channels_is_refused() -> None:
    with pytest.raises(ValueError, match="channels"):
        Meter(48000, 2).update(np.zeros((100, 1)))


def test_samples_that_are_no_numbers_are_refused_with_their_place() -> None:
    meter = Meter(48000, 1)
    meter.update(np.zeros(3 * 48000))
    with pytest.raises(ValueError, match="soon after 3 s"):
        meter.update([0.0, math.nan])
