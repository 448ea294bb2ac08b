"""Reads a whole book: every document that is good, and every problem of every file at once."""

import os
import re
import stat
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from pydantic import ValidationError

from showrunner.book.formats import in_todays
from showrunner.book.locate import Lines, deep_key
from showrunner.book.problems import MissingBookError, Problem, gathered, numberless
from showrunner.book.syntax import syntax
from showrunner.book.words import complaints
from showrunner.collector import paused
from showrunner.model.document import Document
from showrunner.model.keys import KeyPath, dotted, quoted
from showrunner.model.library import KINDS, Book, BookFile
from showrunner.model.references import Broken, broken_references
from showrunner.plain_file import listed

BOOK_FILE = "book.toml"
JOURNAL = ".journal"
"""In it stands a change of several files while it is made; see `transaction`."""
LARGEST_BYTES = 1 << 20
MANY_DOTS = 1000
DEEPEST_KEY = 16
"""Parts that a dotted key may have: the parser's time grows with their square. A document's longest has seven."""
_SUFFIX = ".toml"
BOM = b"\xef\xbb\xbf"
_POSITION = re.compile(r"\(at line (\d+), column (\d+)\)$")
_MANY_DIGITS = re.compile(r"(?<![0-9_])[0-9_]{4300}")

Name = tuple[str, str]
"""Kind and slug of a document; the book's own file is ("book", "")."""


@dataclass(frozen=True)
class Reading:
    """A book as it was read: its good documents, what is wrong, and the bytes that each file held."""

    root: Path
    book: Book
    problems: tuple[Problem, ...]
    unread: frozenset[Name]
    """Files that are there and could not be read as a document."""
    sources: Mapping[Name, bytes]
    """What each file held when it was read, by kind and slug."""
    _lines: dict[Name, Lines] = field(default_factory=dict, repr=False, compare=False)

    def file(self, kind: str, slug: str = "") -> str:
        """Path of a document's file, relative to the book, with forward slashes."""
        return file_of(kind, slug)

    def has(self, kind: str, slug: str) -> bool:
        """Whether a document's file is there, even if it can't be read."""
        return (kind, slug) in self.sources or (kind, slug) in self.unread

    def held(self, kind: str, slug: str, source: bytes) -> Document | None:
        """The document of a file that held the same bytes; None where it held others, or was no document."""
        same = kind in KINDS and self.sources.get((kind, slug)) == source
        return getattr(self.book, f"{kind}s").get(slug) if same else None

    def slugs(self, kind: str) -> list[str]:
        """Every document of a kind that is there, even those that can't be read, in the book's order."""
        there = self.sources.keys() | self.unread
        return sorted((slug for of, slug in there if of == kind), key=lambda slug: f"{slug}{_SUFFIX}")

    def wrong_with(self, kind: str, slug: str = "") -> tuple[Problem, ...]:
        """What is wrong with one file, in its order."""
        return tuple(problem for problem in self.problems if problem.file == file_of(kind, slug))

    def line(self, kind: str, slug: str, key: KeyPath) -> int | None:
        """Line that a key, or else the nearest table around it, is written on; None where the file holds no text."""
        name = (kind, slug)
        if name not in self._lines:
            try:
                self._lines[name] = Lines(decoded(self.sources[name]))
            except (KeyError, UnicodeDecodeError):
                return None
        return self._lines[name].of(key)


class _File(NamedTuple):
    """A file to read: where it is, and what it should hold."""

    name: Name
    model: type[Document]
    entry: Path | os.DirEntry[str]


def file_of(kind: str, slug: str = "") -> str:
    """Path of a document's file, relative to the book, with forward slashes."""
    return BOOK_FILE if kind == "book" else f"{kind}s/{slug}{_SUFFIX}"


def decoded(source: bytes) -> str:
    """The text of a file, without its byte-order mark; UnicodeDecodeError where it isn't UTF-8."""
    return source.removeprefix(BOM).decode("utf-8")


def read_book(root: Path, before: Reading | None = None) -> Reading:
    """Reads the book at `root`; MissingBookError where there is no folder, all else that is wrong is in the reading.

    Documents of files that hold the same bytes as `before` are taken from there: a tenth of the time.
    """
    if not os.path.isdir(root):
        raise MissingBookError(f"there is no book at {quoted(str(root))}", f"make one with showrunner init {root}")
    with paused():
        return _read(root, before)


