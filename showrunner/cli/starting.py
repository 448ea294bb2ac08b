"""`init`, `new` and `schema`: books and files to begin with."""

import shlex
from pathlib import Path

import click

from showrunner.book import start
from showrunner.book.schema import schema as schema_of
from showrunner.cli.common import Call, as_path, command, kind_of, settle_book, templates_option
from showrunner.cli.output import print_json, print_lines
from showrunner.places import demo_book, template_folders, templates


def kind_with_book(word: str) -> str:
    """The kind that a word names, the book's own file among them."""
    return kind_of(word, "book")


@command(examples=("showrunner init my-book", "showrunner init try-out --demo"), book=False)
@click.argument("path", type=as_path, metavar="PATH")
@click.option("--demo", is_flag=True, help="A copy of the demo book, to try things on.")
def init(call: Call, path: Path, demo: bool) -> None:
    """Make a new book: a folder with a first rig to change into your own."""
    start.init(path, demo_book() if demo else templates() / "book")
    files = sorted(file.relative_to(path).as_posix() for file in path.rglob("*") if file.is_file())
    if call.json:
        print_json({"book": str(path), "files": files})
        return
    print_lines([f"made the book {path}, with {len(files)} files", "", "What to try next"])
    book = f"showrunner --book {shlex.quote(str(path))}"
    print_lines([f"  {book} check"] if demo else [f'  {book} new song "A First Song"', f"  {book} list rigs"])


@command(
    examples=('showrunner new song "Copper Mile"', "showrunner new rig Borrowed", "showrunner new venue 'Quay Rooms'")
)
@click.argument("kind", type=kind_of, metavar="KIND")
@click.argument("name")
@templates_option("new", "starter files")
def new(call: Call, kind: str, name: str) -> None:
    """Add a song, rig, venue, show or checklist to the book, from a starter file that explains itself.

    KIND is song, rig, venue, show or checklist; NAME is its title, and makes the file's name. A starter file of your
    own, KIND.toml with title = "@TITLE@" in your templates folder, comes before the one that Showrunner brings, see
    --templates.
    """
    settle_book(call.root)
    path = start.new(call.root, kind, name, [folder / "new" for folder in template_folders()])
    if call.json:
        print_json({"kind": kind, "slug": path.stem, "file": path.relative_to(call.root).as_posix()})
    else:
        print_lines([f"made {path}"])


@command(examples=("showrunner schema song", "showrunner schema rig > rig.schema.json"), json=False, book=False)
@click.argument("kind", type=kind_with_book, metavar="KIND")
def schema(call: Call, kind: str) -> None:  # noqa: ARG001
    """Print the JSON Schema of a kind of file, for an editor that completes and checks.

    KIND is song, rig, venue, show, checklist or book.
    """
    click.echo(schema_of(kind), nl=False)
