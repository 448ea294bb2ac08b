"""The speed of sound against ISO 9613-1:1993, as quoted by others."""

import pytest

from showrunner.levels.air import speed_of_sound_m_s


@pytest.mark.parametrize(
    ("temperature_c", "m_s"), [(0, 331.29), (20, 343.20), (30, 349.00)]
)  # ISO 9613-1:1993, c = 343.2·√(T/293.15 K)
def test_sound_is_as_fast_as_the_standard_says(temperature_c: float, m_s: float) -> None:
    assert speed_of_sound_m_s(temperature_c) == pytest.approx(m_s, abs=6e-3)
