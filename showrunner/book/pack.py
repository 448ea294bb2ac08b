"""What one show needs to be played on another machine: its files, and what of them is missing or broken."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from showrunner.book.pack_manifest import ENDINGS, LARGEST_FILE, Contents, PackError, refused
from showrunner.book.problems import Problem
from showrunner.book.read import Name, Reading, file_of
from showrunner.model.keys import dotted
from showrunner.model.library import KINDS, Book
from showrunner.model.references import broken_references
from showrunner.plain_file import NotPlainError, TooLargeError, listed, read_file

_LONGEST_LINE = 500


def contents(reading: Reading, show: str, *, takes: bool = False, runs: bool = False) -> Contents:
    """The show, its songs, rigs, venue and checklists, the book's own file, and the takes and runs if wanted.

    What can't be read is left out and said in `lacks`; PackError where the show or the book's own file can't go in.
    """
    the_show = reading.book.shows[show]
    names = needed(reading.book, show)
    part = _part(reading.book, names)
    problems = [one for one in reading.problems if one.file in {file_of(*name) for name in names}]
    said = {one[:3] for one in problems}
    for broken in broken_references(part, reading.unread & names):
        file, line = file_of(broken.kind, broken.slug), reading.line(broken.kind, broken.slug, broken.key)
        if (file, line, dotted(broken.key)) not in said:
            problems.append(Problem(file, line, dotted(broken.key), broken.what, broken.mend))
    there = names & reading.sources.keys() - reading.unread
    files = {file_of(*name): reading.sources[name] for name in sorted(there)}
    wanted = [
        *(_found(reading.root, [f"takes/{slug}" for slug in (show, *the_show.songs)]) if takes else ()),
        *(_found(reading.root, [f"runs/{show}"]) if runs else ()),
    ]
    for file in wanted:
        source = _source(reading.root / file)
        if isinstance(source, bytes):
            files[file] = source
        elif file.startswith("runs/"):
            raise PackError(f"{file} can't be packed: {source}", "look at it, or pack without the runs")
        else:
            problems.append(Problem(file, None, "", source, "it is left out"))
    for file in sorted(files):
        wrong = refused(file)
        if wrong is not None:
            problems.append(Problem(file, None, "", f"not every system can have this file: {wrong}", "rename it"))
            del files[file]
    for file in (file_of("book"), file_of("show", show)):
        if file not in files:
            raise PackError(f"{file} can't be packed", "mend it first", tuple(p for p in problems if p.file == file))
    lacks = tuple(_one_line(problem) for problem in problems)
    return Contents(show, the_show.title, reading.book.rig_of(the_show), MappingProxyType(files), lacks)


def needed(book: Book, show: str) -> frozenset[Name]:
    """Kind and slug of every document that a show needs, there or not, the show and the book's own file among them."""
    the_show = book.shows[show]
    names: set[Name] = {("book", ""), ("show", show), *(("song", song) for song in the_show.songs)}
    names |= {("checklist", checklist) for checklist in the_show.checklists}
    names |= {("venue", the_show.venue)} if the_show.venue is not None else set()
    names |= {("rig", rig) for rig in (book.rig_of(the_show), book.rig) if rig is not None}
    return frozenset(names | _rigs_that_know(book, names))


def _rigs_that_know(book: Book, names: set[Name]) -> set[Name]:
    """Other rigs that have what the songs name and the show's rig and the usual one lack."""
    chosen: set[Name] = set()
    broken = _broken(book, names)
    for rig in sorted(book.rigs):
        more = {*chosen, ("rig", rig)}
        with_it = _broken(book, names | more) if broken and ("rig", rig) not in names else broken
        if with_it < broken:
            chosen, broken = more, with_it
    return chosen


def _broken(book: Book, names: Iterable[Name]) -> int:
    return sum(1 for _ in broken_references(_part(book, names)))


def _part(book: Book, names: Iterable[Name]) -> Book:
    """The book with only these documents."""
    wanted = frozenset(names)
    parts: dict[str, Mapping[str, Any]] = {}
    for kind in KINDS:
        documents: Mapping[str, Any] = getattr(book, f"{kind}s")
        parts[f"{kind}s"] = {slug: of for slug, of in documents.items() if (kind, slug) in wanted}
    return Book(book.name, book.rig, **parts)


def _found(root: Path, folders: Iterable[str]) -> Iterator[str]:
    for folder in folders:
        try:
            there = listed(root / folder)
        except OSError as error:
            reason = (error.strerror or "no reason given").lower()
            raise PackError(f"{folder} can't be read ({reason})", "look at it, or pack without it") from None
        for path in there:
            if path.name.endswith(ENDINGS[folder.partition("/")[0]]) and not path.name.startswith("."):
                yield f"{folder}/{path.name}"


def _source(path: Path) -> bytes | str:
    """A file's bytes, or why it can't be had."""
    try:
        return read_file(path, LARGEST_FILE)
    except (NotPlainError, TooLargeError) as error:
        return str(error.strerror)
    except OSError as error:
        return f"this can't be read ({(error.strerror or 'no reason given').lower()})"


def _one_line(problem: Problem) -> str:
    text = "".join(character if character.isprintable() else "?" for character in str(problem))
    return text if len(text) <= _LONGEST_LINE else text[: _LONGEST_LINE - 1] + "…"
