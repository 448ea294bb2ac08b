"""What a night leaves in the book when it is closed: lengths of songs, hours of batteries, the venue's visit."""

import datetime
from collections.abc import Collection, Mapping, Sequence
from statistics import median
from typing import NamedTuple

from showrunner.levels.kept import as_ended, moved
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.venue import RoomTrims, Venue, Visit
from showrunner.planning.evidence import whole
from showrunner.planning.night import Night, TrimPlayed

LEAST_H = 0.005
"""Hours that are written to two decimals and would be none."""


class SongLength(NamedTuple):
    """A song's length as written, as played that night, and its median over the `nights` it was played whole, in s.

    `why_not` says why the played time is not offered to be taken; empty where it is.
    """

    song: str
    written_s: int
    played_s: int | None
    median_s: int | None
    nights: int
    why_not: str = ""


class BatteryUse(NamedTuple):
    """Hours on a battery that the night adds to those written in the rig."""

    battery: str
    guitars: tuple[str, ...]
    written_h: float
    hours: float

    @property
    def after_h(self) -> float:
        """What the rig says afterwards."""
        return round(self.written_h + self.hours, 2)


class ToFile(NamedTuple):
    """What closing a night can write; `no_visit` says why there is no visit to file, empty where there is one."""

    songs: tuple[SongLength, ...]
    rig: str | None
    batteries: tuple[BatteryUse, ...]
    venue: str | None
    visit: Visit | None
    no_visit: str = ""


class Chosen(NamedTuple):
    """What of it the player wants: songs that take the time they were played, batteries, and whether the visit."""

    songs: frozenset[str] = frozenset()
    batteries: frozenset[str] = frozenset()
    visit: bool = True


def usual(found: ToFile, songs: Collection[str] = ()) -> Chosen:
    """These songs, every battery, and the visit if there is one."""
    return Chosen(frozenset(songs), frozenset(use.battery for use in found.batteries), found.visit is not None)


def song_lengths(book: Book, show: Show, night: Night, played: Mapping[str, Sequence[float]]) -> tuple[SongLength, ...]:
    """Each song of a night; `played` seconds by song over all runs, this one with them."""
    return tuple(
        _length(book, show, song.song, song.lasted_s, played.get(song.song, ()))
        for song in night.songs
        if song.song in book.songs
    )


def battery_use(
    rig: Rig, held_h: Mapping[str, float], show_h: float, date: datetime.date | None
) -> tuple[BatteryUse, ...]:
    """Hours by battery: those that its guitars were in hand, of one that no guitar carries the whole show.

    A battery that was fitted after the date, None if not known, was not in.
    """
    uses = []
    for name, battery in rig.batteries.items():
        guitars = tuple(guitar for guitar, the in rig.instruments.items() if the.battery == name)
        hours = sum(held_h.get(guitar, 0.0) for guitar in guitars) if guitars else show_h
        was_in = battery.fitted is None or date is None or date >= battery.fitted
        if was_in and hours >= LEAST_H:
            uses.append(BatteryUse(name, guitars, battery.used_h, hours))
    return tuple(uses)


def trims_as_ended(venue: Venue, show: Show, moved_on_the_way: Sequence[TrimPlayed] = ()) -> RoomTrims:
    """What the room needed: its own trims with tonight's on top, as they were left after any moves in the show."""
    return as_ended(venue, moved(show, [(one.trim, one.after) for one in moved_on_the_way]))


def visit_of(venue: Venue, show: Show, slug: str, date: datetime.date, trims: Sequence[TrimPlayed] = ()) -> Visit:
    """The night as a visit of its venue, with the trims as they ended."""
    return Visit(date=date, show=slug, trims=trims_as_ended(venue, show, trims))


def is_filed(venue: Venue, slug: str, date: datetime.date, apart: int = 0) -> bool:
    """Whether the venue has this night among its visits, but for `apart` of them, other performances on that date."""
    return sum(visit.date == date and visit.show in (None, slug) for visit in venue.visits) > apart


def visit_to_file(
    book: Book, slug: str, date: datetime.date | None, trims: Sequence[TrimPlayed], apart: int = 0
) -> tuple[Visit | None, str]:
    """The visit that a performance on a date leaves, or None and why there is none; `trims` as they were moved in it.

    `apart` is how many visits other performances on that date have filed.
    """
    show = book.shows[slug]
    venue = book.venues.get(show.venue or "")
    if venue is None:
        return None, "the show names no venue" if show.venue is None else f"the venue {show.venue} is not in the book"
    if date is None:
        return None, "the run has no date"
    if show.date is not None and show.date != date:
        return None, f"this run was on {date}, and the show is there on {show.date}"
    if is_filed(venue, slug, date, apart):
        return None, f"a visit on {date} is filed already"
    return visit_of(venue, show, slug, date, trims), ""


def _length(book: Book, show: Show, slug: str, lasted_s: float | None, played_s: Sequence[float]) -> SongLength:
    song, tonight = book.songs[slug], show.tonight.get(slug)
    played = None if lasted_s is None else round(lasted_s)
    why = ""
    if played is None:
        why = "it was not left"
    elif any(cue.open for cue in song.cues):
        why = "it is as long as it lasts"
    elif tonight is not None and tonight.duration is not None:
        why = "it had a length of its own tonight"
    elif not whole([played], song.duration):
        why = "it was broken off or far too long"
    elif played == song.duration:
        why = "it was as long as written"
    lengths = whole(played_s, song.duration)
    middle = round(median(lengths)) if lengths else None
    return SongLength(slug, song.duration, played, middle, len(lengths), why)
