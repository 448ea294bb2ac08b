"""Sound in air: how fast it goes, and how late it arrives at the back of the room."""

import math

from showrunner.model.venue import Venue

ABSOLUTE_ZERO_C = -273.15
USUAL_C = 20.0
"""Air temperature where no visit tells one."""


def speed_of_sound_m_s(temperature_c: float) -> float:
    """Speed of sound in m/s at an air temperature in °C (ISO 9613-1: 343.2·√(T/293.15 K)); ValueError below −273.15."""
    if not temperature_c > ABSOLUTE_ZERO_C:
        raise ValueError(f"{temperature_c:g} °C is colder than anything can be")
    return 343.2 * math.sqrt((temperature_c - ABSOLUTE_ZERO_C) / 293.15)


def delay_ms(distance_m: float, temperature_c: float = USUAL_C) -> float:
    """Milliseconds that sound takes over a distance in m; ValueError for a negative distance."""
    if distance_m < 0:
        raise ValueError(f"{distance_m:g} m is no distance")
    return 1000 * distance_m / speed_of_sound_m_s(temperature_c)


def last_temperature_c(venue: Venue) -> float | None:
    """Air temperature of the latest visit that noted one, °C; None if none did."""
    told = [visit for visit in venue.visits if visit.temperature_c is not None]
    return max(reversed(told), key=lambda visit: visit.date).temperature_c if told else None
