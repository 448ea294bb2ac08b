"""What is wrong with a file of the book, and the errors this room raises."""

from collections.abc import Callable, Hashable, Iterable, Iterator
from typing import NamedTuple, TypeVar

from showrunner.model.keys import KeyPath

T = TypeVar("T")

MOST_ALIKE = 20
"""Problems of one kind that a file may have, each with a line of its own; more are one line and a count."""


class Problem(NamedTuple):
    """One thing wrong with one file: where, what, and how to mend it; `key` is dotted, empty for the whole file."""

    file: str
    line: int | None
    key: str
    what: str
    mend: str

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        what = ": ".join(part for part in (place, self.key, self.what) if part)
        return f"{what}; {self.mend}" if self.mend else what


class BookError(Exception):
    """Something the book can't do, in words for the user: what is wrong, and how to mend it."""

    def __init__(self, what: str, mend: str = "") -> None:
        super().__init__(f"{what}; {mend}" if mend else what)
        self.what = what
        self.mend = mend


class MissingBookError(BookError):
    """There is no book at the path given."""


def gathered(found: Iterable[T], alike: Callable[[T], Hashable]) -> Iterator[tuple[T, str]]:
    """Each of what was found, and nothing to add; of more than `MOST_ALIKE` the first, and how many more there are."""
    groups: dict[Hashable, list[T]] = {}
    for one in found:
        groups.setdefault(alike(one), []).append(one)
    for group in groups.values():
        if len(group) > MOST_ALIKE:
            yield group[0], f", and {len(group) - 1:,} more like it"
        else:
            yield from ((one, "") for one in group)


def numberless(key: KeyPath) -> KeyPath:
    """A key path with every item of a list as the first, the same for all items."""
    return tuple(0 if isinstance(step, int) else step for step in key)
