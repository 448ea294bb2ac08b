"""`list` and `read`: what the book holds."""

from typing import TYPE_CHECKING

import click

from showrunner.cli.common import PLURALS, Call, command, documents, find, kind_of, open_book
from showrunner.cli.describe import list_lines, page
from showrunner.cli.output import print_json, print_lines

if TYPE_CHECKING:
    from showrunner.book.read import Reading


@command(
    examples=(
        "showrunner list songs",
        "showrunner list shows --json",
        "showrunner --book ~/trio list rigs",
    )
)
@click.argument("kind", type=kind_of, metavar="KIND")
def list_(call: Call, kind: str) -> None:
    """List the songs, rigs, venues, shows or checklists of the book.

    KIND is song, rig, venue, show or checklist.
    """
    reading = open_book(call)
    found = documents(reading.book, kind)
    if call.json:
        rows = [
            {kind: slug, "file": reading.file(kind, slug), "title": getattr(d, "title", "")}
            for slug, d in found.items()
        ]
        print_json({PLURALS[kind]: rows})
    elif found:
        print_lines(list_lines(reading.book, kind, found))
    else:
        print_lines([f"no {PLURALS[kind]} yet; make one with: showrunner new {kind} NAME"])


@command(
    examples=(
        "showrunner read saltmarsh-signal",
        "showrunner read rig/small",
        "showrunner read pellmarsh-hall --json",
    )
)
@click.argument("slug")
def read(call: Call, slug: str) -> None:
    """Print what one song, rig, venue, show or checklist says as a page; --json gives every field of it.

    SLUG is the file's name without its ending; KIND/SLUG where several kinds have it. A show comes before what else has
    its name, as it does for every command that takes a show.
    """
    reading = open_book(call)
    kind, slug = _named(reading, slug)
    document = documents(reading.book, kind)[slug]
    if call.json:
        whole = document.model_dump(mode="json")
        print_json({"kind": kind, "slug": slug, "file": reading.file(kind, slug), "document": whole})
    else:
        print_lines(page(reading.book, kind, document))


def _named(reading: "Reading", word: str) -> tuple[str, str]:
    """Kind and slug of what is asked for; where a show takes the name of others, standard error says so."""
    if word not in reading.book.shows and ("show", word) not in reading.unread:
        return find(reading, word)
    found = find(reading, word, "show")
    others = [f"{kind}/{word}" for kind in PLURALS if kind != "show" and word in documents(reading.book, kind)]
    if others:
        click.echo(f"this is show/{word}; the same name has {' and '.join(others)}", err=True)
    return found
