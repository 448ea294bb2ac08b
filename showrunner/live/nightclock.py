"""The time of day as a show counts it: minutes after the midnight that starts its date, into the night after."""

import datetime

DAY_BEGINS_MIN, DAY_ENDS_MIN = 6 * 60, 30 * 60
"""A show's day, from six to six."""


def minutes_of(date: datetime.date | None, unix_s: float) -> float | None:
    """Minutes after the midnight that starts the date, by the machine's own zone; None on another day, or no date."""
    if date is None:
        return None
    now = datetime.datetime.fromtimestamp(unix_s)
    minutes = (now - datetime.datetime.combine(date, datetime.time())).total_seconds() / 60
    return minutes if DAY_BEGINS_MIN <= minutes < DAY_ENDS_MIN else None
