"""`list` and `show`: what the book holds."""

import click

from showrunner.cli.common import PLURALS, Call, command, documents, find, kind_of, open_book
from showrunner.cli.describe import list_lines, page
from showrunner.cli.output import print_json, print_lines


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
        "showrunner show saltmarsh-signal",
        "showrunner show rig/small",
        "showrunner show saltmarsh-signal --json",
    )
)
@click.argument("slug")
def show(call: Call, slug: str) -> None:
    """Show all that one document says.

    SLUG is the file's name without its ending; KIND/SLUG where several kinds have it.
    """
    reading = open_book(call)
    kind, slug = find(reading, slug)
    document = documents(reading.book, kind)[slug]
    if call.json:
        whole = document.model_dump(mode="json")
        print_json({"kind": kind, "slug": slug, "file": reading.file(kind, slug), "document": whole})
    else:
        print_lines(page(reading.book, kind, document))
