"""The book's runs as they are kept: one file a show and date, read whole, with what can't be read said by its line."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

from showrunner.book.problems import Problem
from showrunner.live.runlog import numbered, seconds, trim_of
from showrunner.model.library import Book
from showrunner.model.units import DAY_MIN, NIGHT_ENDS_MIN
from showrunner.plain_file import listed
from showrunner.planning.joining import Stamp, joined
from showrunner.planning.night import Line, Night, night_of, performances

SAME_S = 0.001
"""Two times of a log's lines are the same within this."""


class Run(NamedTuple):
    """A night's log: its show, the date it is kept under, its file relative to the book, and what it says.

    `stamps` are the lines' times of day as they were written. What was played without hardware is not in `lines`;
    `simulated` is how often that was. A run that is cut to one performance has its `number` among `of` that night.
    """

    show: str
    date: str
    file: str
    lines: tuple[Line, ...]
    stamps: tuple[str, ...]
    problems: tuple[Problem, ...] = ()
    simulated: int = 0
    number: int = 0
    of: int = 0

    @property
    def name(self) -> str:
        """Its date, and which performance where there were several."""
        return self.date + (f", performance {self.number} of {self.of}" if self.of > 1 else "")

    @property
    def rig(self) -> str | None:
        """The rig of the last beginning in it, None if not said."""
        return next((line.rig for line in reversed(self.lines) if line.rig is not None), None)

    def parts(self) -> "list[Run]":
        """Each performance by itself, oldest first."""
        found, first = [], 0
        for part in performances(self.lines):
            stamps = self.stamps[first : first + len(part)]
            found.append(self._replace(lines=tuple(part), stamps=stamps))
            first += len(part)
        return found

    def played(self, book: Book) -> "list[tuple[Run, Night]]":
        """Each performance in which a song was begun, oldest first, with its number, and what it was."""
        cues = {slug: ("start", *(cue.name for cue in song.cues)) for slug, song in book.songs.items()}
        told = [(part, night) for part in self.parts() if (night := night_of(part.lines, cues)) is not None]
        return [(part._replace(number=at, of=len(told)), night) for at, (part, night) in enumerate(told, 1)]

    def nights(self, book: Book) -> list[Night]:
        """What each performance was in which a song was begun, oldest first."""
        return [night for _, night in self.played(book)]

    def rig_in(self, book: Book) -> str | None:
        """The rig it was played on, else the show's own or the book's usual one."""
        return self.rig if self.rig in book.rigs else book.rig_of(book.shows.get(self.show))

    def after(self, unix_s: float) -> "Run":
        """What was logged after the last line of that Unix time; where there is none, whatever has a later one."""
        written = [_written_s(line) for line in self.lines]
        there = [index for index, at_s in enumerate(written) if abs(at_s - unix_s) < SAME_S]
        first = there[-1] + 1 if there else next((i for i, at_s in enumerate(written) if at_s > unix_s), len(written))
        return self._replace(lines=self.lines[first:], stamps=self.stamps[first:])

    @property
    def first_s(self) -> float:
        """The Unix time that was written beside its first line."""
        return _written_s(self.lines[0]) if self.lines else 0.0

    @property
    def last_s(self) -> float:
        """The Unix time that was written beside its last line."""
        return _written_s(self.lines[-1]) if self.lines else 0.0

    def _real(self) -> "Run":
        """Without what was played without hardware."""
        parts = self.parts()
        real = [part for part in parts if not part.lines[0].simulated]
        lines = tuple(line for part in real for line in part.lines)
        stamps = tuple(stamp for part in real for stamp in part.stamps)
        return self._replace(lines=lines, stamps=stamps, simulated=len(parts) - len(real))


