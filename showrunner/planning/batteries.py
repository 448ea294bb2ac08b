"""Does each battery last: hours left in it against the hours a show asks of it.

Batteries with more energy than a guitar's cell want the care that their makers ask for; nothing here replaces it.
"""

from collections.abc import Mapping
from typing import NamedTuple

from showrunner.curves.laws import interpolate
from showrunner.model.library import Book
from showrunner.model.rig import Battery, Rig
from showrunner.model.show import Show
from showrunner.planning.timing import RunningTime
from showrunner.state.moments import prepare_song

USABLE = 0.7
"""Share of the rated capacity to count on; common practice, no source."""

MARGIN = 1.5
"""Below this many times the need, fit a fresh one; common practice, no source."""

SOUNDCHECK_H = 0.5
"""What a line check and a soundcheck take of a battery; our own figure, no source."""


class BatteryLife(NamedTuple):
    """One battery tonight, in hours: what a fresh one holds, what is used and left, what the show takes.

    `hours_needed` is the show and its soundcheck with the margin on top. `measured` is whether its load lies among
    the loads that its capacity was given for.
    """

    battery: str
    guitars: tuple[str, ...]
    fresh_h: float
    used_h: float
    show_h: float
    hours_needed: float
    measured: bool

    @property
    def hours_left(self) -> float:
        """What is left, never less than nothing."""
        return max(0.0, self.fresh_h - self.used_h)

    @property
    def enough(self) -> bool:
        """Whether it can stay in."""
        return self.hours_left >= self.hours_needed

    @property
    def fresh_is_enough(self) -> bool:
        """Whether a fresh one would do."""
        return self.fresh_h >= self.hours_needed


def battery_lives(
    book: Book, show: Show, rig: Rig, time: RunningTime, run_h: Mapping[str, float] | None = None
) -> tuple[BatteryLife, ...]:
    """Every battery of the rig; `run_h` is the hours by battery that runs since it was fitted have logged.

    A guitar's battery works while its guitar is in hand, and a spare's may have to work as long; one that no guitar
    carries works from the first note to the last. A guitar that is not played asks nothing.
    """
    hours = guitar_hours(book, show, rig, time)
    used = run_h or {}
    return tuple(_life(name, battery, rig, hours, time, used.get(name, 0.0)) for name, battery in rig.batteries.items())


def guitar_hours(book: Book, show: Show, rig: Rig, time: RunningTime) -> dict[str, float]:
    """Hours each guitar is in hand tonight: its songs, and the pauses after those that keep it."""
    songs = [song for part in time.sets for song in part.songs]
    held: dict[str, float] = {}
    in_hand = None
    for song in songs:
        guitar = prepare_song(book, song.song, rig, show).song.instrument or in_hand
        if guitar is not None:
            held[guitar] = held.get(guitar, 0.0) + (song.expected_s + song.pause_s) / 3600
        in_hand = guitar
    return held


def life_h(capacity_mah: float, load_ma: float) -> float:
    """Hours that a capacity in mAh feeds a steady load in mA."""
    return capacity_mah / load_ma


def capacity_at(battery: Battery) -> tuple[float, bool]:
    """Capacity at the battery's load, mAh, and whether it was given for such a load.

    Straight lines between pairs of load and capacity, flat beyond the first and the last.
    """
    if isinstance(battery.capacity_mah, int | float):
        return float(battery.capacity_mah), True
    loads, capacities = zip(*sorted(battery.capacity_mah), strict=True)
    return interpolate(loads, capacities, battery.load_ma), loads[0] <= battery.load_ma <= loads[-1]


def _life(
    name: str, battery: Battery, rig: Rig, hours: Mapping[str, float], time: RunningTime, run_h: float
) -> BatteryLife:
    capacity, measured = capacity_at(battery)
    guitars = tuple(guitar for guitar, the in rig.instruments.items() if the.battery == name)
    if guitars:
        spares_for = [other for other, the in rig.instruments.items() if the.spare in guitars and other not in guitars]
        show_h = sum(hours.get(guitar, 0.0) for guitar in (*guitars, *spares_for))
    else:
        show_h = time.expected_s / 3600
    needed = (show_h + SOUNDCHECK_H) * MARGIN if show_h > 0 else 0.0
    return BatteryLife(
        battery=name,
        guitars=guitars,
        fresh_h=life_h(capacity * USABLE, battery.load_ma),
        used_h=battery.used_h + run_h,
        show_h=show_h,
        hours_needed=needed,
        measured=measured,
    )
