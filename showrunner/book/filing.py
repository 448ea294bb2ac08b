"""Edits of several files made together, kept in a record of their own so that any program can take them back later.

The files and their record are one change (`transaction`): all of them or none. Versions before that wrote the record
first and marked it done after the last file; one that such a version left half done is settled here.
"""

import json
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from showrunner.book.change import CannotChangeError, Edit, StaleEditError, applied, apply, edit, insertion
from showrunner.book.data import ABSENT, value_at
from showrunner.book.files import FileChange, FileChanges
from showrunner.book.pack_manifest import document_of, refused
from showrunner.book.problems import BookError
from showrunner.book.read import Reading, decoded, read_document
from showrunner.book.render import inline
from showrunner.book.transaction import apply as apply_all
from showrunner.model.keys import KeyPath
from showrunner.plain_file import NotPlainError, TooLargeError, read_file

MAKING, MADE, TAKING_BACK = "making", "made", "taking back"
FORMAT = 1


class FiledFile(NamedTuple):
    """One file before and after, and the edits between."""

    file: str
    before: bytes
    after: bytes
    edits: tuple[Edit, ...]


class Filing(NamedTuple):
    """Files that change together, and `notes`, plain data that the record keeps with them."""

    files: tuple[FiledFile, ...]
    notes: Mapping[str, Any] = MappingProxyType({})

    @property
    def changes(self) -> FileChanges:
        """The files' changes."""
        return FileChanges(tuple(FileChange(one.file, one.before, one.after) for one in self.files))


def edited(reading: Reading, kind: str, slug: str, changes: Sequence[tuple[KeyPath, Any]]) -> FiledFile:
    """A document's file with keys changed; a key that ends in a number of a list gets an item put in there.

    BookError, with the file, where it can't be read, can't be changed so, or would not be read afterwards.
    """
    file = reading.file(kind, slug)
    if (kind, slug) not in reading.sources or (kind, slug) in reading.unread:
        raise BookError(f"{file} can't be read", "mend it in an editor first; nothing was changed")
    before = source = reading.sources[kind, slug]
    edits: list[Edit] = []
    for key, value in changes:
        edits.append(_edit(file, source, key, value))
        source = apply(source, edits[-1])
    for problem in read_document(kind, slug, source)[1]:
        raise BookError(f"{file}: {problem.key}: {problem.what}", problem.mend)
    return FiledFile(file, before, source, tuple(edits))


def make(root: Path, record: str, filing: Filing, what: str) -> None:
    """Change all files and keep the record, or leave all as it was: BookError where a file can't be changed.

    ChangedError where a record of that name is there already; `what` is as for `transaction.apply`.
    """
    kept = FileChange(record, None, _record(filing))
    apply_all(root, FileChanges((*filing.changes.changes, kept)), what)


def take_back(root: Path, record: str, what: str) -> tuple[str, ...]:
    """Give every file back as it was and drop the record; the files. BookError, and nothing changed, where one can't.

    A file that nobody changed since gets its own bytes back. One that was changed elsewhere keeps that, and loses
    what was filed if it still stands.
    """
    written, filing = _read(root / record)
    back = (*(_back(root, one) for one in filing.files), FileChange(record, written, None))
    apply_all(root, FileChanges(back), what)
    return tuple(one.file for one in filing.files)


def half_done(root: Path, record: str) -> bool:
    """Whether a version from before there were journals left a record half done; BookError where it can't be read."""
    data = _data(root / record)
    return data is not None and data["state"] != MADE


def settle(root: Path, record: str) -> None:
    """Finish what such a version left half done: on where it was going, or back where somebody changed a file since."""
    data = _data(root / record)
    if data is None or data["state"] == MADE:
        return
    written, filing = _read(root / record)
    forward = filing.changes
    if data["state"] == TAKING_BACK:
        try:
            forward = _changes_from(data["back"])
        except (KeyError, TypeError, ValueError, AttributeError):
            raise unreadable(root / record) from None
    now = {one.file: _now(root / one.file) for one in forward.changes}
    done = all(now[one.file] in (one.before, one.after) for one in forward.changes)
    towards = forward if done else forward.inverse
    moving = [FileChange(one.file, now[one.file], one.after) for one in towards.changes if now[one.file] == one.before]
    stays = (data["state"] == MAKING) == done
    moving.append(FileChange(record, written, _record(filing) if stays else None))
    apply_all(root, FileChanges(tuple(moving)), f"settling {record}")


