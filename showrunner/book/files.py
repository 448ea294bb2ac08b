"""Changes of several whole files, in an order that leaves a readable book wherever it is stopped.

New files are written first, then what is changed, folders moved next, and files that go are deleted last.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from showrunner.book.read import decoded
from showrunner.book.save import ChangedError, SaveError, digest, save


class FileChange(NamedTuple):
    """One file, relative to the book, before and after; None where there is no such file."""

    file: str
    before: bytes | None
    after: bytes | None


class ChangedLine(NamedTuple):
    """A line of a file, counted from 1, before and after."""

    file: str
    line: int
    before: str
    after: str


class FileChanges(NamedTuple):
    """Changes that belong together, and folders that move, from and to; all paths are relative to the book."""

    changes: tuple[FileChange, ...]
    folders: tuple[tuple[str, str], ...] = ()

    @property
    def inverse(self) -> "FileChanges":
        """What takes all of them back."""
        changes = tuple(FileChange(one.file, one.after, one.before) for one in self.changes)
        return FileChanges(changes, tuple((new, old) for old, new in self.folders))

    @property
    def new(self) -> tuple[str, ...]:
        """Files that are written new."""
        return tuple(one.file for one in self.changes if one.before is None)

    @property
    def gone(self) -> tuple[str, ...]:
        """Files that are deleted."""
        return tuple(one.file for one in self.changes if one.after is None)

    @property
    def lines(self) -> tuple[ChangedLine, ...]:
        """Every line that differs in files that stay, where they keep their number of lines."""
        found: list[ChangedLine] = []
        for file, before, after in self.changes:
            if before is None or after is None:
                continue
            pairs = zip(decoded(before).splitlines(), decoded(after).splitlines(), strict=False)
            found += [ChangedLine(file, number, *pair) for number, pair in enumerate(pairs, 1) if pair[0] != pair[1]]
        return tuple(found)


def carry_out(root: Path, changes: FileChanges) -> None:
    """Makes all changes; ChangedError, and nothing done, where a file is neither as before nor as after."""
    for _ in steps(root, changes):
        pass


def steps(root: Path, changes: FileChanges) -> Iterator[str]:
    """Makes the changes one by one and names each once it is on disk; what is done already is passed over.

    Stopped anywhere, the same changes made again go on from there. Errors as for `carry_out`.
    """
    for one in changes.changes:
        if _now(root / one.file) not in (one.before, one.after):
            raise ChangedError(
                f"{one.file} changed since it was read", "read the book again, then make the change anew"
            )
    for old, new in changes.folders:
        if (root / old).exists() and (root / new).exists():
            raise SaveError(f"{new} is there already", f"move what is in {old} yourself, or take another name")
    for one in sorted(changes.changes, key=lambda one: one.before is not None):
        if one.after is not None and _now(root / one.file) != one.after:
            with _told(one.file, "made"):
                (root / one.file).parent.mkdir(parents=True, exist_ok=True)
            save(root / one.file, one.after, None if one.before is None else digest(one.before))
            yield one.file
    for old, new in changes.folders:
        if (root / old).exists():
            with _told(old):
                os.rename(root / old, root / new)
            yield new
    for one in changes.changes:
        if one.after is None and _now(root / one.file) == one.before and one.before is not None:
            with _told(one.file):
                (root / one.file).unlink()
            _without_empty(root, (root / one.file).parent)
            yield one.file


def _now(path: Path) -> bytes | None:
    with _told(path.name, "read"):
        return path.read_bytes() if path.exists() else None


def _without_empty(root: Path, folder: Path) -> None:
    """Takes away the folders that a file was alone in, which would be missing without it; the book stays."""
    with suppress(OSError):
        while folder != root:
            folder.rmdir()
            folder = folder.parent


@contextmanager
def _told(path: str, done: str = "moved or deleted") -> Iterator[None]:
    """Says in words what the system refuses."""
    try:
        yield
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise SaveError(f"{path} can't be {done} ({reason})", "look at the permissions") from error
