"""`sheet`: cue sheets on paper."""

import sys
from pathlib import Path

import click

from showrunner.book.output import write_output
from showrunner.cli.common import Call, as_path, command, find_show, open_book, templates_option, trouble
from showrunner.cli.output import print_json, print_lines, working
from showrunner.places import template_folders
from showrunner.sheets.errors import SheetError
from showrunner.sheets.render import AUDIENCES, Audience, SheetFormat, content, render

FORMATS: tuple[SheetFormat, ...] = ("text", "md", "html", "pdf", "csv")


@command(
    examples=(
        "showrunner sheet pellmarsh-hall",
        "showrunner sheet pellmarsh-hall --for crew --format md",
        "showrunner sheet pellmarsh-hall --for desk --format pdf -o desk.pdf",
        "showrunner sheet --templates",
    )
)
@click.argument("show")
@click.option(
    "--for",
    "audience",
    type=click.Choice(tuple(AUDIENCES)),
    default="floor",
    show_default=True,
    help="Who reads it: the player on the floor, large; the player in full; the crew; the sound desk.",
)
@click.option(
    "--format", "form", type=click.Choice(FORMATS), default="text", show_default=True, help="How it is written."
)
@click.option("-o", "--output", metavar="FILE", type=as_path, help="Write it to this file.")
@templates_option("sheets", "templates")
def sheet(call: Call, show: str, audience: Audience, form: SheetFormat, output: Path | None) -> None:
    """Print a show's cue sheet for the floor, the player, the crew or the desk.

    Sheets are made from templates; a copy in your own folder comes before the one that Showrunner brings, see
    --templates. With --json what the sheet says is printed as data.
    """
    if form == "pdf" and output is None and not call.json and sys.stdout.isatty():
        raise click.UsageError("a PDF is no text for a terminal; say where it goes, as in -o sheet.pdf")
    reading = open_book(call)
    slug = find_show(reading, show)
    try:
        if output is not None or not call.json:
            with working("making the sheet"):
                made = render(reading.book, slug, audience, form, template_folders())
        says = content(reading.book, slug, audience) if call.json else {}
    except SheetError as error:
        raise trouble(error.what, error.mend, file=str(error.file) if error.file else None, line=error.line) from error
    if output is not None:
        write_output(output, made, call.root)
    if call.json:
        file = str(output) if output is not None else None
        print_json({"show": slug, "for": audience, "format": form, "file": file, "sheet": says})
    elif output is not None:
        print_lines([f"wrote {output}"])
    else:
        click.echo(made, nl=False)