def filed(root: Path, record: str) -> Filing | None:
    """What a record says was filed; None where there is none, or where it was stopped half way and nothing stands."""
    data = _data(root / record)
    if data is None:
        return None
    filing = _read(root / record)[1]
    stands = data["state"] == MADE or all(_now(root / one.file) == one.after for one in filing.files)
    return filing if stands else None


def _edit(file: str, source: bytes, key: KeyPath, value: Any) -> Edit:
    data = tomllib.loads(decoded(source))
    if isinstance(key[-1], int):
        there = value_at(data, key[:-1])
        return (
            insertion(file, key, value) if isinstance(there, list) and there else edit(file, source, key[:-1], [value])
        )
    return edit(file, source, key, value)


def _back(root: Path, one: FiledFile) -> FileChange:
    now = _now(root / one.file)
    if now is None:
        raise BookError(f"{one.file} is not there any more", "nothing was changed")
    inverses = tuple(made.inverse for made in reversed(one.edits))
    try:
        return FileChange(one.file, now, applied(now, inverses, one.after, one.before))
    except (StaleEditError, CannotChangeError) as error:
        raise StaleEditError(
            error.what, "put back what was filed there, or leave all of it; nothing was changed"
        ) from error


def _record(filing: Filing) -> bytes:
    data: dict[str, Any] = {"format": FORMAT, "state": MADE, **filing.notes}
    data["files"] = [
        {
            "file": one.file,
            "before": one.before.decode("utf-8"),
            "after": one.after.decode("utf-8"),
            "edits": [
                {"key": list(made.key), "before": _toml(made.before), "after": _toml(made.after)} for made in one.edits
            ],
        }
        for one in filing.files
    ]
    return json.dumps(data, ensure_ascii=False, indent=1).encode("utf-8") + b"\n"


def _read(path: Path) -> tuple[bytes, Filing]:
    data = _data(path)
    if data is None:
        raise BookError(f"{path.name} is not there", "nothing was filed")
    try:
        files = tuple(
            FiledFile(
                change.file,
                change.before or b"",
                change.after or b"",
                tuple(
                    Edit(change.file, tuple(made["key"]), _value(made["before"]), _value(made["after"]))
                    for made in one["edits"]
                ),
            )
            for change, one in zip(_changes_from(data["files"]).changes, data["files"], strict=True)
        )
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError):
        raise unreadable(path) from None
    notes = {name: value for name, value in data.items() if name not in ("format", "state", "files", "back")}
    return read_file(path), Filing(files, MappingProxyType(notes))


def _data(path: Path) -> dict[str, Any] | None:
    try:
        data = json.loads(read_file(path))
    except FileNotFoundError:
        return None
    except (ValueError, RecursionError, NotPlainError, TooLargeError):
        raise unreadable(path) from None
    if not isinstance(data, dict) or data.get("state") not in (MAKING, MADE, TAKING_BACK):
        raise unreadable(path)
    if data.get("format", FORMAT) != FORMAT:
        what = f"{path.name} is of another format than this Showrunner knows, {FORMAT}"
        raise BookError(what, "use the version that wrote it, or a newer one; nothing was changed")
    return data


def _changes_from(rows: Sequence[Mapping[str, str]]) -> FileChanges:
    """The changes that a record lists; ValueError for a file that is no document of the book."""
    if any(document_of(row["file"]) is None or refused(row["file"]) for row in rows):
        raise ValueError("not a document")
    return FileChanges(tuple(FileChange(r["file"], r["before"].encode(), r["after"].encode()) for r in rows))


def unreadable(path: Path) -> BookError:
    """That a record is none."""
    mend = "put it back from a copy; without it what was filed stays, and can't be taken back"
    return BookError(f"{path.name} can't be read as the record of what was filed", mend)


def _now(path: Path) -> bytes | None:
    return read_file(path) if path.exists() else None


def _toml(value: Any) -> str | None:
    return None if value is ABSENT else inline(value)


def _value(text: str | None) -> Any:
    return ABSENT if text is None else tomllib.loads(f"value = {text}")["value"]
