"""Keeps trims: into the show as they are set, and into the venue's visits when the show is closed."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from showrunner.cli.common import Call, open_book, trouble
from showrunner.model.nearest import did_you_mean

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.keys import KeyPath

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


def keep(call: Call, reading: "Reading", slug: str, settings: Sequence[tuple[str, float]]) -> "Reading":
    """Writes trims into the show's [trims], leaving the rest of the file as it is; returns the book read anew."""
    from showrunner.book.filing import edited
    from showrunner.book.save import digest, save

    rig = reading.book.rigs[reading.book.rig_of(reading.book.shows[slug]) or ""]
    changes: list[tuple[KeyPath, float]] = []
    for name, number in settings:
        if name not in PLAIN and name not in rig.targets:
            near = did_you_mean(name, [*PLAIN, *rig.targets], "showrunner show RIG says which targets there are")
            raise trouble(f'"{name}" is neither "input gain" nor "interface volume" nor a target of the rig', near)
        changes.append((("trims", PLAIN[name]) if name in PLAIN else ("trims", "targets", name), number))
    made = edited(reading, "show", slug, changes)
    save(reading.root / made.file, made.after, digest(made.before))
    return open_book(call)


def close(reading: "Reading", slug: str, temperature_c: float | None, note: str | None) -> str:
    """Files the show as a visit of its venue, as closing its night does; returns the venue's file."""
    from showrunner.book.save import digest, save
    from showrunner.live.closing import visited_venue, with_words
    from showrunner.planning.closing import is_filed, visit_of

    show = reading.book.shows[slug]
    venue = reading.book.venues.get(show.venue) if show.venue is not None else None
    if venue is None or show.venue is None:
        raise trouble(f'"{slug}" names no venue to file a visit with', "write venue = … into the show")
    if show.date is None:
        raise trouble(f'"{slug}" has no date', "write date = … into the show")
    if is_filed(venue, slug, show.date):
        raise trouble(f"a visit on {show.date} is filed already", file=reading.file("venue", show.venue))
    visit = with_words(visit_of(venue, show, slug, show.date), temperature_c, note)
    made = visited_venue(reading, show.venue, visit)
    save(reading.root / made.file, made.after, digest(made.before))
    return made.file
