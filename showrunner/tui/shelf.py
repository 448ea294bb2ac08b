"""The book behind the screens: read, looked at again when a file changes, edited in place, with undo and redo."""

import os
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from showrunner.book.change import applied, apply, edit
from showrunner.book.data import same, value_at
from showrunner.book.files import FileChange, FileChanges
from showrunner.book.lock import BusyError
from showrunner.book.problems import BookError, MissingBookError, Problem
from showrunner.book.read import JOURNAL, Reading, decoded, read_book, read_document, with_document
from showrunner.book.save import digest, save
from showrunner.book.start import SCHEMAS
from showrunner.book.start import new as new_file
from showrunner.book.transaction import HalfDoneError, Settled, settle
from showrunner.book.transaction import apply as apply_all
from showrunner.checks.finding import LEVELS, Finding
from showrunner.live import ticked
from showrunner.live.folder import run_folder, where_run
from showrunner.model.keys import KeyPath, quoted
from showrunner.model.library import Book
from showrunner.plain_file import read_file
from showrunner.tui.at_hand import AtHand
from showrunner.tui.made import NOT_SAID, NOTHING_CHOSEN, Chosen, ClashError, Edits, Made, NightStep
from showrunner.tui.made import nowhere as no_screen
from showrunner.tui.settling import settled, settled_files

if TYPE_CHECKING:
    from showrunner.live.launch import Way
    from showrunner.planning.timing import RunningTime
    from showrunner.tui.made import Step

Stamp = tuple[str, int, int]
"""A file's name, the time when it or its permissions last changed, and its size."""


class Played(NamedTuple):
    """Seconds that songs were played, by show and song, and the files that say so."""

    stamp: frozenset[Stamp]
    seconds: Mapping[str, Mapping[str, Sequence[float]]]


