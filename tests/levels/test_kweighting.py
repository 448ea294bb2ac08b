"""The block filter against a sample-by-sample one."""

import numpy as np
import pytest
from scipy.signal import lfilter

from showrunner.levels.kweighting import HIGH_PASS_48K, ROW, SHELF_48K, BlockFilter, at_rate

SECTIONS = (SHELF_48K, HIGH_PASS_48K)


@pytest.mark.parametrize("rate", [44100, 48000, 96000])
def test_filtering_in_rows_equals_filtering_sample_by_sample(rate: int) -> None:  # reference: scipy.signal.lfilter
    sections = tuple(at_rate(section, rate) for section in SECTIONS)
    noise = np.random.default_rng(7).standard_normal((2, 5 * rate))
    expected = noise
    for section in sections:
        expected = lfilter(section[:3], (1.0, *section[3:]), expected, axis=1)
    assert np.abs(BlockFilter(sections, 2)(noise) - expected).max() < 1e-11


def test_blocks_of_any_length_give_what_one_block_gives() -> None:
    noise = np.random.default_rng(8).standard_normal((2, 40 * ROW + 5))
    cuts = [1, 2, ROW - 1, ROW, ROW + 1, 3 * ROW, 17 * ROW + 60, 17 * ROW + 60, 39 * ROW]
    pieces = BlockFilter(SECTIONS, 2)
    joined = np.concatenate([pieces(part) for part in np.split(noise, cuts, axis=1)], axis=1)
    assert joined == pytest.approx(BlockFilter(SECTIONS, 2)(noise), abs=1e-12)


@pytest.mark.parametrize("rate", [44100, 96000])
@pytest.mark.parametrize("hz", [50, 200, 1000, 1682, 4000])
def test_the_response_at_another_rate_is_that_at_48_khz(rate: int, hz: float) -> None:
    # ITU-R BS.1770: at other rates the filters are chosen to give the same frequency response
    def gain_db(at: float) -> float:
        z = np.exp(-2j * np.pi * hz / at)
        total = 0.0
        for b0, b1, b2, a1, a2 in (at_rate(section, at) for section in SECTIONS):
            total += 20 * np.log10(abs((b0 + b1 * z + b2 * z**2) / (1 + a1 * z + a2 * z**2)))
        return total

    assert gain_db(rate) == pytest.approx(gain_db(48000), abs=0.05)
