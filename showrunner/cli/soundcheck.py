"""`soundcheck`: what to play before the doors open."""

from collections.abc import Iterable, Iterator
from typing import Any

import click

from showrunner.cli.common import Call, command, find_show, open_book, rig_for
from showrunner.cli.output import columns, number, paragraph, plural, print_json, print_lines
from showrunner.model.cautions import SOUNDCHECK
from showrunner.model.library import Book
from showrunner.model.units import format_length
from showrunner.planning import handwork
from showrunner.planning.soundcheck import Soundcheck
from showrunner.planning.soundcheck import soundcheck as plan


@command(
    examples=(
        "showrunner soundcheck pellmarsh-hall",
        "showrunner soundcheck pellmarsh-hall --minutes 5",
        "showrunner soundcheck pellmarsh-hall --json",
    )
)
@click.argument("show")
@click.option("--minutes", type=click.FloatRange(0, 600), help="The minutes there are: the most important first.")
def soundcheck(call: Call, show: str, minutes: float | None) -> None:
    """A short list of moments that together let everything be heard.

    Every control, target, guitar, tuning and curve set of the show's songs, the string driver's states, the loudest
    and the quietest moment and the longest tail, in an order that saves changeovers, ending as song one begins.
    """
    if minutes is not None and minutes != minutes:
        raise click.UsageError("--minutes is a number of minutes")
    reading = open_book(call)
    slug = find_show(reading, show)
    the_show = reading.book.shows[slug]
    rig = rig_for(reading, slug)
    found = plan(reading.book, the_show, reading.book.rigs[rig], None if minutes is None else minutes * 60)
    if call.json:
        print_json(soundcheck_data(slug, found))
    else:
        print_lines(soundcheck_lines(reading.book, the_show.title, found))


def soundcheck_data(slug: str, found: Soundcheck) -> dict[str, Any]:
    """The plan as JSON; `getting_s` is what it takes to get to a moment from the one before, or from nothing."""
    return {
        "show": slug,
        "moments": [
            {
                "song": step.spot.song,
                "from": step.spot.name,
                "to": step.spot.to,
                "seconds": step.spot.seconds,
                "getting_s": step.getting_s,
                "covers": sorted(step.spot.covers),
            }
            for step in found.steps
        ],
        "total_s": found.total_s,
        "uncovered": found.uncovered,
    }


def soundcheck_lines(book: Book, title: str, found: Soundcheck) -> Iterator[str]:
    """The plan as text: when, which moment, and what is heard there for the first time."""
    yield f"{title}: soundcheck, {plural(len(found.steps), 'moment')} in {format_length(found.total_s)}"
    yield ""
    yield from columns(list(_rows(book, found)), indent=0, right=(0,))
    yield ""
    if found.uncovered:
        yield from paragraph(f"Not heard: {', '.join(found.uncovered)}", hang=2)
    elif found.steps:
        yield "Everything is heard, and it ends as the first song begins."
    yield from paragraph(SOUNDCHECK)


def _rows(book: Book, found: Soundcheck) -> Iterator[tuple[str, ...]]:
    at_s, heard = 0.0, frozenset[str]()
    for step in found.steps:
        at_s += step.getting_s
        spot, new = step.spot, step.spot.covers - heard
        title = book.songs[spot.song].title
        todo = _hands(step.hands)
        said = f"{title}: {spot.name} → {spot.to}, {spot.seconds:.0f} s" + (f"; {todo}" if todo else "")
        yield format_length(at_s), said
        yield "", "  " + ", ".join(sorted(new)) if new else "  nothing new: to end here"
        at_s, heard = at_s + spot.seconds, heard | new


def _hands(todo: Iterable[handwork.Step]) -> str:
    """What must be done by hand and foot to get there."""
    parts = []
    for step in todo:
        if step.what == "guitar":
            parts.append(f"take the {step.after}")
        elif step.what == "tuning":
            parts.append(f"tune to {step.after}")
        elif step.what == "capo":
            parts.append(f"capo {step.after}" if step.after else "capo off")
        else:
            to = step.after if isinstance(step.after, str) else f"{number(step.after or 0)} %"
            parts.append(f"{step.what} to {to}")
    return ", ".join(parts)