class Shelf:
    """One book on disk as all screens see it.

    `show` and `song` are the ones at hand, `chosen` what the player chose on a screen, by its place, so that it is
    still so when it is come back to. `here` says which screen is up, `full_houses` which shows are to be played with
    the audience in, `half_done` which changes were found stopped half way and settled, and are still to be said.
    """

    def __init__(self, root: Path) -> None:
        self.root = root
        self.half_done: list[Settled] = []
        self._settle()
        self.reading: Reading = read_book(root)
        self.show: str | None = next(iter([*self.book.shows, *self.reading.slugs("show")]), None)
        self.song: str | None = next(iter([*self.book.songs, *self.reading.slugs("song")]), None)
        self.chosen: dict[str, Any] = {}
        self.full_houses: set[str] = set()
        self._shows, self._songs = AtHand("show"), AtHand("song")
        self._stamp = self._look()
        self.here = no_screen
        self._done: list[Made] = []
        self._undone: list[Made] = []
        self._findings: dict[str | None, tuple[Finding, ...]] = {}
        self._played = Played(frozenset(), {})

    @property
    def book(self) -> Book:
        """Every document that is good."""
        return self.reading.book

    def refresh(self) -> bool:
        """Read again if a file changed since; whether it did. Not while another program changes several files."""
        if not self._settle():
            return False
        stamp = self._look()
        if stamp == self._stamp:
            return False
        before, self._stamp, self.reading = self.reading, stamp, self._read_again()
        self.show = self._shows.kept(self.show, before, self.reading)
        self.song = self._songs.kept(self.song, before, self.reading)
        self._findings = {}
        return True

    def _settle(self) -> bool:
        """Settle what another program left half done, to be said on a screen; False while that is still at it."""
        try:
            found = settle(self.root, patience_s=0)
        except BusyError:
            return False
        except BookError:
            return True  # reading says that it is there
        self.half_done += [found] if found is not None else []
        return True

    def _read_again(self) -> Reading:
        """The book as it is now; where its folder is gone, what was read last, and that it is gone."""
        try:
            return read_book(self.root, self.reading)
        except MissingBookError:
            what = f"the book's folder {quoted(str(self.root))} is gone: this is what was read last"
            gone = Problem("", None, "", what, "put the folder back, then all goes on from there")
            return replace(self.reading, problems=(gone,))

    def findings(self, show: str | None = None) -> tuple[Finding, ...]:
        """What the checks find in a show, or in every song and show, but for what is silenced.

        Nothing in a show that can't be read; on a thread the book may be read anew meanwhile.
        """
        known, reading = self._findings, self.reading
        found = known.get(show)
        if found is None:
            from showrunner.checks.run import check

            if show is not None and show not in reading.book.shows:
                return ()
            found = tuple(finding for finding in check(reading.book, show=show) if finding.silenced is None)
            known[show] = found
        return found

    def found(self, show: str | None = None) -> tuple[Finding, ...] | None:
        """The same where it has been looked for already, else None; never waits."""
        return self._findings.get(show)

    def of_song(self, song: str) -> tuple[Finding, ...]:
        """What is found in a song: in the show at hand if it is in it, else on the usual rig and in its own shows."""
        the_show, known, key = self.book.shows.get(self.show or ""), self._findings, f"song/{song}"
        show = self.show if the_show is not None and song in the_show.songs else None
        if show is not None or None in known or song not in self.book.songs:
            return tuple(finding for finding in self.findings(show) if finding.song == song)
        if key not in known:
            from showrunner.checks.run import check_song

            known[key] = tuple(finding for finding in check_song(self.book, song) if finding.silenced is None)
        return known[key]

    def read_played(self) -> Played | None:
        """What songs were played, from runs and takes; None where none changed since they were read. For a thread."""
        from showrunner.live.evidence import played_seconds

        reading = self.reading
        try:
            files = (*self.root.glob("runs/*/*.jsonl"), *self.root.glob("takes/*/*.mid"))
        except OSError:
            return None
        stamp = frozenset(stamps(files))
        if stamp == self._played.stamp:
            return None
        return Played(stamp, {slug: played_seconds(reading, show) for slug, show in reading.book.shows.items()})

    def reckon_with(self, played: Played) -> None:
        """Let running times rest on what was played."""
        self._played = played

    def played(self, show: str) -> Mapping[str, Sequence[float]]:
        """Seconds that each song of a show was played; none while that is not read."""
        return self._played.seconds.get(show, {})

    def timed(self, book: Book, show: str) -> "RunningTime":
        """A show's running time with its changeovers, and with what was played as far as that is read."""
        from showrunner.planning.timing import running_time

        return running_time(book, book.shows[show], played=self.played(show))

    def raw(self, kind: str, slug: str) -> dict[str, Any]:
        """What a file said when it was read last, as plain data; nothing where it is gone or could not be read."""
        readable = (kind, slug) in self.reading.sources.keys() - self.reading.unread
        return tomllib.loads(decoded(self.reading.sources[kind, slug])) if readable else {}

    def change(self, kind: str, slug: str, key: KeyPath, after: Any, *, seen: Any = NOT_SAID) -> None:
        """Make one key hold `after`, in place; BookError if it can't be done, and then nothing has changed.

        `seen` is what stood there when the change was begun, what was read last if left out. ClashError where the
        file says something else there by now; a change of anything else in the file stays.
        """
        self.change_all(kind, slug, {key: after}, seen={} if seen is NOT_SAID else {key: seen})

    def change_all(
        self, kind: str, slug: str, changes: Mapping[KeyPath, Any], *, seen: Mapping[KeyPath, Any] = NOTHING_CHOSEN
    ) -> None:
        """Make keys of one file hold what they are given, in one save and one step of undo.

        `seen` and errors are as for `change`, key by key.
        """
        self._may_change()
        self._meet(kind, slug, changes, seen)
        before, edits = self._source(kind, slug), []
        source = before
        for key, after in changes.items():
            edits.append(edit(self.reading.file(kind, slug), source, key, after))
            source = apply(source, edits[-1])
        if source != before:
            self._make(Edits(kind, slug, tuple(edits), before, source))

    def change_files(self, changes: FileChanges) -> None:
        """Make changes of whole files, in one step of undo; errors as for `transaction.apply`."""
        self._make(changes)

    def change_night(self, step: NightStep) -> None:
        """Close a night or open it again, in one step of undo; BookError, and nothing changed, where that can't be."""
        self._make(step)

    def new(self, kind: str, title: str, templates: Sequence[Path]) -> str:
        """Add a document from its template and give its slug; BookError where the name won't do."""
        self._is_there()
        schema = self.root / SCHEMAS / f"{kind}.json"
        has_schema = schema.exists()
        path = new_file(self.root, kind, title, templates)
        made = [path] if has_schema else [schema, path]
        self._remember(
            FileChanges(tuple(FileChange(f.relative_to(self.root).as_posix(), None, read_file(f)) for f in made))
        )
        self.refresh()
        return path.stem

    def undo(self, chosen: Chosen = NOTHING_CHOSEN) -> str | None:
        """Take the last change back; the file it was in, None if there is none.

        ClashError where what it made stands no longer; `chosen` is what is to stand there instead.
        """
        return self._again(self._done, self._undone, chosen)

    def redo(self, chosen: Chosen = NOTHING_CHOSEN) -> str | None:
        """Make the change that was taken back last once more; given and errors as for `undo`."""
        return self._again(self._undone, self._done, chosen)

    def next_step(self, *, back: bool) -> Made | None:
        """The step that undo, or redo, is about; None if there is none."""
        return next(reversed(self._done if back else self._undone), None)

    def pass_over(self, *, back: bool) -> None:
        """Leave what undo, or redo, would change as the files have it now; the step before it is the next."""
        (self._done if back else self._undone).pop()

    def answers(self, checklist: str) -> dict[str, str]:
        """What was answered in a checklist of the show at hand: what was asked, and how it was answered."""
        return ticked.answers(self.root, self.show, checklist)

    def answer(self, checklist: str, ask: str, answer: str | None) -> None:
        """Keep an answer, None to take it back, so that a crash loses none; BookError where it can't be written."""
        try:
            ticked.keep(self.root, self.show, checklist, {ask: answer})
        except BookError as error:
            mend = "look at the folder that the system keeps state in"
            raise BookError(f"the answer can't be kept: {error.what}", mend) from None

    def _again(self, from_: list[Made], to: list[Made], chosen: Chosen) -> str | None:
        if not from_:
            return None
        back = from_[-1].step.inverse
        file = back.changes[0].file if isinstance(back, FileChanges) else back.file
        self._may_change()
        self.refresh()
        if isinstance(back, FileChanges):
            back = settled_files(self.root, back, chosen)
        elif isinstance(back, Edits):
            back = settled(back, self._source(back.kind, back.slug), chosen)
        if not isinstance(back, Edits) or back.edits:
            self._apply(back)
            to.append(from_[-1]._replace(step=back))
        from_.pop()
        return file

    def _make(self, made: "Step") -> None:
        try:
            self._apply(made)
        except HalfDoneError:
            self._remember(made)
            raise
        self._remember(made)

    def _remember(self, made: "Step") -> None:
        self._done.append(Made(made, *self.here()))
        self._undone.clear()

    def _meet(self, kind: str, slug: str, changes: Mapping[KeyPath, Any], seen: Mapping[KeyPath, Any]) -> None:
        """Read again what changed outside, and stop where it is what is to be changed."""
        held = self.raw(kind, slug)
        self.refresh()
        self._source(kind, slug)
        now = self.raw(kind, slug)
        was = {key: seen[key] if key in seen else value_at(held, key) for key in changes}
        for key, mine in changes.items():
            theirs = value_at(now, key)
            if not same(was[key], theirs) and not same(mine, theirs):
                raise ClashError(self.reading.file(kind, slug), key, mine=mine, theirs=theirs, seen=was)

    def _source(self, kind: str, slug: str) -> bytes:
        """What a file holds; BookError where it is not there or can't be read."""
        file = self.reading.file(kind, slug)
        if (kind, slug) not in self.reading.sources:
            raise BookError(f"{file} is not there any more", "nothing was changed")
        if (kind, slug) in self.reading.unread:
            raise BookError(f"{file} can't be read", "mend it in an editor first; nothing was changed")
        return self.reading.sources[kind, slug]

    def _apply(self, made: "Step") -> None:
        self._may_change()
        self.refresh()
        if isinstance(made, FileChanges):
            try:
                apply_all(self.root, made, Made(made).words)
            finally:
                self.refresh()
            return
        if isinstance(made, NightStep):
            made.carry_out(self.root)
            self.refresh()
            return
        kind, slug = made.kind, made.slug
        source = self._source(kind, slug)
        new = applied(source, made.edits, made.before, made.after)
        document, problems = read_document(kind, slug, new)
        if document is None or problems:
            raise BookError(problems[0].what if problems else "the file would not be read", "nothing was changed")
        save(self.root / made.file, new, digest(source))
        self.reading = with_document(self.reading, kind, slug, document, new)
        self._stamp = self._look()
        self._findings = {}

    def plays(self, show: str) -> "Way | None":
        """How a show is being played; None if it is not."""
        from showrunner.live.launch import way_played

        return way_played(where_run(self.root, show))

    def end(self, show: str) -> None:
        """End a show that is being played; waits until it has ended. LinkError if it can't be."""
        from showrunner.live.launch import end

        end(run_folder(self.root, show))

    def _may_change(self) -> None:
        """BookError while a show runs, and where the book's folder is gone."""
        self._is_there()
        for show in self.book.shows:
            if (way := self.plays(show)) is not None:
                title = self.book.shows[show].title
                mend = "files are not changed while a show runs; x on the screen Shows ends it"
                raise BookError(f"{title} is being played{' without hardware' if way == 'simulated' else ''}", mend)

    def _is_there(self) -> None:
        """BookError where the book's folder is gone: nothing is to be made in its place."""
        if not os.path.isdir(self.root):
            raise BookError("the book's folder is gone", "put it back; nothing was changed")

    def _look(self) -> frozenset[Stamp]:
        """A stamp of every file of the book, and of a folder that can't be looked into; holds up no key."""
        found: set[Stamp] = set()
        folders = [str(self.root)]
        for folder in folders:
            try:
                with os.scandir(folder) as inside:
                    for entry in inside:
                        with suppress(OSError):
                            if entry.name.endswith((".toml", JOURNAL)) and entry.is_file():
                                found.add(_stamp(entry.path, entry.stat()))
                            elif folder == folders[0] and entry.is_dir():
                                folders.append(entry.path)
            except OSError:
                found.add((folder, 0, 0))
        return frozenset(found)


def stamps(files: Iterable[Path]) -> Iterator[Stamp]:
    """A stamp of each file that is there."""
    for file in files:
        with suppress(OSError):
            yield _stamp(str(file), file.stat())


def _stamp(file: str, stat: os.stat_result) -> Stamp:
    return file, max(stat.st_mtime_ns, stat.st_ctime_ns), stat.st_size


def summary(findings: tuple[Finding, ...]) -> str:
    """How many findings of each level, in words."""
    counts = Counter(finding.level for finding in findings)
    return (
        ", ".join(f"{counts[level]} {level}{'s' if counts[level] > 1 else ''}" for level in LEVELS if counts[level])
        or "none"
    )


def told(finding: Finding) -> str:
    """A finding on a line: how grave it is, what is wrong, and how it is mended."""
    return f"{finding.level}: {finding.what}. {finding.mend}"
