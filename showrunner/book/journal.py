"""The journal of a change of several files: a line of JSON that says what is to be done, then the files' contents.

Every file stands there as it is before and as it will be after, whole and as plain as it is, in the line's order.
"""

import json
import os
import stat
from pathlib import Path, PurePath
from typing import Any, NamedTuple

from showrunner.book.files import FileChange, FileChanges
from showrunner.book.problems import BookError
from showrunner.book.read import BOOK_FILE, JOURNAL
from showrunner.book.save import digest
from showrunner.model.library import KINDS
from showrunner.model.visible import visible_line

FORMAT = 1
LARGEST_JOURNAL = 1 << 30
_MOVED = ("takes", "runs")
_FOLDERS = (*(f"{kind}s" for kind in KINDS), *_MOVED, ".showrunner")


class JournalError(BookError):
    """A journal that can't be read, so that what was stopped half way can be neither finished nor taken back."""


class Entry(NamedTuple):
    """What a journal says: what is done in words, the changes, and the folders that they make, outermost first."""

    what: str
    changes: FileChanges
    made: tuple[str, ...] = ()


def written(entry: Entry) -> bytes:
    """The journal's bytes."""
    sources = [source for one in entry.changes.changes for source in (one.before, one.after)]
    contents = b"".join(source for source in sources if source is not None)
    head = {
        "format": FORMAT,
        "what": entry.what,
        "files": [[one.file, _size(one.before), _size(one.after)] for one in entry.changes.changes],
        "folders": entry.changes.folders,
        "made": entry.made,
        "sha256": digest(contents),
    }
    return json.dumps(head).encode() + b"\n" + contents


def read_journal(root: Path) -> Entry | None:
    """What the book's journal says, None if it has none; JournalError where it can't be read or isn't a book's."""
    path = root / JOURNAL
    try:
        found = path.lstat()
        if not stat.S_ISREG(found.st_mode) or found.st_size > LARGEST_JOURNAL:
            raise JournalError(f"{JOURNAL} is no journal of a change", "delete it, and look what showrunner check says")
        line, _, contents = path.read_bytes().partition(b"\n")
    except FileNotFoundError:
        return None
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise JournalError(f"{JOURNAL} can't be read ({reason})", "look at its permissions") from None
    try:
        head = json.loads(line)
        if isinstance(head, dict) and isinstance(head.get("format"), int) and head["format"] > FORMAT:
            what = f"{JOURNAL} is of format {head['format']}, and this Showrunner knows {FORMAT}"
            raise JournalError(what, "open the book once with the newer Showrunner")
        return _entry(head, contents)
    except (KeyError, TypeError, ValueError, RecursionError, AttributeError):
        mend = "look at the book's files with showrunner check, mend them, then delete the journal"
        raise JournalError(f"{JOURNAL}, which says how a change goes on, is damaged", mend) from None


def _entry(head: Any, contents: bytes) -> Entry:
    """The entry that a line and contents are; ValueError and the like where they are none."""
    if head["format"] != FORMAT or digest(contents) != head["sha256"]:
        raise ValueError("not whole")
    at, changes = 0, list[FileChange]()
    for file, *sizes in head["files"]:
        sources: list[bytes | None] = []
        for size in sizes:
            sources.append(None if size is None else contents[at : at + size])
            at += size or 0
        before, after = sources
        changes.append(FileChange(_file(file), before, after))
    folders = tuple((_moved(old), _moved(new)) for old, new in head["folders"])
    return Entry(
        visible_line(str(head["what"])), FileChanges(tuple(changes), folders), tuple(map(_inside, head["made"]))
    )


def _file(path: str) -> str:
    if path != BOOK_FILE and "/" not in _inside(path):
        raise ValueError("no file of a book")
    return path


def _moved(path: str) -> str:
    if path.split("/")[0] not in _MOVED or _inside(path).count("/") != 1:
        raise ValueError("no folder that moves")
    return path


def _inside(path: str) -> str:
    """The path itself; ValueError where it is in none of a book's own folders, or can be on no system."""
    os.fsencode(path)
    parts = PurePath(path).parts
    if parts != tuple(path.split("/")) or ".." in parts or "\0" in path or parts[0] not in _FOLDERS:
        raise ValueError("no path of a book")
    return path


def _size(source: bytes | None) -> int | None:
    return None if source is None else len(source)