def _read(root: Path, before: Reading | None) -> Reading:
    problems: list[Problem] = []
    documents: dict[Name, Document] = {}
    sources: dict[Name, bytes] = {}
    unread: set[Name] = set()
    for file in _files(root, problems):
        source = _bytes(file, problems)
        document = None
        if source is not None:
            sources[file.name] = source
            document = before.held(*file.name, source) if before is not None else None
            if document is None:
                document, wrong = read_document(*file.name, source)
                problems += wrong
        if document is None:
            unread.add(file.name)
        else:
            documents[file.name] = document
    problems += _kept(root)
    return _referenced(Reading(root, _book(documents), (), frozenset(unread), sources), problems)


def with_document(reading: Reading, kind: str, slug: str, document: Document, source: bytes) -> Reading:
    """The reading with one document that was changed; what all of them refer to is looked at again."""
    of_kind = f"{kind}s"
    documents: Any = {of_kind: MappingProxyType({**getattr(reading.book, of_kind), slug: document})}
    sources = MappingProxyType({**reading.sources, (kind, slug): source})
    good = {file_of(*name) for name in sources.keys() - reading.unread}
    problems = [problem for problem in reading.problems if problem.file not in good]
    return _referenced(replace(reading, book=reading.book._replace(**documents), sources=sources, _lines={}), problems)


def _referenced(reading: Reading, problems: list[Problem]) -> Reading:
    """The reading with its problems, and what its documents refer to and isn't there."""
    for broken, more in gathered(broken_references(reading.book, reading.unread), _alike):
        name = (broken.kind, broken.slug)
        line = reading.line(*name, broken.key)
        problems.append(Problem(file_of(*name), line, dotted(broken.key), broken.what + more, broken.mend))
    problems.sort(key=lambda problem: (problem.file != BOOK_FILE, problem.file, problem.line or 0))
    return replace(reading, problems=tuple(problems))


def _alike(broken: Broken) -> tuple[str, str, str, KeyPath]:
    """What a broken reference has in common with others: its file, its sentence before the name, and its table."""
    return broken.kind, broken.slug, broken.what.partition('"')[0], numberless(broken.key[:-1])


def read_document(kind: str, slug: str, source: bytes) -> tuple[Document | None, list[Problem]]:
    """One file's document, or None and what is wrong with it."""
    model = BookFile if kind == "book" else KINDS[kind]
    try:
        data = in_todays(kind, tomllib.loads(decoded(source)))
        return model.model_validate(data), []
    except ValidationError as error:
        lines = Lines(decoded(source))
        return None, [
            Problem(file_of(kind, slug), lines.of(key), dotted(key), what, mend)
            for key, what, mend in complaints(model, data, error.errors(include_url=False))
        ]
    except (ValueError, RecursionError) as error:
        return None, [Problem(file_of(kind, slug), *_unreadable(source, error))]


def _files(root: Path, problems: list[Problem]) -> Iterator[_File]:
    if os.path.lexists(root / JOURNAL):
        what = "a change of several files was stopped half way, and is neither finished nor taken back"
        problems.append(Problem(JOURNAL, None, "", what, "do what any command says of it as it opens the book"))
    if os.path.lexists(root / BOOK_FILE):
        yield _File(("book", ""), BookFile, root / BOOK_FILE)
    else:
        problems.append(Problem(BOOK_FILE, None, "", "the book has no book.toml", "make it: format = 1, and a name"))
    for kind, model in KINDS.items():
        folder = f"{kind}s"
        try:
            with os.scandir(root / folder) as entries:
                found = sorted((entry for entry in entries if entry.name.endswith(_SUFFIX)), key=lambda e: e.name)
        except FileNotFoundError:
            continue
        except NotADirectoryError:
            problems.append(Problem(folder, None, "", "this is a file where a folder belongs", "move it elsewhere"))
            continue
        except OSError as error:
            problems.append(Problem(folder, None, "", _reason(error), "look at the folder's permissions"))
            continue
        for entry in found:
            slug = entry.name.removesuffix(_SUFFIX)
            if slug.isprintable() and not entry.name.startswith("."):
                yield _File((kind, slug), model, entry)
            elif not slug.isprintable():
                what = "the file's name has characters that can't be shown"
                problems.append(Problem(f"{folder}/{quoted(entry.name)[1:-1]}", None, "", what, "rename it"))


