"""`pack` and `unpack`: a show and all it needs as one file, and back."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import click

from showrunner.book.output import write_output
from showrunner.book.pack import contents
from showrunner.book.pack_into import Coming, Decided, Fate, compared, decided, put
from showrunner.book.pack_manifest import LARGEST_PACK, Contents, PackError
from showrunner.book.pack_zip import packed, unpacked
from showrunner.book.read import BOOK_FILE, file_of, read_book, read_document
from showrunner.book.save import digest
from showrunner.cli.common import Call, Trouble, as_path, command, faults_of, find, open_book, settle_book, trouble
from showrunner.cli.output import plural, print_json, print_lines, working
from showrunner.cli.packing_words import pack_lines, unpack_data, unpack_lines
from showrunner.model.nearest import did_you_mean
from showrunner.model.show import Show
from showrunner.plain_file import TooLargeError, read_file


@command(
    examples=(
        "showrunner pack pellmarsh-hall",
        "showrunner pack pellmarsh-hall -o for-the-spare-laptop.zip",
        "showrunner pack pellmarsh-hall --with takes --with runs --json",
    )
)
@click.argument("show")
@click.option("-o", "--output", metavar="FILE", type=as_path, help="The file to make; SHOW.zip here if left out.")
@click.option(
    "--with", "extras", type=click.Choice(("takes", "runs")), multiple=True, help="Put these in too; may stand twice."
)
def pack(call: Call, show: str, output: Path | None, extras: tuple[str, ...]) -> int:
    """Make one file of a show and all it needs: songs, rigs, venue, checklists and the book's own file.

    It is a plain zip with a list of what is in it, and the same show makes the same bytes. What is missing or broken
    is said and left out; exit 1 then. showrunner unpack puts the file into a book on another machine.
    """
    reading = open_book(call)
    slug = find(reading, show, "show")[1]
    path = output if output is not None else Path(f"{slug}.zip")
    with _told(), working("packing"):
        inside = contents(reading, slug, takes="takes" in extras, runs="runs" in extras)
        made = packed(inside)
        if _earlier_pack(path) != made:
            write_output(path, made, call.root)
    if call.json:
        files = [{"file": file, "bytes": len(of), "sha256": digest(of)} for file, of in sorted(inside.files.items())]
        print_json({"show": slug, "file": str(path), "bytes": len(made), "files": files, "lacks": inside.lacks})
    else:
        print_lines(pack_lines(inside, path, len(made)))
    return 1 if inside.lacks else 0


@command(
    examples=(
        "showrunner unpack pellmarsh-hall.zip",
        "showrunner unpack pellmarsh-hall.zip --into spare-book --write",
        "showrunner unpack pellmarsh-hall.zip --diff",
        "showrunner unpack night.zip --take songs/eel-road.toml --keep-rest --write",
    )
)
@click.argument("file", type=as_path)
@click.option("--into", metavar="PATH", type=as_path, help="The book, made if there is none; --book's if left out.")
@click.option("--take", metavar="FILE", multiple=True, help="Replace this file of the book, which differs.")
@click.option("--keep", metavar="FILE", multiple=True, help="Keep this file of the book, which differs.")
@click.option("--take-rest", is_flag=True, help="Replace all others that differ.")
@click.option("--keep-rest", is_flag=True, help="Keep all others that differ.")
@click.option("--diff", "shows_lines", is_flag=True, help="Show the lines in which files differ.")
@click.option("--write", is_flag=True, help="Put it into the book, instead of only showing what would come of it.")
def unpack(
    call: Call,
    file: Path,
    into: Path | None,
    take: tuple[str, ...],
    keep: tuple[str, ...],
    take_rest: bool,
    keep_rest: bool,
    shows_lines: bool,
    write: bool,
) -> None:
    """Put a packed show into a book: a new one, or one that is there.

    Without --write it only says which files are new, the same, or differ. Nothing that differs is overwritten unless
    --take names it or --take-rest says so, and then your version stays beside it, its name ending in .old. All is
    written or nothing. A book keeps its own book.toml unless that is named.
    """
    if take_rest and keep_rest:
        raise click.UsageError("--take-rest and --keep-rest go one at a time")
    root = into if into is not None else call.root
    settle_book(root)
    with _told(), working("reading the pack"):
        inside = unpacked(_bytes(file)).contents
        coming = compared(root, inside)
    _named(coming, take, keep)
    rest: Fate = "replaced" if take_rest else "kept" if keep_rest else "undecided"
    plan = decided(root, coming, take=take, keep=keep, otherwise=rest)
    if write:
        _may_write(root, plan)
        with _told(), working("unpacking"):
            put(root, plan, f"unpacking {inside.show}")
    notes = _notes(root, inside, plan)
    if call.json:
        print_json(unpack_data(file, root, inside, plan, notes, written=write))
    else:
        print_lines(unpack_lines(root, inside, plan, notes, written=write, shows_lines=shows_lines))


@contextmanager
def _told() -> Iterator[None]:
    """A pack's problems as the command line's, each with its file and line."""
    try:
        yield
    except PackError as error:
        if error.problems:
            raise Trouble(*faults_of(error.problems)) from error
        raise


def _earlier_pack(path: Path) -> bytes | None:
    """The pack that is to be replaced, None if there is nothing; Trouble where it is something else."""
    if not path.exists():
        return None
    try:
        source = _bytes(path)
        unpacked(source)
    except PackError:
        raise trouble(f"{path} is there already and is no pack", "give another name with -o FILE") from None
    return source


def _bytes(file: Path) -> bytes:
    try:
        return read_file(file, 2 * LARGEST_PACK)
    except TooLargeError:
        raise PackError("the pack is larger than any show", "at most 256 MiB in all") from None


def _named(coming: Sequence[Coming], take: Sequence[str], keep: Sequence[str]) -> None:
    there = {one.file for one in coming}
    for file in (*take, *keep):
        if file not in there:
            raise click.UsageError(f'the pack has no "{file}"; ' + did_you_mean(file, there, "name it as listed"))
        if file in take and file in keep:
            raise click.UsageError(f"take {file} or keep it, not both")


def _may_write(root: Path, plan: Sequence[Decided]) -> None:
    """Trouble where a file is undecided, or a show of the book is being played."""
    open_ones = [one.coming.file for one in plan if one.fate == "undecided"]
    if open_ones:
        many = f"{plural(len(open_ones), 'file')} of the book {'differs' if len(open_ones) == 1 else 'differ'}"
        ways = "say --take FILE or --keep FILE for each, or --take-rest or --keep-rest; nothing was written"
        raise trouble(f"{many}: {', '.join(open_ones)}", ways)
    shows = sorted(path.stem for path in root.glob("shows/*.toml"))
    if not shows:
        return
    from showrunner.live.folder import where_run
    from showrunner.live.link import running

    for show in shows:
        if running(where_run(root, show)):
            raise trouble(f"{show} is being played", "files are not changed while a show runs")


def _notes(root: Path, inside: Contents, plan: Sequence[Decided]) -> list[str]:
    """What to know before playing it here: what it lacked when it was packed, and another usual rig."""
    notes = [f"when it was packed: {lacked}" for lacked in inside.lacks]
    keeps_book = any(one.coming.file == BOOK_FILE and one.fate == "kept" for one in plan)
    show, _ = read_document("show", inside.show, inside.files[file_of("show", inside.show)])
    if keeps_book and inside.rig is not None and isinstance(show, Show) and show.rig is None:
        here = read_book(root).book.rig
        if here != inside.rig:
            usual = f"the usual rig here is {here}" if here is not None else "this book names no usual rig"
            notes.append(f'it was packed with the rig {inside.rig}; {usual}: put rig = "{inside.rig}" into the show')
    return notes
