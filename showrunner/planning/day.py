"""A day sheet: from the first note back to the load-in, and on to the pack-down."""

from collections.abc import Iterator
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.planning.lineup import WALK_OFF_S
from showrunner.planning.timing import RunningTime

LOAD_IN_MIN = 30
SET_UP_MIN = 45
LINE_CHECK_MIN = 15
SOUNDCHECK_MIN = 30
DOORS_MIN = 60
LAST_MIN = 15
PACK_DOWN_MIN = 45
"""Minutes of each part of the day; our own figures, no source. The venue's own times come first."""

_BEFORE = (
    ("load-in", LOAD_IN_MIN),
    ("set up", SET_UP_MIN),
    ("line check", LINE_CHECK_MIN),
    ("soundcheck", SOUNDCHECK_MIN),
    ("doors", DOORS_MIN),
    ("tune, last checks", LAST_MIN),
)

_CHECKLISTS = {"load-in": "arrival", "line check": "soundcheck", "tune, last checks": "doors", "pack-down": "after"}
"""A word in a checklist's `when` that puts it in a part of the day."""


LAST_NOTE, CURFEW = "walk off", "curfew"
"""The parts of the day that begin with the last note, and with the time by which it has to be over."""


class Part(NamedTuple):
    """A part of the day: when, in minutes after the midnight that starts the date, what, and how long in minutes."""

    at: float
    what: str
    minutes: float
    checklists: tuple[str, ...] = ()


def day_sheet(book: Book, show: Show, time: RunningTime) -> tuple[Part, ...]:
    """Every part of the show's day in order; nothing for a show that has no start."""
    if show.start is None:
        return ()
    return tuple(sorted(_parts(book, show, time, show.start), key=lambda part: part.at))


def _parts(book: Book, show: Show, time: RunningTime, start: int) -> Iterator[Part]:
    at = float(start - sum(minutes for _, minutes in _BEFORE))
    for what, minutes in _BEFORE:
        yield Part(at, what, minutes, _checklists(book, show, what))
        at += minutes
    for part in time.sets:
        begins_s = part.songs[0].starts_s
        lasts_s = part.songs[-1].starts_s + part.songs[-1].expected_s - begins_s
        yield Part(start + begins_s / 60, part.title, lasts_s / 60)
        if part.songs[-1].pause_s:
            yield Part(start + (begins_s + lasts_s) / 60, "break", part.songs[-1].pause_s / 60)
    finish = start + time.expected_s / 60
    yield Part(finish, LAST_NOTE, WALK_OFF_S / 60)
    if time.curfew is not None:
        yield Part(time.curfew, CURFEW, 0)
    yield Part(finish + WALK_OFF_S / 60, "pack-down", PACK_DOWN_MIN, _checklists(book, show, "pack-down"))


def _checklists(book: Book, show: Show, what: str) -> tuple[str, ...]:
    word = _CHECKLISTS.get(what)
    known = ((slug, book.checklists.get(slug)) for slug in show.checklists)
    return tuple(slug for slug, the in known if word and the is not None and the.when is not None and word in the.when)
