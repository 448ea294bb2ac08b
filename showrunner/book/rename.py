"""Another name for a document: its title and its file, and every reference to it in the book.

What it comes to is worked out first, so that every file and line can be shown before anything is written.
"""

import os
import re
import tomllib
from collections.abc import Iterator
from typing import Any, NamedTuple

from showrunner.book.change import CannotChangeError, apply, edit
from showrunner.book.data import same
from showrunner.book.files import FileChange, FileChanges
from showrunner.book.layout import Layout
from showrunner.book.locate import Mark
from showrunner.book.problems import BookError
from showrunner.book.read import BOM, Reading, decoded, read_document
from showrunner.book.start import slug_of
from showrunner.model.keys import KeyPath, bare_or_quoted, dotted

_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
_FOLDERS = {"song": "takes", "show": "runs"}


class Renamed(NamedTuple):
    """What a new name comes to: the slug it makes, and the changes."""

    slug: str
    changes: FileChanges


class _Change(NamedTuple):
    """A reference in a document: a value to put at a key, or a key's own new name."""

    key: KeyPath
    value: Any = None


def renamed(reading: Reading, kind: str, slug: str, title: str) -> Renamed:
    """The document under another title and the file name that this makes, with all references to it.

    BookError where the name won't do or is taken, or a file that might hold a reference can't be read or changed.
    """
    new = slug_of(title)
    file, source = reading.file(kind, slug), reading.sources[kind, slug]
    if not new:
        raise BookError(f'"{title}" makes no file name', "give it a letter or a digit at least")
    text = _checked(kind, new, apply(source, edit(file, source, ("title",), title.strip())))
    if new == slug:
        return Renamed(slug, FileChanges((FileChange(file, source, text),)))
    to = reading.file(kind, new)
    if os.path.lexists(reading.root / to):
        raise BookError(f"{to} is there already", "give it another name")
    if reading.unread:
        unread = reading.file(*min(reading.unread))
        raise BookError(f"{unread} can't be read, and may refer to it", "mend that file first")
    changes = [FileChange(file, source, None), FileChange(to, None, text)]
    changes += _references(reading, kind, slug, new)
    folder = _FOLDERS.get(kind)
    moves = folder is not None and os.path.isdir(reading.root / folder / slug)
    return Renamed(new, FileChanges(tuple(changes), ((f"{folder}/{slug}", f"{folder}/{new}"),) if moves else ()))


def copied(reading: Reading, kind: str, slug: str, title: str) -> Renamed:
    """A copy of the document under another title and the file name that this makes; BookError as for `renamed`."""
    new = slug_of(title)
    if not new:
        raise BookError(f'"{title}" makes no file name', "give it a letter or a digit at least")
    to = reading.file(kind, new)
    if os.path.lexists(reading.root / to):
        raise BookError(f"{to} is there already", "give the copy another name")
    source = reading.sources[kind, slug]
    text = apply(source, edit(reading.file(kind, slug), source, ("title",), title.strip()))
    return Renamed(new, FileChanges((FileChange(to, None, _checked(kind, new, text)),)))


def _references(reading: Reading, kind: str, old: str, new: str) -> Iterator[FileChange]:
    for (of_kind, slug), source in sorted(reading.sources.items()):
        after = source
        for change in _found(of_kind, tomllib.loads(decoded(source)), kind, old, new):
            file = reading.file(of_kind, slug)
            if change.value is None:
                after = key_renamed(file, after, change.key, new)
            else:
                after = apply(after, edit(file, after, change.key, change.value))
        if after != source:
            yield FileChange(reading.file(of_kind, slug), source, _checked(of_kind, slug, after))


def _found(of_kind: str, data: dict[str, Any], kind: str, old: str, new: str) -> Iterator[_Change]:
    """Every reference that a document makes to another."""
    if of_kind in ("book", "show") and kind in ("rig", "venue") and data.get(kind) == old:
        yield _Change((kind,), new)
    if of_kind == "venue" and kind == "show":
        for number, visit in enumerate(data.get("visits", [])):
            if visit.get("show") == old:
                yield _Change(("visits", number, "show"), new)
    if of_kind != "show":
        return
    lists = {"checklist": ("checklists",), "song": ("encore", "reserve")}.get(kind, ())
    for name in lists:
        for number, item in enumerate(data.get(name, [])):
            if item == old:
                yield _Change((name, number), new)
    if kind == "song":
        yield from _in_sets(data, old, new)
        yield from (_Change((table, old)) for table in ("stand_ins", "tonight") if old in data.get(table, {}))


def _in_sets(data: dict[str, Any], old: str, new: str) -> Iterator[_Change]:
    for number, part in enumerate(data.get("sets", [])):
        for place, slot in enumerate(part.get("songs", [])):
            key: KeyPath = ("sets", number, "songs", place)
            if slot.get("song") == old:
                yield _Change((*key, "song"), new)
            for pin in ("after", "not after"):
                if slot.get("pin") == f"{pin} {old}":
                    yield _Change((*key, "pin"), f"{pin} {new}")


def key_renamed(file: str, source: bytes, key: KeyPath, name: str) -> bytes:
    """The file with a table under another key, each place that writes the key changed and nothing else.

    CannotChangeError where its layout doesn't allow it.
    """
    text, table, old = decoded(source), key[:-1], key[-1]
    marks = [mark for mark in Layout(text).marks if mark.path[: len(key)] == key and len(mark.outer) < len(key)]
    for mark in reversed(marks):
        start, end = _segment(text, mark, len(key) - 1 - len(mark.outer))
        text = text[:start] + bare_or_quoted(name) + text[end:]
    data = tomllib.loads(decoded(source))
    top = str(table[0])
    meant = data | {top: {name if step == old else step: value for step, value in data[top].items()}}
    try:
        done = same(tomllib.loads(text), meant)
    except ValueError:
        done = False
    if not done:
        raise CannotChangeError(f"{dotted(key)} in {file} can't be renamed in place", "change it in a text editor")
    return (BOM if source.startswith(BOM) else b"") + text.encode("utf-8")


def _segment(text: str, mark: Mark, number: int) -> tuple[int, int]:
    """Start and end of one of the keys that a header or a statement begins with."""
    found = list(_KEY.finditer(text, mark.start, mark.end))[number]
    return found.start(), found.end()


def _checked(kind: str, slug: str, source: bytes) -> bytes:
    _, problems = read_document(kind, slug, source)
    if problems:
        raise BookError(problems[0].what, problems[0].mend)
    return source
