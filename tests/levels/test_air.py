"""How late sound arrives."""

import pytest

from showrunner.levels.air import delay_ms, speed_of_sound_m_s


def test_the_back_of_a_room_hears_later_the_deeper_and_colder_it_is() -> None:
    assert delay_ms(34.32, 20) == pytest.approx(100)
    assert delay_ms(34.32, 0) > delay_ms(34.32, 20)


def test_no_distance_is_no_delay() -> None:
    assert delay_ms(0) == 0


def test_a_negative_distance_is_refused() -> None:
    with pytest.raises(ValueError, match="no distance"):
        delay_ms(-1)


def test_a_temperature_below_absolute_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="colder"):
        speed_of_sound_m_s(-273.15)
