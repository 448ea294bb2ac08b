"""Closes a night, one performance of a show: files what it left in the book, once, and takes it back."""

import datetime
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from showrunner.book.filing import FiledFile, Filing, edited, filed, half_done, make, settle, take_back, unreadable
from showrunner.book.problems import BookError
from showrunner.book.read import Reading
from showrunner.live.folder import where_run
from showrunner.live.link import running
from showrunner.live.runs import SAME_S, Before, Run, began_on
from showrunner.model.keys import KeyPath
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.units import format_length
from showrunner.model.venue import Visit
from showrunner.planning.closing import BatteryUse, Chosen, ToFile, battery_use, song_lengths, visit_to_file
from showrunner.planning.night import Night, performances
from showrunner.planning.performed import Mark, hours_in_hand
from showrunner.state.tonight import on_a_guitar, song_tonight

SUFFIX = ".closed.json"


class Closed(NamedTuple):
    """A night that was closed: when, what was filed, and the times of the first and last line that it counts.

    `songs` took the seconds they were played; `written_before` is what was written until then. `record` is the file
    that keeps it. One from before performances were closed apart has no first line and counts all of its date.
    """

    on: str
    songs: Mapping[str, int]
    written_before: Mapping[str, int]
    rig: str | None
    batteries: Mapping[str, float]
    visit: bool
    until_s: float
    files: tuple[str, ...]
    record: str
    from_s: float | None

    def covers(self, run: Run) -> str:
        """That it counts other performances of a run's date as well, in words; nothing where it counts only one."""
        return "every performance of that date until then" if self.from_s is None and run.of > 1 else ""

    def counts(self, run: Run) -> bool:
        """Whether it is this performance that was closed."""
        if self.from_s is None:
            return run.first_s <= self.until_s
        return abs(run.first_s - self.from_s) < SAME_S


def record_of(run: Run) -> str:
    """The file that keeps what closing a performance writes, relative to the book."""
    which = f".{run.number}" if run.number > 1 else ""
    return f"runs/{run.show}/{run.date}{which}{SUFFIX}"


def records(root: Path, run: Run) -> list[str]:
    """The files that keep what was closed on a run's date, relative to the book."""
    try:
        names = sorted(os.listdir(root / "runs" / run.show))
    except OSError:
        return []
    return [f"runs/{run.show}/{name}" for name in names if _which(name, run.date) is not None]


def _which(name: str, date: str) -> int | None:
    """The number of the performance of a date that a file is the record of; None where it is none."""
    which = name.removeprefix(date).removesuffix(SUFFIX)
    if f"{date}{which}{SUFFIX}" != name:
        return None
    return 1 if not which else int(which[1:]) if which[0] == "." and which[1:].isdecimal() else None


def closed(root: Path, run: Run) -> Closed | None:
    """What was filed of a performance, None where it is open; BookError where a record of its date can't be read."""
    return next((was for was in _all_closed(root, run) if was.counts(run)), None)


def _all_closed(root: Path, run: Run) -> Iterator[Closed]:
    """What was filed of each performance of a run's date."""
    for record in records(root, run):
        found = filed(root, record)
        if found is not None:
            yield _closed(root, record, found)


def _closed(root: Path, record: str, found: Filing) -> Closed:
    notes = found.notes
    try:
        return Closed(
            on=str(notes["on"]),
            songs={str(song): int(seconds) for song, seconds in notes["songs"].items()},
            written_before={str(song): int(seconds) for song, seconds in notes["written_before"].items()},
            rig=notes["rig"],
            batteries={str(name): float(hours) for name, hours in notes["batteries"].items()},
            visit=bool(notes["visit"]),
            until_s=float(notes["until_s"]),
            files=tuple(one.file for one in found.files),
            record=record,
            from_s=float(notes["from_s"]) if "from_s" in notes else None,
        )
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError):
        raise unreadable(root / record) from None


def as_planned(book: Book, was: Closed | None) -> Book:
    """The book with songs as long as they were written before that night was closed."""
    if was is None:
        return book
    songs = dict(book.songs)
    for slug, duration in was.written_before.items():
        if slug in songs:
            songs[slug] = songs[slug].model_copy(update={"duration": duration})
    return book._replace(songs=songs)


def battery_uses(run: Run, book: Book, rig: Rig) -> tuple[BatteryUse, ...]:
    """Hours that a log's performances took of a rig's batteries."""
    show = book.shows.get(run.show)
    guitars = {slug: song_tonight(on_a_guitar(song, rig), show, slug).instrument for slug, song in book.songs.items()}
    held: dict[str, float] = {}
    for part in performances(run.lines):
        for guitar, hours in hours_in_hand([Mark(line.at_s, line.kind, line.song) for line in part], guitars).items():
            held[guitar] = held.get(guitar, 0.0) + hours
    carried = {guitar.battery for guitar in rig.instruments.values()}
    nights = run.nights(book) if rig.batteries.keys() - carried else []
    show_h = sum(night.lasted_s or 0.0 for night in nights) / 3600
    return battery_use(rig, held, show_h, began_on(run))


