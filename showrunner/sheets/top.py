"""What stands at the head of every sheet: the night, the room, the times and the limit."""

from typing import NamedTuple

from showrunner.levels.air import USUAL_C, delay_ms, last_temperature_c
from showrunner.model.cautions import SOUND_LIMIT
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.units import format_clock, format_clocks, format_length
from showrunner.model.venue import Venue
from showrunner.sheets.words import joined, with_unit


class Top(NamedTuple):
    """A sheet's head; empty where the book doesn't say.

    `night` is date, venue and rig in one, `times` start, finish, slot and curfew. `last_time` is the note of the
    latest visit to the venue; `back_wall` says how late sound is there, at that visit's temperature.
    """

    show: str
    date: str
    venue: str
    rig: str
    night: str
    times: str
    start: str
    finish: str
    curfew: str
    slot: str
    sound_limit: str
    back_wall: str
    caution: str
    last_time: str


def top(book: Book, show: Show, rig: Rig, finish: float | None = None) -> Top:
    """The head of a show's sheets; `finish` in minutes after the midnight that starts the date."""
    venue = book.venues.get(show.venue) if show.venue is not None else None
    date = "" if show.date is None else show.date.isoformat()
    room = venue.title if venue is not None else show.venue or ""
    start, slot = _clock(show.start), "" if show.slot is None else format_length(show.slot)
    ends, curfew = clocks(finish, venue.curfew if venue is not None else None)
    times = (("start ", start), ("finish about ", ends), ("slot ", slot), ("curfew ", curfew))
    return Top(
        show=show.title,
        date=date,
        venue=room,
        rig=rig.title,
        night=joined(date, room, rig.title),
        times=joined(*(word + time for word, time in times if time)),
        start=start,
        finish=ends,
        curfew=curfew,
        slot=slot,
        sound_limit=_limit(venue),
        back_wall=_back_wall(venue),
        caution=SOUND_LIMIT,
        last_time=_last_time(venue),
    )


def _clock(minutes: float | None) -> str:
    return "" if minutes is None else format_clock(minutes)


def clocks(one: float | None, other: float | None) -> tuple[str, str]:
    """Two clock times that are compared; empty where one is not known."""
    if one is None or other is None:
        return _clock(one), _clock(other)
    first, second = format_clocks(one, other)
    return first, second


def _limit(venue: Venue | None) -> str:
    limit = venue.sound_limit if venue is not None else None
    return "" if limit is None else f"{with_unit(limit.laeq_db, 'dB(A)')} averaged over {format_length(limit.over)}"


def _back_wall(venue: Venue | None) -> str:
    if venue is None or venue.depth_m is None:
        return ""
    degrees = last_temperature_c(venue)
    late = round(delay_ms(venue.depth_m, USUAL_C if degrees is None else degrees))
    at = f"{USUAL_C:g} °C" if degrees is None else f"{degrees:g} °C, as last time"
    return f"{late} ms to the back wall, {venue.depth_m:g} m at {at}"


def _last_time(venue: Venue | None) -> str:
    told = [visit for visit in (venue.visits if venue is not None else ()) if visit.note]
    if not told:
        return ""
    latest = max(told, key=lambda visit: visit.date)
    return f"{latest.date.isoformat()}: {latest.note}"
