"""The time of day as a show counts it: minutes after the midnight that starts its date, into the night after.

They are counted on through a change to summer time or back, so that a minute is as long as any other; what is written
and what is shown are times of the clock on the wall.
"""

import datetime
from typing import TypeGuard

DAY_BEGINS_MIN = 6 * 60
"""A show's day is from six to six, as the clock on the wall has it; nowhere is the clock put forward or back at six."""


def minutes_of(date: datetime.date | None, unix_s: float) -> float | None:
    """Minutes after the midnight that starts the date, by the machine's own zone; None on another day, or no date."""
    if not _counts(date):
        return None
    begins_s, ends_s = _begins_s(date), _begins_s(date + datetime.timedelta(days=1))
    return DAY_BEGINS_MIN + (unix_s - begins_s) / 60 if begins_s <= unix_s < ends_s else None


def counted(date: datetime.date | None, clock_min: int | None) -> int | None:
    """Those minutes at a time of the clock on the wall, the first where there are two; as it is without a date."""
    if not _counts(date) or clock_min is None:
        return clock_min
    at = datetime.datetime.combine(date, datetime.time()) + datetime.timedelta(minutes=clock_min)
    return round(DAY_BEGINS_MIN + (at.timestamp() - _begins_s(date)) / 60)


def clock(date: datetime.date | None, minutes: float) -> float:
    """What the clock on the wall shows, in minutes after that midnight; as it is without a date."""
    if not _counts(date):
        return minutes
    at = datetime.datetime.fromtimestamp(_begins_s(date) + (minutes - DAY_BEGINS_MIN) * 60)
    return (at - datetime.datetime.combine(date, datetime.time())).total_seconds() / 60


def _counts(date: datetime.date | None) -> TypeGuard[datetime.date]:
    """Whether there is a date, and a clock that shows it: systems can't tell the times of the first and last years."""
    return date is not None and 1970 < date.year < datetime.MAXYEAR - 1


def _begins_s(date: datetime.date) -> float:
    """When a show's day begins, Unix seconds."""
    return datetime.datetime.combine(date, datetime.time(DAY_BEGINS_MIN // 60)).timestamp()
