"""What is wrong with a file of the book, and the errors this room raises."""

from typing import NamedTuple


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
