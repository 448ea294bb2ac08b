"""A show's sheet for one audience in one format."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

from showrunner.model.library import Book
from showrunner.model.nearest import did_you_mean
from showrunner.planning.timing import running_time
from showrunner.sheets.crew import crew
from showrunner.sheets.desk import desk
from showrunner.sheets.errors import SheetError
from showrunner.sheets.escape import for_html, for_md, for_text
from showrunner.sheets.fill import Escape, fill
from showrunner.sheets.find import find, read
from showrunner.sheets.floor import floor
from showrunner.sheets.language import Source, parse
from showrunner.sheets.pdf import to_pdf
from showrunner.sheets.plain import plain
from showrunner.sheets.player import player
from showrunner.sheets.table import Night, to_csv
from showrunner.sheets.width import fold

Audience = Literal["floor", "player", "crew", "desk"]
SheetFormat = Literal["text", "md", "html", "pdf", "csv"]

AUDIENCES: Mapping[str, Callable[..., Any]] = {"floor": floor, "player": player, "crew": crew, "desk": desk}
FILLED: Mapping[str, tuple[str, Escape]] = {
    "text": (".txt", for_text),
    "md": (".md", for_md),
    "html": (".html", for_html),
}
"""Formats made from a template of our own language: the suffix of the template, and how text is made safe in it."""


def content(book: Book, show_slug: str, audience: Audience) -> dict[str, Any]:
    """What a sheet says, as plain data; SheetError for a show or a rig that the book does not have."""
    made: dict[str, Any] = plain(AUDIENCES[audience](*_night(book, show_slug)))
    return made


def _night(book: Book, show_slug: str) -> Night:
    """A show on its rig with the times of its songs; SheetError where the book does not have one of them."""
    show = book.shows.get(show_slug)
    if show is None:
        raise SheetError(
            f'the book has no show "{show_slug}"',
            did_you_mean(show_slug, book.shows, f"it has {', '.join(book.shows) or 'none'}"),
        )
    rig_slug = book.rig_of(show)
    rig = book.rigs.get(rig_slug) if rig_slug is not None else None
    if rig is None:
        wanted = f'the rig "{rig_slug}" is not in the book' if rig_slug is not None else "the show names no rig"
        raise SheetError(wanted, f'write rig = "…" into the show; there are {", ".join(book.rigs) or "none"}')
    time = running_time(book, show)
    starts = (
        {}
        if show.start is None
        else {song.song: show.start + song.starts_s / 60 for part in time.sets for song in part.songs}
    )
    return Night(book, show, rig, starts, time.finish)


def render(
    book: Book,
    show_slug: str,
    audience: Audience,
    format: SheetFormat,  # noqa: A002
    templates: Sequence[Path],
) -> bytes:
    """A sheet's bytes, the same for the same book; `templates` are folders searched first to last."""
    if format == "csv":
        return to_csv(audience, _night(book, show_slug))
    data = content(book, show_slug, audience)
    if format == "pdf":
        return to_pdf(f"{audience}.typ", data, templates)
    suffix, escape = FILLED[format]

    def source(name: str) -> Source:
        path = find(name, templates)
        return path, read(path)

    lines = fill(parse(*source(audience + suffix), source), data, escape)
    text = [piece for line in lines for piece in (fold(*line) if format == "text" else (line.text,))]
    return ("\n".join(text).rstrip("\n") + "\n").encode("utf-8")