def _opened(path: str, how: int) -> int:
    """Opens a file without waiting, should a pipe be in its place by now."""
    return os.open(path, how | getattr(os, "O_NONBLOCK", 0))


def _kept(root: Path) -> Iterator[Problem]:
    """Folders of what was played that are there and can't be read: what they hold would count nowhere, unsaid."""
    for name in ("runs", "takes"):
        try:
            inside = listed(root / name)
        except OSError as error:
            yield Problem(name, None, "", _reason(error), "look at the folder's permissions")
            continue
        for folder in inside:
            try:
                os.listdir(folder)
            except NotADirectoryError:
                continue
            except OSError as error:
                yield Problem(f"{name}/{folder.name}", None, "", _reason(error), "look at the folder's permissions")


def _bytes(file: _File, problems: list[Problem]) -> bytes | None:
    """What a file holds; None, with a problem noted, where that can't be had."""
    path = file_of(*file.name)
    try:
        if not file.entry.is_file():
            is_folder = file.entry.is_dir()
            what = "this is a folder where a file belongs" if is_folder else "this is not a file that can be read"
            problems.append(Problem(path, None, "", what, "move it elsewhere"))
            return None
        with open(file.entry, "rb", buffering=0, opener=_opened) as stream:
            found = os.fstat(stream.fileno())
            if not stat.S_ISREG(found.st_mode):
                problems.append(Problem(path, None, "", "this is not a file that can be read", "move it elsewhere"))
                return None
            source = stream.read(LARGEST_BYTES + 1) if found.st_size <= LARGEST_BYTES else None
    except OSError as error:
        problems.append(Problem(path, None, "", _reason(error), "look at the file's permissions"))
        return None
    wrong = unwieldy(path, source)
    problems += wrong
    return None if wrong else source


def unwieldy(file: str, source: bytes | None) -> list[Problem]:
    """Why a file is not even to be tried as a document: too large, None standing for that, or keys without end."""
    if source is None or len(source) > LARGEST_BYTES:
        return [Problem(file, None, "", "the file is larger than 1 MiB", "a document is plain text, and short")]
    line = deep_key(source.decode("utf-8", "replace"), DEEPEST_KEY) if source.count(b".") > MANY_DOTS else None
    if line is not None:
        return [Problem(file, line, "", "the keys nest too deep", f"a key may have {DEEPEST_KEY} parts at most")]
    return []


def _unreadable(source: bytes, error: ValueError | RecursionError) -> tuple[int | None, str, str, str]:
    """Line, key, what and mend for a text that isn't TOML."""
    if isinstance(error, UnicodeDecodeError):
        if source[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return 1, "", "the file is UTF-16 text", "save it as UTF-8"
        line = error.object.count(b"\n", 0, error.start) + 1
        return line, "", f"the byte 0x{error.object[error.start]:02X} is not UTF-8 text", "save the file as UTF-8"
    if 0 in source[:2]:
        return 1, "", "the file is UTF-16 text", "save it as UTF-8"
    text = decoded(source)
    if isinstance(error, RecursionError):
        rows = text.split("\n")
        deepest = max(range(len(rows)), key=lambda row: rows[row].count("[") + rows[row].count("{"))
        return deepest + 1, "", "lists or tables nest too deep", "close the brackets before"
    place = _POSITION.search(str(error))
    if place is not None:
        row, column = int(place[1]), int(place[2])
        return row, "", *syntax(str(error), text.split("\n")[row - 1], column)
    digits = _MANY_DIGITS.search(text)
    if digits is not None and not isinstance(error, tomllib.TOMLDecodeError):
        line = text.count("\n", 0, digits.start()) + 1
        return line, "", "this number has too many digits", "write an ordinary number"
    rows = text.rstrip().split("\n")
    return len(rows), "", *syntax(str(error), rows[-1], len(rows[-1]))


def _reason(error: OSError) -> str:
    return f"this can't be read ({(error.strerror or 'no reason given').lower()})"


def _book(documents: Mapping[Name, Document]) -> Book:
    by_kind: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    for (kind, slug), document in documents.items():
        if kind in by_kind:
            by_kind[kind][slug] = document
    own = documents.get(("book", ""))
    name, rig = (own.name, own.rig) if isinstance(own, BookFile) else ("", None)
    frozen = {kind: MappingProxyType(of_kind) for kind, of_kind in by_kind.items()}
    return Book(name, rig, *(frozen[kind] for kind in ("song", "rig", "venue", "show", "checklist")))
