"""What was played before: lengths of songs and hours of batteries from the book's runs and takes."""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from showrunner.book.problems import BookError
from showrunner.levels.kept import tonight
from showrunner.live.closing import battery_uses, closed
from showrunner.live.runs import lengths, read_run, read_runs, run_files
from showrunner.planning.night import TrimPlayed, trims_moved

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.library import Book
    from showrunner.model.rig import Rig
    from showrunner.model.show import Show


def played_seconds(reading: "Reading", show: "Show") -> dict[str, list[float]]:
    """Seconds that each song of a show was played, by every run and every whole take of the book."""
    runs = lengths(read_runs(reading.root), reading.book)
    found = {song: [one.lasted_s for one in of_song] for song, of_song in runs.items()}
    folders = {slug: list(show.songs) for slug in reading.book.shows} | {song: [song] for song in show.songs}
    for folder, songs in folders.items():
        for file in sorted((reading.root / "takes" / folder).glob("*.mid")):
            for song, seconds in _in_take(reading, songs, file):
                found.setdefault(song, []).append(seconds)
    return {song: seconds for song, seconds in found.items() if seconds}


def trims_left(root: Path, slug: str, show: "Show") -> dict[str, tuple[float, float]]:
    """Trims that the latest run moved and the show's file does not say yet: where it says they stand, and to where.

    One that was written otherwise since is left out, and so is a run that can't be read, or was simulated.
    """
    moved: tuple[TrimPlayed, ...] = ()
    files: list[Path] = []
    with suppress(OSError):
        files = run_files(root, slug)
    for file in reversed(files):
        with suppress(OSError):
            run = read_run(root, file)
            if run.simulated and not run.lines:
                continue
            moved = trims_moved(run.lines)
        break
    ends = {one.trim: (one.before, one.after) for one in moved if one.before != one.after}
    return {name: (before, after) for name, (before, after) in ends.items() if tonight(show, name) == before}


def battery_hours(root: Path, book: "Book", rig: "Rig") -> dict[str, float]:
    """Hours that runs have logged on each of a rig's batteries since it was fitted, and that no closing has filed."""
    slug = next((slug for slug, one in book.rigs.items() if one is rig or one == rig), None)
    hours: dict[str, float] = {}
    for run in (part for night in read_runs(root) for part in night.parts()):
        was = None
        with suppress(BookError):
            was = closed(root, run)
        filed = was.batteries if was is not None and was.rig == slug else {}
        since = run.after(was.until_s) if was is not None else run
        for part, wanted in ((run, rig.batteries.keys() - filed.keys()), (since, filed.keys())):
            for use in battery_uses(part, book, rig) if wanted else ():
                if use.battery in wanted:
                    hours[use.battery] = hours.get(use.battery, 0.0) + use.hours
    return hours


def _in_take(reading: "Reading", songs: Sequence[str], file: Path) -> Iterator[tuple[str, float]]:
    """Seconds from a song's first cue to the last thing heard or sent before another song, if its last cue came.

    A take in which songs were jumped into has no whole ones, and one whose steps a clock or a key took says nothing
    about the player's: led by the clock, a song always lasts as written.
    """
    from showrunner.takes.smf import TakeError, read_take

    try:
        take = read_take(file)
    except (TakeError, OSError):
        return
    if any(ask.what.startswith(("next", "jump ")) for ask in take.asks):
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
