"""Documents that are there and can't be read: what they are called as far as can be told, and all that is wrong."""

import tomllib
from typing import NamedTuple

from showrunner.book.problems import Problem
from showrunner.book.read import Reading, file_of
from showrunner.model.library import KINDS

CANT = "can't be read"
OPENS = "ctrl+e opens it in the editor"


class Unread(NamedTuple):
    """One document that can't be read."""

    file: str
    title: str
    problems: tuple[Problem, ...]

    @property
    def where(self) -> str:
        """The line of the first problem that has one."""
        return next((f"line {problem.line}" for problem in self.problems if problem.line is not None), "")

    @property
    def in_short(self) -> str:
        """That it can't be read, and where the first problem is."""
        return f"{CANT}: {self.where}" if self.where else CANT

    @property
    def first(self) -> str:
        """That it can't be read, and why."""
        return f"{self.file} {CANT}: {at_line(self.problems[0])}" if self.problems else f"{self.file} {CANT}"

    def lines(self) -> list[str]:
        """All that is wrong, line by line, and the key that opens the file in an editor."""
        return [f"{self.file} {CANT}; {OPENS}", *map(at_line, self.problems)]


def unread(reading: Reading, kind: str) -> dict[str, Unread]:
    """Every document of a kind that can't be read, in the book's order."""
    return {slug: found for slug in reading.slugs(kind) if (found := unread_of(reading, kind, slug)) is not None}


def unread_of(reading: Reading, kind: str, slug: str | None) -> Unread | None:
    """What can't be read of a document; None where it can be, or isn't there."""
    if slug is None or (kind, slug) not in reading.unread:
        return None
    title = _title(reading.sources.get((kind, slug), b"")) or slug
    return Unread(reading.file(kind, slug), title, reading.wrong_with(kind, slug))


def slugs_of(reading: Reading, show: str | None) -> list[str]:
    """A show's checklists in its order, those that can't be read among them; all of the book's where it names none."""
    the_show = reading.book.shows.get(show or "")
    named = the_show.checklists if the_show is not None else ()
    return [slug for slug in named if reading.has("checklist", slug)] or reading.slugs("checklist")


def titles(reading: Reading, kind: str) -> dict[str, str]:
    """What every document of a kind is called, and that it can't be read where it can't be."""
    wrong, good = unread(reading, kind), getattr(reading.book, f"{kind}s")
    return {
        slug: f"{wrong[slug].title} ({CANT})" if slug in wrong else good[slug].title for slug in reading.slugs(kind)
    }


def name_of(file: str) -> tuple[str, str] | None:
    """Kind and slug of the document that a file of the book holds."""
    folder, _, name = file.rpartition("/")
    kind, slug = folder.removesuffix("s"), name.removesuffix(".toml")
    return (kind, slug) if kind in KINDS and file == file_of(kind, slug) else None


def at_line(problem: Problem) -> str:
    """A problem of a file that is named already."""
    said = str(problem._replace(file="", line=None))
    return said if problem.line is None else f"line {problem.line}: {said}"


def _title(source: bytes) -> str | None:
    """The title that stands above a document's tables, if that line can be read."""
    for line in source.decode("utf-8", "replace").splitlines():
        if line.startswith("["):
            break
        if line.partition("=")[0].strip() == "title":
            try:
                title = tomllib.loads(line)["title"]
            except (ValueError, RecursionError):
                break
            return title if isinstance(title, str) and title.strip() and title.isprintable() else None
    return None
