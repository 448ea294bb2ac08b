"""A step that is taken back or made again over what the files say by now: what still fits, and where both clash."""

import os
import tomllib
from collections.abc import Mapping
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from showrunner.book.change import Edit, StaleEditError, apply, edit, with_lines
from showrunner.book.data import ABSENT, same, value_at
from showrunner.book.files import FileChange, FileChanges
from showrunner.book.problems import BookError
from showrunner.book.read import decoded, read_document
from showrunner.model.keys import KeyPath
from showrunner.plain_file import read_file
from showrunner.tui.made import Choice, Chosen, ClashError, Edits
from showrunner.tui.unread import name_of

Files = Mapping[str, bytes | None]
"""What files hold, None where there is none."""


def settled(made: Edits, source: bytes, chosen: Chosen) -> Edits:
    """The edits as they can be made of what the file says now, with what was chosen where it says something else.

    ClashError where that is still to be chosen. Without any edit the file says already what they would make of it.
    """
    now, text, edits = _data(source), source, list[Edit]()
    for one in made.edits:
        if any(one.key[: len(key)] == key for key in chosen):
            continue
        try:
            text = apply(text, one)
        except StaleEditError:
            key = _whole(one, now, made)
            mine, theirs = value_at(_data(made.after), key), value_at(now, key)
            if not same(mine, theirs):
                raise ClashError(made.file, key, mine=mine, theirs=theirs) from None
            return settled(made, source, {**chosen, key: Choice(theirs, theirs)})
        edits.append(one)
    for key, choice in chosen.items():
        theirs = value_at(now, key)
        if not same(theirs, choice.theirs):
            raise ClashError(made.file, key, mine=choice.stands, theirs=theirs)
        edits.append(edit(made.file, text, key, choice.stands))
        text = apply(text, edits[-1])
    if not chosen:
        return made
    differ = tuple(one for one in edits if not same(one.before, one.after))
    return Edits(made.kind, made.slug, differ, source, text)


def settled_files(root: Path, made: FileChanges, chosen: Chosen) -> FileChanges:
    """The same for whole files: lines that still stand are changed in a file that was changed elsewhere.

    Where they don't, the files as they are now clash with all of what is to be made.
    """
    now = {one.file: _held(root / one.file) for one in made.changes}
    changes, clashing = [], list[FileChange]()
    for one in made.changes:
        fits = _fitting(one, now[one.file])
        if fits is None:
            clashing.append(one)
        changes.append(fits or one._replace(before=now[one.file]))
    meant = FileChanges(tuple(changes), made.folders)
    theirs = {one.file: now[one.file] for one in clashing}
    if clashing and not (() in chosen and chosen[()].theirs == theirs):
        raise FilesClashError(meant, {one.file: one.before for one in clashing}, theirs)
    return meant


class FilesClashError(ClashError):
    """Whole files that were changed since by somebody else; what stands is chosen for all of a step at once."""

    def __init__(self, meant: FileChanges, left: Files, theirs: Files) -> None:
        super().__init__(next(iter(theirs)), (), mine=meant, theirs=theirs)
        lines = [f"{old}/ becomes {new}/" for old, new in meant.folders]
        for file, before, after in meant.changes:
            if before != after:
                lines.append(f"{file}: {'deleted' if after is None else 'new' if before is None else 'changed'}")
        self.words = "\n".join(lines), "\n".join(f"{file}:\n{_differs(left[file], theirs[file])}" for file in theirs)


def _differs(left: bytes | None, now: bytes | None) -> str:
    """What a file has otherwise than it was left."""
    if now is None:
        return "deleted"
    had, has = ((text or b"").decode("utf-8", "replace").splitlines() for text in (left, now))
    lines: list[str] = []
    for what, start, end, first, last in SequenceMatcher(None, had, has, autojunk=False).get_opcodes():
        if what != "equal":
            lines += [f"  before {line.strip()}" for line in had[start:end]]
            lines += [f"  after  {line.strip()}" for line in has[first:last]]
    return "\n".join(lines)


def _fitting(one: FileChange, now: bytes | None) -> FileChange | None:
    """The change as it can be made of what the file holds now; None where that is not what it was made for."""
    if now in (one.before, one.after):
        return one
    if now is None or one.before is None or one.after is None:
        return None
    lines = with_lines(now, one.before, one.after)
    name = name_of(one.file)
    reads = name is None or read_document(*name, lines)[0] is not None
    return FileChange(one.file, now, lines) if lines != now and reads else None


def _whole(one: Edit, now: Any, made: Edits) -> KeyPath:
    """The key that clashes: the list around it where items came or went, since their numbers tell nothing then."""
    was, key = _data(made.before), one.key
    for at, step in enumerate(key):
        if isinstance(step, int):
            there, before = value_at(now, key[:at]), value_at(was, key[:at])
            as_many = isinstance(there, list) and isinstance(before, list) and len(there) == len(before)
            moves = at == len(key) - 1 and ABSENT in (one.before, one.after)
            if moves or not as_many:
                return key[:at]
    return key


def _held(file: Path) -> bytes | None:
    try:
        return read_file(file) if os.path.lexists(file) else None
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise BookError(f"{file.name} can't be read ({reason})", "nothing was changed") from None


def _data(source: bytes) -> Any:
    return tomllib.loads(decoded(source))
