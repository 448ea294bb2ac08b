"""What was played before: lengths of songs and hours of batteries from the book's runs and takes."""

import datetime
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from showrunner.planning.performed import Mark, hours_in_hand, songs_played

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.library import Book
    from showrunner.model.rig import Rig
    from showrunner.model.show import Show


def played_seconds(reading: "Reading", show: "Show") -> dict[str, list[float]]:
    """Seconds that each song of a show was played, by every run and every whole take of the book."""
    found: dict[str, list[float]] = {}
    for _, _, marks in _runs(reading.root):
        for song, seconds in songs_played(marks):
            found.setdefault(song, []).append(seconds)
    folders = {slug: list(show.songs) for slug in reading.book.shows} | {song: [song] for song in show.songs}
    for folder, songs in folders.items():
        for file in sorted((reading.root / "takes" / folder).glob("*.mid")):
            for song, seconds in _in_take(reading, songs, file):
                found.setdefault(song, []).append(seconds)
    return {song: seconds for song, seconds in found.items() if seconds}


def battery_hours(root: Path, book: "Book", rig: "Rig") -> dict[str, float]:
    """Hours that runs have logged on each of a rig's batteries since it was fitted."""
    from showrunner.state.tonight import song_tonight

    hours: dict[str, float] = {}
    for slug, date, marks in _runs(root):
        show = book.shows.get(slug)
        songs = {name: song_tonight(song, show, name) for name, song in book.songs.items()}
        held = hours_in_hand(marks, {name: song.instrument for name, song in songs.items()})
        for guitar, the in rig.instruments.items():
            battery = rig.batteries.get(the.battery) if the.battery is not None else None
            if battery is not None and the.battery is not None and (battery.fitted is None or date >= battery.fitted):
                hours[the.battery] = hours.get(the.battery, 0.0) + held.get(guitar, 0.0)
    return hours


def _runs(root: Path) -> Iterator[tuple[str, datetime.date, list[Mark]]]:
    """Each run's show, date and marks; lines that are no marks are passed over."""
    from showrunner.live.runlog import entries

    for file in sorted(root.glob("runs/*/*.jsonl")):
        marks, began = [], ""
        for entry in entries(file):
            at_s, kind, song = entry.get("unix_s"), entry.get("kind"), entry.get("song")
            if isinstance(at_s, int | float) and isinstance(kind, str) and isinstance(song, str | None):
                marks.append(Mark(at_s, kind, song))
                began = began or str(entry.get("time", ""))[:10]
        try:
            yield file.parent.name, datetime.date.fromisoformat(began), marks
        except ValueError:
            continue


def _in_take(reading: "Reading", songs: Sequence[str], file: Path) -> Iterator[tuple[str, float]]:
    """Seconds from a song's first cue to the last thing heard or sent before another song, if its last cue came.

    A take in which songs were jumped into has no whole ones.
    """
    from showrunner.takes.smf import TakeError, read_take

    try:
        take = read_take(file)
    except (TakeError, OSError):
        return
    if any(ask.what.startswith("jump ") for ask in take.asks):
        return
    for song in songs:
        document = reading.book.songs.get(song)
        mine = [cue for cue in take.cues if cue.song == song]
        if document is None or not mine or mine[-1].cue != (document.cues[-1].name if document.cues else "start"):
            continue
        other_s = min((cue.at_s for cue in take.cues if cue.song != song and cue.at_s > mine[-1].at_s), default=None)
        heard_s = [event.at_s for event in take.events if other_s is None or event.at_s < other_s]
        if heard_s:
            yield song, max(heard_s) - mine[0].at_s
