"""The book behind the screens: read, looked at again when a file changes, edited in place, with undo and redo."""

import tomllib
from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any

from showrunner.book.change import Edit, apply, edit
from showrunner.book.problems import BookError
from showrunner.book.read import Reading, decoded, read_book, read_document
from showrunner.book.save import digest, save
from showrunner.checks.finding import LEVELS, Finding
from showrunner.checks.run import check
from showrunner.live.folder import read_json, run_folder, write_json
from showrunner.live.picture import Client
from showrunner.model.document import Document
from showrunner.model.keys import KeyPath
from showrunner.model.library import Book
from showrunner.model.units import format_length
from showrunner.planning.changeover import changeover_times
from showrunner.planning.timing import RunningTime, running_time

NIGHT_ENDS = timedelta(hours=6)


class Shelf:
    """One book on disk as all screens see it.

    `show` and `song` are the ones at hand, `locked` the shows whose soundcheck is done.
    """

    def __init__(self, root: Path) -> None:
        self.root = root
        self.reading: Reading = read_book(root)
        self.show: str | None = next(iter(self.book.shows), None)
        self.song: str | None = next(iter(self.book.songs), None)
        self.locked: frozenset[str] = frozenset()
        self._stamp = self._look()
        self._done: list[tuple[str, str, Edit]] = []
        self._undone: list[tuple[str, str, Edit]] = []
        self._findings: dict[str | None, tuple[Finding, ...]] = {}

    @property
    def book(self) -> Book:
        """Every document that is good."""
        return self.reading.book

    def refresh(self) -> bool:
        """Read again if a file changed since; whether it did."""
        stamp = self._look()
        if stamp == self._stamp:
            return False
        self._stamp, self.reading = stamp, read_book(self.root)
        self._findings.clear()
        return True

    def findings(self, show: str | None = None) -> tuple[Finding, ...]:
        """What the checks find in a show, or in every song and show, but for what is silenced."""
        if show not in self._findings:
            found = check(self.book, show=show)
            self._findings[show] = tuple(finding for finding in found if finding.silenced is None)
        return self._findings[show]

    def of_song(self, song: str) -> tuple[Finding, ...]:
        """What is found in a song: in the show at hand if it is in it, else on the usual rig."""
        the_show = self.book.shows.get(self.show or "")
        show = self.show if the_show is not None and song in the_show.songs else None
        return tuple(finding for finding in self.findings(show) if finding.song == song)

    def timed(self, show: str) -> RunningTime:
        """The show's running time with its changeovers."""
        the_show = self.book.shows[show]
        rig = self.book.rigs.get(self.book.rig_of(the_show) or "")
        needs = changeover_times(self.book, the_show, rig) if rig is not None else {}
        return running_time(self.book, the_show, needs=needs)

    def raw(self, kind: str, slug: str) -> dict[str, Any]:
        """What a file says, as plain data."""
        return tomllib.loads(decoded(self.reading.sources[kind, slug]))

    def change(self, kind: str, slug: str, key: KeyPath, after: Any) -> None:
        """Make one key hold `after`, in place; BookError if it can't be done, and then nothing has changed."""
        made = edit(self.reading.file(kind, slug), self.reading.sources[kind, slug], key, after)
        self._apply(kind, slug, made)
        self._done.append((kind, slug, made))
        self._undone.clear()

    def undo(self) -> str | None:
        """Take the last change back, if what it made still stands; the file it was in, None if there is none."""
        return self._again(self._done, self._undone)

    def redo(self) -> str | None:
        """Make the change that was taken back last once more; the file it is in, None if there is none."""
        return self._again(self._undone, self._done)

    def answers(self, checklist: str) -> dict[str, str]:
        """What was answered in a checklist of the show at hand: what was asked, and "done" or why it was left."""
        kept = read_json(self._answers_file()) or {}
        return {ask: str(answer) for ask, answer in kept.get(checklist, {}).items()}

    def answer(self, checklist: str, ask: str, answer: str | None) -> None:
        """Keep an answer, None to take it back; it is on disk before this returns, so that a crash loses none."""
        file = self._answers_file()
        kept = read_json(file) or {}
        of_list = {**kept.get(checklist, {}), ask: answer}
        kept[checklist] = {asked: said for asked, said in of_list.items() if said is not None}
        write_json(file, kept)

    def _answers_file(self) -> Path:
        return run_folder(self.root, self.show or "book") / "checklists.json"

    def join(self, show: str, *, simulated: bool) -> Client:
        """The running show, begun if it is not running; LinkError or BookError if it can't be."""
        from showrunner.live.launch import attach
        from showrunner.live.night import night_of

        rig = self.book.rig_of(self.book.shows[show])
        if rig is None or rig not in self.book.rigs:
            raise BookError(f"the show {show} has no rig that can be read", 'write rig = "…" into it')
        night = (datetime.now() - NIGHT_ENDS).strftime("%Y-%m-%d")
        log = (self.root / "runs" / show / f"{night}.jsonl").resolve()
        return attach(run_folder(self.root, show), night_of(self.book, show, rig, log=str(log), simulated=simulated))

    def _again(self, from_: list[tuple[str, str, Edit]], to: list[tuple[str, str, Edit]]) -> str | None:
        if not from_:
            return None
        kind, slug, made = from_[-1]
        self._apply(kind, slug, made.inverse)
        from_.pop()
        to.append((kind, slug, made.inverse))
        return made.file

    def _apply(self, kind: str, slug: str, made: Edit) -> None:
        self._nothing_running()
        source = self.reading.sources[kind, slug]
        new = apply(source, made)
        document, problems = read_document(kind, slug, new)
        if document is None or problems:
            raise BookError(problems[0].what if problems else "the file would not be read", "nothing was changed")
        save(self.root / made.file, new, digest(source))
        self._put(kind, slug, document, new)
        self._stamp = self._look()
        self._findings.clear()

    def _put(self, kind: str, slug: str, document: Document, source: bytes) -> None:
        plural = f"{kind}s"
        documents: Any = {plural: MappingProxyType({**getattr(self.book, plural), slug: document})}
        sources = MappingProxyType({**self.reading.sources, (kind, slug): source})
        self.reading = replace(self.reading, book=self.book._replace(**documents), sources=sources, _lines={})

    def _nothing_running(self) -> None:
        from showrunner.live.launch import running

        for show in self.book.shows:
            if running(run_folder(self.root, show)):
                raise BookError(f"{show} is being played", "files are not changed while a show runs")

    def _look(self) -> tuple[tuple[str, int, int], ...]:
        """Name, time and size of every file of the book."""
        files = sorted((*self.root.glob("*.toml"), *self.root.glob("*/*.toml")))
        stats = [(file, file.stat()) for file in files if file.is_file()]
        return tuple((str(file), stat.st_mtime_ns, stat.st_size) for file, stat in stats)


def summary(findings: tuple[Finding, ...]) -> str:
    """How many findings of each level, in words."""
    counts = Counter(finding.level for finding in findings)
    return (
        ", ".join(f"{counts[level]} {level}{'s' if counts[level] > 1 else ''}" for level in LEVELS if counts[level])
        or "none"
    )


def against_limit(over_s: float) -> str:
    """How far over the slot or the curfew, or how much there is to spare, in words."""
    return f"{format_length(abs(over_s))} {'over' if over_s > 0 else 'to spare'}"