def run_files(root: Path, show: str | None = None) -> list[Path]:
    """The logs of a show, or of all, oldest first by the date in their name.

    OSError where the show's own folder is there and can't be read; of all shows such folders are passed over, since
    whoever reads the book says them.
    """
    runs = root / "runs"
    if show is not None:
        files = listed(runs / show) if _plain(show) else []
    else:
        files = []
        with suppress(OSError):
            for folder in listed(runs):
                with suppress(OSError):
                    files += listed(folder)
    found = (file for file in files if file.suffix == ".jsonl")
    return sorted(found, key=lambda file: (file.stem, file.parent.name))


def read_run(root: Path, file: Path) -> Run:
    """A log as it is; lines that can't be read are its problems, and the rest is read. OSError where the file can't.

    What was played without hardware counts nowhere, and is left out here.
    """
    name = file.relative_to(root).as_posix()
    lines, stamps, clocks, problems = [], [], [], []
    for number, entry in numbered(file):
        line = _line(entry) if entry is not None else None
        if entry is None or line is None:
            what = "the line was cut short or is no JSON object" if entry is None else "the line has no time or no kind"
            problems.append(Problem(name, number, "", what, "it is left out; the rest is read"))
            continue
        lines.append(line)
        stamps.append(str(entry.get("time", "")))
        clocks.append(_stamp(entry, line))
    timed = tuple(line._replace(at_s=at_s) for line, at_s in zip(lines, joined(clocks), strict=True))
    return Run(file.parent.name, file.stem, name, timed, tuple(stamps), tuple(problems))._real()


def left_out(simulated: int) -> str:
    """How many runs were left out because no hardware was played in them, in words."""
    return f"{simulated} simulated run{'' if simulated == 1 else 's'} left out"


class Before(NamedTuple):
    """A song on another night, s; `number` is the performance's on its date."""

    date: str
    show: str
    lasted_s: float
    number: int = 1


def lengths(runs: Iterable[Run], book: Book) -> dict[str, list[Before]]:
    """How long each song lasted in each of these runs, in their order."""
    found: dict[str, list[Before]] = {}
    for run in runs:
        for part, night in run.played(book):
            for song in night.songs:
                if song.lasted_s is not None:
                    before = Before(run.date, run.show, song.lasted_s, part.number)
                    found.setdefault(song.song, []).append(before)
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


def _plain(show: str) -> bool:
    return not set(show) & set("/\\")


def _line(entry: Mapping[str, Any]) -> Line | None:
    """A line with the time of day as its time; None for one that has none, or no kind."""
    at_s, kind = seconds(entry.get("unix_s")), entry.get("kind")
    if at_s is None or not isinstance(kind, str):
        return None
    song, cue, say = (entry.get(name) for name in ("song", "cue", "say"))
    return Line(
        at_s,
        kind,
        song if isinstance(song, str) else None,
        cue if isinstance(cue, str) else None,
        say if isinstance(say, str) else "",
        *(_clock(str(entry.get("time", ""))) if kind == "song" else (None, None)),
        trim_of(entry) if kind == "trimmed" else None,
        entry["rig"] if kind == "began" and isinstance(entry.get("rig"), str) else None,
        kind == "began" and entry.get("simulated") is True,
        at_s,
    )


def _stamp(entry: Mapping[str, Any], line: Line) -> Stamp:
    run = entry.get("run")
    begins = line.kind == "began"
    return Stamp(line.at_s, seconds(entry.get("at_s")), begins, run if begins and isinstance(run, str) else None)


def _written_s(line: Line) -> float:
    return line.at_s if line.unix_s is None else line.unix_s


def _clock(stamp: str) -> tuple[float | None, float | None]:
    """Minutes after the midnight that starts the night's date, and minutes ahead of UTC, each None if not known.

    Before six in the morning it is the date of the night before.
    """
    try:
        at = datetime.fromisoformat(stamp)
    except ValueError:
        return None, None
    minutes = at.hour * 60 + at.minute + at.second / 60
    ahead = at.utcoffset()
    ahead_min = None if ahead is None else ahead.total_seconds() / 60
    return minutes + DAY_MIN if minutes < NIGHT_ENDS_MIN else minutes, ahead_min