def to_file(reading: Reading, run: Run, night: Night, lengths: Mapping[str, Iterable[Before]]) -> ToFile:
    """What closing a performance can write; `lengths` are the songs' over all runs, KeyError if the show is not there.

    `run` is cut to the performance. BookError where a record of its date can't be read.
    """
    book, show = reading.book, reading.book.shows[run.show]
    played = {song: [one.lasted_s for one in of_song] for song, of_song in lengths.items()}
    rig = run.rig_in(book)
    the_rig = book.rigs.get(rig or "")
    uses = battery_uses(run, book, the_rig) if the_rig is not None else ()
    apart = sum(was.visit for was in _all_closed(reading.root, run))
    visit, no_visit = visit_to_file(book, run.show, began_on(run), night.trims, apart)
    venue = show.venue if visit is not None else None
    return ToFile(song_lengths(book, show, night, played), rig, uses, venue, visit, no_visit)


def filing_of(
    reading: Reading,
    run: Run,
    found: ToFile,
    chosen: Chosen,
    today: datetime.date,
    temperature_c: float | None = None,
    note: str | None = None,
) -> Filing:
    """The files as they will be; BookError where one can't be changed so."""
    songs = {
        one.song: one.played_s
        for one in found.songs
        if one.song in chosen.songs and one.played_s is not None and not one.why_not
    }
    files = [edited(reading, "song", song, [(("duration",), format_length(s))]) for song, s in songs.items()]
    uses = {use.battery: use for use in found.batteries if use.battery in chosen.batteries}
    visited = chosen.visit and found.visit is not None and found.venue is not None
    if visited and found.visit is not None and found.venue is not None:
        files.append(visited_venue(reading, found.venue, with_words(found.visit, temperature_c, note)))
    if uses and found.rig is not None:
        hours: list[tuple[KeyPath, float]] = [
            (("batteries", name, "used_h"), use.after_h) for name, use in uses.items()
        ]
        files.append(edited(reading, "rig", found.rig, hours))
    notes: dict[str, Any] = {
        "on": today.isoformat(),
        "songs": songs,
        "written_before": {one.song: one.written_s for one in found.songs if one.song in songs},
        "rig": found.rig,
        "batteries": {name: round(use.hours, 4) for name, use in uses.items()},
        "visit": visited,
        "performance": run.number,
        "from_s": run.first_s,
        "until_s": run.last_s,
    }
    return Filing(tuple(files), notes)


def visited_venue(reading: Reading, venue: str, visit: Visit) -> FiledFile:
    """The venue's file with a visit put after those it has; BookError where it can't be read."""
    data = visit.model_dump(exclude_defaults=True)
    data = {name: value for name, value in data.items() if value not in ({}, None)}
    there = reading.book.venues.get(venue)
    number = len(there.visits) if there is not None else 0
    return edited(reading, "venue", venue, [(("visits", number), data)])


def with_words(visit: Visit, temperature_c: float | None, note: str | None) -> Visit:
    """A visit with how warm it was and what to remember; BookError where that can't be."""
    try:
        return Visit(
            date=visit.date, show=visit.show, trims=visit.trims, temperature_c=temperature_c, note=note or None
        )
    except ValueError as error:
        raise BookError("the visit's temperature or note can't be kept", "degrees are from -40 to 60 °C") from error


def close(root: Path, run: Run, filing: Filing, shows: Iterable[str]) -> None:
    """File it, all or nothing; BookError where a show runs, it is closed already, or a file changed meanwhile."""
    nothing_running(root, shows)
    finish(root)
    if (was := closed(root, run)) is not None:
        raise already(run, was)
    make(root, record_of(run), filing, f"closing {run.show}, {run.name},")


def already(run: Run, was: Closed) -> BookError:
    """That a performance is closed."""
    return BookError(f"{run.show}, {run.name}, is closed already on {was.on}", "open it again first to close it anew")


def reopen(root: Path, run: Run, shows: Iterable[str]) -> tuple[str, ...]:
    """Take back what closing wrote, where it still stands, and say which files; BookError and no change otherwise."""
    nothing_running(root, shows)
    finish(root)
    was = closed(root, run)
    if was is None:
        raise BookError(f"{run.show}, {run.name}, is not closed", "there is nothing to take back")
    return take_back(root, was.record, f"opening {run.show}, {run.name}, again")


def finish(root: Path) -> None:
    """Settle closings that were stopped half way, of every show and date: the same files may be in several."""
    for record in half_done_records(root):
        settle(root, record)


def half_done_records(root: Path) -> list[str]:
    """Records of closings that were stopped half way, relative to the book; one that can't be read is none of them."""
    found = []
    for path in sorted(root.glob(f"runs/*/*{SUFFIX}")):
        record = path.relative_to(root).as_posix()
        with suppress(BookError, OSError):
            if half_done(root, record):
                found.append(record)
    return found


def nothing_running(root: Path, shows: Iterable[str]) -> None:
    """BookError while one of these shows is played."""
    for show in shows:
        if running(where_run(root, show)):
            raise BookError(f"{show} is being played", "files are not changed while a show runs")
