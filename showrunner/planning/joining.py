"""The lines of a log on one time: by the clock of the run where they have it, by the time of day only in between."""

from collections.abc import Iterable
from typing import NamedTuple

BEGINS_ANEW_S = 1.0
"""A clock that stands this much before where it stood is another: the machine was started since."""
LONGEST_S = 12 * 3600
"""No clock goes on by more than this between two lines: a time of day that does, or goes back, was set, and no time
went by."""


class Stamp(NamedTuple):
    """When a line was written: by the time of day, Unix seconds, and by the clock of its run, s, None if not said.

    A line that begins a run, or goes on with one, says its name (`run`); those of older logs have none.
    """

    unix_s: float
    at_s: float | None = None
    begins: bool = False
    run: str | None = None


def joined(stamps: Iterable[Stamp]) -> list[float]:
    """Seconds for each line, which begin at the first one's Unix time and go on as the runs' clocks do."""
    found: list[float] = []
    day: tuple[float, float] | None = None
    clock: tuple[float, float] | None = None
    run: str | None = None
    for unix_s, at_s, begins, name in stamps:
        if begins and (name is None or name != run):
            clock, run = None, name
        if day is None:
            time_s = unix_s
        elif clock is not None and at_s is not None and -BEGINS_ANEW_S < at_s - clock[1] <= LONGEST_S:
            time_s = clock[0] + at_s - clock[1]
        else:
            gone_s = unix_s - day[1]
            time_s = day[0] + (gone_s if 0 <= gone_s <= LONGEST_S else 0.0)
        day = time_s, unix_s
        clock = clock if at_s is None else (time_s, at_s)
        found.append(round(time_s, 3))
    return found
