"""The book's runs as they are kept: one file a show and date, read whole, with what can't be read said by its line."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

from showrunner.book.problems import Problem
from showrunner.live.runlog import numbered, trim_of
from showrunner.model.library import Book
from showrunner.model.units import DAY_MIN, NIGHT_ENDS_MIN
from showrunner.planning.night import Line, Night, night_of, performances

LATEST_S = 1e11
"""Seconds since 1970 that no clock shows."""


class Run(NamedTuple):
    """One night's log: its show, the date it is kept under, its file relative to the book, and what it says.

    `stamps` are the lines' times of day as they were written, `rig` the rig of the last run in it, None if not said.
    """

    show: str
    date: str
    file: str
    lines: tuple[Line, ...]
    stamps: tuple[str, ...]
    problems: tuple[Problem, ...]
    rig: str | None

    def nights(self, book: Book) -> list[Night]:
        """Each performance in which a song was begun, oldest first."""
        cues = {slug: ("start", *(cue.name for cue in song.cues)) for slug, song in book.songs.items()}
        found = (night_of(part, cues) for part in performances(self.lines))
        return [night for night in found if night is not None]

    def rig_in(self, book: Book) -> str | None:
        """The rig it was played on, else the show's own or the book's usual one."""
        return self.rig if self.rig in book.rigs else book.rig_of(book.shows.get(self.show))

    def after(self, at_s: float) -> "Run":
        """What was logged later than a time of the lines' clock."""
        kept = [(line, stamp) for line, stamp in zip(self.lines, self.stamps, strict=True) if line.at_s > at_s]
        return self._replace(lines=tuple(line for line, _ in kept), stamps=tuple(stamp for _, stamp in kept))

    @property
    def last_s(self) -> float:
        """When its last line was written, in seconds of the lines' clock."""
        return max((line.at_s for line in self.lines), default=0.0)


def run_files(root: Path, show: str | None = None) -> list[Path]:
    """The logs of a show, or of all, oldest first by the date in their name."""
    try:
        files = list(root.glob(f"runs/{'*' if show is None else show}/*.jsonl") if _plain(show) else ())
    except OSError:
        return []
    return sorted(files, key=lambda file: (file.stem, file.parent.name))


def read_run(root: Path, file: Path) -> Run:
    """A log as it is; lines that can't be read are its problems, and the rest is read. OSError where the file can't."""
    name = file.relative_to(root).as_posix()
    lines, stamps, problems, rig = [], [], [], None
    for number, entry in numbered(file):
        line = _line(entry) if entry is not None else None
        if entry is None or line is None:
            what = "the line was cut short or is no JSON object" if entry is None else "the line has no time or no kind"
            problems.append(Problem(name, number, "", what, "it is left out; the rest is read"))
            continue
        lines.append(line)
        stamps.append(str(entry.get("time", "")))
        if line.kind == "began" and isinstance(entry.get("rig"), str):
            rig = entry["rig"]
    return Run(file.parent.name, file.stem, name, tuple(lines), tuple(stamps), tuple(problems), rig)


def best(nights: list[Night]) -> int | None:
    """Which performance of a night to look at first: the one with the most songs, the later of equals."""
    return max(range(len(nights)), key=lambda number: (len(nights[number].songs), number), default=None)


class Before(NamedTuple):
    """A song on another night, s."""

    date: str
    show: str
    lasted_s: float


def lengths(runs: Iterable[Run], book: Book) -> dict[str, list[Before]]:
    """How long each song lasted in each of these runs, in their order."""
    found: dict[str, list[Before]] = {}
    for run in runs:
        for night in run.nights(book):
            for song in night.songs:
                if song.lasted_s is not None:
                    found.setdefault(song.song, []).append(Before(run.date, run.show, song.lasted_s))
    return found


def read_runs(root: Path) -> Iterator[Run]:
    """Every run of the book that can be read, oldest first."""
    for file in run_files(root):
        try:
            yield read_run(root, file)
        except OSError:
            continue


def began_on(run: Run) -> date | None:
    """The date of the night that the log's first line was written in; until six in the morning it is the one before."""
    try:
        began = datetime.fromisoformat(next(stamp for stamp in run.stamps if stamp))
        return (began - timedelta(minutes=NIGHT_ENDS_MIN)).date()
    except (StopIteration, ValueError, OverflowError):
        return None


def _plain(show: str | None) -> bool:
    return show is None or not set(show) & set("*?[/\\")


def _line(entry: Mapping[str, Any]) -> Line | None:
    at_s, kind = entry.get("unix_s"), entry.get("kind")
    if isinstance(at_s, bool) or not isinstance(at_s, int | float) or not isinstance(kind, str):
        return None
    if not abs(at_s) < LATEST_S:
        return None
    song, cue, say = (entry.get(name) for name in ("song", "cue", "say"))
    return Line(
        float(at_s),
        kind,
        song if isinstance(song, str) else None,
        cue if isinstance(cue, str) else None,
        say if isinstance(say, str) else "",
        _clock_min(str(entry.get("time", ""))) if kind == "song" else None,
        trim_of(entry) if kind == "trimmed" else None,
    )


def _clock_min(stamp: str) -> float | None:
    """Minutes after the midnight that starts the night's date; before six in the morning it is the night before's."""
    try:
        at = datetime.fromisoformat(stamp)
    except ValueError:
        return None
    minutes = at.hour * 60 + at.minute + at.second / 60
    return minutes + DAY_MIN if minutes < NIGHT_ENDS_MIN else minutes
