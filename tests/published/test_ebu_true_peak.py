"""True peak against the test signals of EBU Tech 3341 (2023), Table 1, cases 15 to 23; read as quoted by others."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import firwin, lfilter

from showrunner.levels.loudness import measure

RATES = (44100, 48000, 96000)


def faded(signal: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """Signal with 10 ms of fade at both ends."""
    ramp = np.minimum(1, np.arange(1, signal.size + 1) / (0.01 * rate))
    return signal * ramp * ramp[::-1]


def true_peak(signal: NDArray[np.float64], rate: int) -> float:
    return measure([np.stack([signal, signal], axis=1)], rate, 2).true_peak_dbtp


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize(
    ("divisor", "phase_deg", "amplitude", "dbtp"),
    [
        (4, 0, 0.5, -6),  # case 15
        (4, 45, 0.5, -6),  # case 16
        (6, 60, 0.5, -6),  # case 17
        (8, 67.5, 0.5, -6),  # case 18
        (4, 45, 1.41, 3),  # case 19
    ],
)
def test_a_peak_between_samples_is_found(
    rate: int, divisor: int, phase_deg: float, amplitude: float, dbtp: float
) -> None:
    sine = amplitude * np.sin(2 * np.pi * np.arange(rate) / divisor + np.radians(phase_deg))
    assert dbtp - 0.4 <= true_peak(faded(sine, rate), rate) <= dbtp + 0.2


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("offset", range(4))
def test_a_single_period_at_full_scale_is_found_whatever_its_offset(rate: int, offset: int) -> None:
    # Cases 20 to 23: fs/6 at 0.50 with one period of fs/4 at 1.00, made at 4·fs, low-passed and sampled at four offsets
    carrier = 0.5 * np.sin(2 * np.pi * np.arange(24 * 1000) / 24)
    burst = np.sin(2 * np.pi * np.arange(16) / 16)
    fine = faded(np.concatenate([carrier, burst, carrier]), 4 * rate)
    low_passed = lfilter(firwin(511, 0.5, fs=4, window=("kaiser", 9)), 1, fine)
    assert -0.4 <= true_peak(low_passed[offset::4], rate) <= 0.2
