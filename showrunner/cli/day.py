"""The day sheet of `time --day`, as data and as text."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from showrunner.cli.output import columns, paragraph
from showrunner.model.units import format_clock, format_clocks, format_length
from showrunner.planning.day import CURFEW, LAST_NOTE, Part

if TYPE_CHECKING:
    from showrunner.model.library import Book
    from showrunner.model.show import Show


def day_data(slug: str, parts: Sequence[Part]) -> dict[str, Any]:
    """The day as JSON; clock times as hh:mm."""
    return {
        "show": slug,
        "day": [
            {
                "at": format_clock(part.at),
                "what": part.what,
                "minutes": part.minutes,
                "checklists": list(part.checklists),
            }
            for part in parts
        ],
    }


def day_lines(book: "Book", show: "Show", parts: Sequence[Part]) -> Iterator[str]:
    """The day as text."""
    yield show.title + (f", {show.date}" if show.date is not None else "")
    venue = book.venues.get(show.venue) if show.venue is not None else None
    if venue is not None:
        yield venue.title
    yield ""
    end = [part for part in parts if part.what in (LAST_NOTE, CURFEW)]
    clocks = dict(zip(end, format_clocks(*(part.at for part in end)), strict=True))
    rows = [
        (
            clocks.get(part) or format_clock(part.at),
            part.what,
            format_length(part.minutes * 60) if part.minutes else "",
            ", ".join(book.checklists[slug].title for slug in part.checklists),
        )
        for part in parts
    ]
    yield from columns(rows, right=(2,))
    yield ""
    yield from paragraph("Times before and after the show are our own figures; the venue's own come first.")
