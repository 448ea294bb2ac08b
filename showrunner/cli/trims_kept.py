"""Keeps trims: into the show as they are set, and into the venue's visits when the show is closed."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from showrunner.cli.common import Call, open_book, trouble
from showrunner.levels.kept import as_ended
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
    rig = reading.book.rigs[reading.book.rig_of(reading.book.shows[slug]) or ""]
    changes: list[tuple[KeyPath, float]] = []
    for name, number in settings:
        if name not in PLAIN and name not in rig.targets:
            near = did_you_mean(name, [*PLAIN, *rig.targets], "showrunner show RIG says which targets there are")
            raise trouble(f'"{name}" is neither "input gain" nor "interface volume" nor a target of the rig', near)
        changes.append((("trims", PLAIN[name]) if name in PLAIN else ("trims", "targets", name), number))
    _write(reading, "show", slug, changes)
    return open_book(call)


def close(reading: "Reading", slug: str, temperature_c: float | None, note: str | None) -> str:
    """Files the show as a visit of its venue, with the trims as they ended; returns the venue's file."""
    show = reading.book.shows[slug]
    venue = reading.book.venues.get(show.venue) if show.venue is not None else None
    if venue is None or show.venue is None:
        raise trouble(f'"{slug}" names no venue to file a visit with', "write venue = … into the show")
    if show.date is None:
        raise trouble(f'"{slug}" has no date', "write date = … into the show")
    if any(visit.date == show.date and visit.show in (None, slug) for visit in venue.visits):
        raise trouble(f"a visit on {show.date} is filed already", file=reading.file("venue", show.venue))
    trims = as_ended(venue, show).model_dump(exclude_defaults=True)
    visit: dict[str, Any] = {"date": show.date, "show": slug}
    visit |= {"trims": trims} if trims else {}
    visit |= {} if temperature_c is None else {"temperature_c": temperature_c}
    visit |= {} if note is None else {"note": note}
    return _write(reading, "venue", show.venue, [(("visits", len(venue.visits)), visit)])


def _write(reading: "Reading", kind: str, slug: str, changes: "Sequence[tuple[KeyPath, Any]]") -> str:
    """Makes changes in one file and saves it whole; Trouble, and no change, where a value is not allowed there."""
    from showrunner.book.change import apply, edit, insertion
    from showrunner.book.read import read_document
    from showrunner.book.save import digest, save

    file, was = reading.file(kind, slug), reading.sources[kind, slug]
    source = was
    for key, value in changes:
        is_item = isinstance(key[-1], int) and key[-1] > 0
        if isinstance(key[-1], int) and not is_item:
            key, value = key[:-1], [value]
        source = apply(source, insertion(file, key, value) if is_item else edit(file, source, key, value))
    for problem in read_document(kind, slug, source)[1]:
        raise trouble(problem.what, problem.mend, file=file, key=problem.key)
    save(reading.root / file, source, digest(was))
    return file
