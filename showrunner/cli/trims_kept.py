"""Keeps trims: into the show as they are set, and into the venue's visits when the show is closed."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple, cast

import click

from showrunner.cli.common import difference, trouble
from showrunner.model.nearest import did_you_mean

if TYPE_CHECKING:
    from showrunner.book.filing import FiledFile
    from showrunner.book.read import Reading
    from showrunner.model.keys import KeyPath
    from showrunner.model.show import Show

PLAIN = {"input gain": "input_gain_db", "interface volume": "interface_volume_db"}


def parse_settings(_ctx: click.Context, _param: click.Parameter, given: Sequence[str]) -> tuple[tuple[str, float], ...]:
    """Names and numbers of `NAME=NUMBER`; wrong usage for anything else."""
    settings = []
    for text in given:
        name, equals, figure = text.rpartition("=")
        try:
            number = float(figure)
        except ValueError:
            number = math.nan
        if not equals or not name.strip() or not math.isfinite(number):
            raise click.BadParameter(f'"{text}" sets nothing; write NAME=NUMBER, as in "interface volume=-1.5"')
        settings.append((name.strip(), number))
    return tuple(settings)


class Kept(NamedTuple):
    """What is to be kept: the files as they will be, and the book as if they were so already."""

    reading: "Reading"
    files: "tuple[FiledFile, ...]" = ()

    @property
    def names(self) -> list[str]:
        """The files that change."""
        return [one.file for one in self.files]

    def write(self) -> None:
        """Write all of them; BookError, and nothing done, where one changed meanwhile."""
        from showrunner.book.filing import Filing
        from showrunner.book.transaction import apply

        apply(self.reading.root, Filing(self.files).changes, f"keeping trims in {' and '.join(self.names)}")

    def lines(self, *, written: bool) -> Iterator[str]:
        """Which files were written, or what would change in them."""
        if not self.files:
            return
        names = " and ".join(self.names)
        yield ""
        if written:
            yield f"wrote {names}"
            return
        for one in self.files:
            yield from difference(one.file, one.before, one.after, "with tonight's trims")
        yield from ("", f"nothing is written yet; say --write to write {names}")


def set_tonight(kept: Kept, slug: str, settings: Sequence[tuple[str, float]]) -> Kept:
    """Trims as set in the show's [trims], the rest of the file as it is."""
    from showrunner.book.filing import edited
    from showrunner.book.read import read_document

    reading = kept.reading
    rig_slug = reading.book.rig_of(reading.book.shows[slug]) or ""
    rig = reading.book.rigs[rig_slug]
    changes: list[tuple[KeyPath, float]] = []
    for name, number in settings:
        if name not in PLAIN and name not in rig.targets:
            other = f"showrunner read rig/{rig_slug} says which targets there are"
            near = did_you_mean(name, [*PLAIN, *rig.targets], other)
            raise trouble(f'"{name}" is neither "input gain" nor "interface volume" nor a target of the rig', near)
        changes.append((("trims", PLAIN[name]) if name in PLAIN else ("trims", "targets", name), number))
    made = edited(reading, "show", slug, changes)
    show, _ = read_document("show", slug, made.after)
    book = reading.book._replace(shows={**reading.book.shows, slug: cast("Show", show)})
    return Kept(replace(reading, book=book), (*kept.files, made))


def visited(kept: Kept, slug: str, temperature_c: float | None, note: str | None) -> Kept:
    """The show filed as a visit of its venue, as closing its night does."""
    from showrunner.live.closing import visited_venue, with_words
    from showrunner.planning.closing import is_filed, visit_of

    reading = kept.reading
    show = reading.book.shows[slug]
    venue = reading.book.venues.get(show.venue) if show.venue is not None else None
    if venue is None or show.venue is None:
        raise trouble(f'"{slug}" names no venue to file a visit with', "write venue = … into the show")
    if show.date is None:
        raise trouble(f'"{slug}" has no date', "write date = … into the show")
    if is_filed(venue, slug, show.date):
        raise trouble(f"a visit on {show.date} is filed already", file=reading.file("venue", show.venue))
    visit = with_words(visit_of(venue, show, slug, show.date), temperature_c, note)
    return kept._replace(files=(*kept.files, visited_venue(reading, show.venue, visit)))
