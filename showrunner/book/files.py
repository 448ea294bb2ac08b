"""Changes of several whole files that belong together; `transaction.apply` makes them."""

from typing import NamedTuple

from showrunner.book.read import decoded


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
