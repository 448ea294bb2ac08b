"""A pack put into a book: what is new, the same or differs, what is to be done with each, and the doing."""

import os
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from typing import Literal, NamedTuple

from showrunner.book.files import FileChange, FileChanges
from showrunner.book.pack_manifest import Contents, PackError
from showrunner.book.problems import Problem
from showrunner.book.read import BOOK_FILE
from showrunner.book.safe_names import folded
from showrunner.book.start import is_empty, put_files
from showrunner.model.keys import quoted

State = Literal["new", "same", "differs"]
Fate = Literal["written", "left", "kept", "replaced", "undecided"]


class Coming(NamedTuple):
    """One file of a pack beside the book's own; `before` is None where the book has none."""

    file: str
    before: bytes | None
    after: bytes

    @property
    def state(self) -> State:
        """How the two compare."""
        return "new" if self.before is None else "same" if self.before == self.after else "differs"


class Decided(NamedTuple):
    """What becomes of one file; `aside` is where the book's own version goes that is replaced."""

    coming: Coming
    fate: Fate
    aside: str | None = None


def compared(root: Path, contents: Contents) -> tuple[Coming, ...]:
    """Each file of a pack beside the book's own; PackError where one can't go where it belongs."""
    if root.exists() and (not root.is_dir() or (not is_empty(root) and not (root / BOOK_FILE).exists())):
        raise PackError(f"{quoted(str(root))} is neither a book nor an empty folder", "give a new path, or a book's")
    problems = [problem for file in sorted(contents.files) for problem in _in_the_way(root, file)]
    if problems:
        raise PackError("not all of the pack can go into this book", problems=tuple(problems))
    return tuple(Coming(file, _now(root / file), contents.files[file]) for file in sorted(contents.files))


def decided(
    root: Path, coming: Sequence[Coming], *, take: Collection[str], keep: Collection[str], otherwise: Fate
) -> tuple[Decided, ...]:
    """What becomes of each file: `otherwise` for those that differ and aren't named; a book keeps its own book.toml."""

    def fate(one: Coming) -> Fate:
        if one.state != "differs":
            return "written" if one.state == "new" else "left"
        if one.file in take or one.file in keep:
            return "replaced" if one.file in take else "kept"
        return "kept" if one.file == BOOK_FILE else otherwise

    fates = [(one, fate(one)) for one in coming]
    return tuple(Decided(one, of, _aside(root, one) if of == "replaced" else None) for one, of in fates)


def put(root: Path, plan: Sequence[Decided], what: str) -> None:
    """Writes what is to be written, all of it or nothing; what is replaced is kept beside under another name.

    `what` says so in words, for whoever finds it stopped half way.
    """
    changes: list[FileChange] = []
    for coming, fate, aside in plan:
        if aside is not None and not (root / aside).exists():
            changes.append(FileChange(aside, None, coming.before))
        if fate in ("written", "replaced"):
            changes.append(FileChange(coming.file, coming.before, coming.after))
    put_files(root, FileChanges(tuple(changes)), what)


def _aside(root: Path, one: Coming) -> str:
    """A name beside the file that is free, or holds this version already."""
    number = 1
    while True:
        name = f"{one.file}.old" + (f"-{number}" if number > 1 else "")
        if not os.path.lexists(root / name) or _now(root / name) == one.before:
            return name
        number += 1


def _in_the_way(root: Path, file: str) -> Iterator[Problem]:
    path = root / file
    if not path.resolve().is_relative_to(root.resolve()):
        yield Problem(file, None, "", "a link leads out of the book here", "replace the link by what it leads to")
    elif os.path.lexists(path) and not path.is_file():
        yield Problem(file, None, "", "something that is no file is there already", "move it elsewhere")
    step = root
    for name in file.split("/"):
        if not step.is_dir():
            if step.exists():
                yield Problem(file, None, "", f"{step.name} is no folder", "move it elsewhere")
            return
        for there in step.iterdir():
            if there.name != name and folded(there.name) == folded(name):
                yield Problem(file, None, "", f"the book has {quoted(there.name)}", "give both the same name first")
        step /= name


def _now(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None
