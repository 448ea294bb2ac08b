"""What every command shares: its decorator, opening the book, and finding a document by name."""

import datetime
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import update_wrapper
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import click

from showrunner.book.problems import BookError
from showrunner.cli.output import paragraph, print_json, working
from showrunner.model.units import NIGHT_ENDS_MIN
from showrunner.model.visible import visible_line

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.document import Document
    from showrunner.model.library import Book

F = TypeVar("F", bound=Callable[..., Any])

PLURALS = {"song": "songs", "rig": "rigs", "venue": "venues", "show": "shows", "checklist": "checklists"}


class Fault(NamedTuple):
    """One thing that is wrong: what, where if it is in a file, and what mends it."""

    what: str
    mend: str | None = None
    file: str | None = None
    line: int | None = None
    key: str | None = None

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        before = "".join(f"{part}: " for part in (place, self.key) if part)
        return before + self.what + (f"; {self.mend}" if self.mend else "")


class Trouble(click.ClickException):
    """What was asked for can't be done: exit 2. `said` is printed instead of faults that have been printed already."""

    exit_code = 2

    def __init__(self, *faults: Fault, said: str | None = None) -> None:
        super().__init__(
            "\n".join(visible_line(str(fault)) for fault in faults) if said is None else visible_line(said)
        )
        self.faults = faults

    def show(self, file: Any = None) -> None:
        """Writes each fault to standard error: a line each, on a terminal broken to fit."""
        for line in self.message.split("\n"):
            for piece in paragraph(line, hang=2) if sys.stderr.isatty() else (line,):
                click.echo(piece, file=file, err=True)


def trouble(what: str, mend: str | None = None, **place: Any) -> Trouble:
    """A Trouble of one fault."""
    return Trouble(Fault(what, mend, **place))


def print_errors(error: click.ClickException) -> None:
    """An error as JSON on standard output."""
    faults = error.faults if isinstance(error, Trouble) else (Fault(error.format_message()),)
    print_json({"errors": [fault._asdict() for fault in faults]})


class Call(NamedTuple):
    """How a command was called: the book it names, and whether it wants JSON."""

    book: str | None = None
    json: bool = False

    @property
    def root(self) -> Path:
        """The book's folder: as named, else the user's own."""
        if self.book is not None:
            return as_path(self.book)
        from showrunner.places import default_book

        return default_book()


def command(
    *, examples: Sequence[str], json: bool = True, book: bool = True
) -> Callable[[Callable[..., int | None]], click.Command]:
    """Makes a function of (call, its own parameters) → exit code a command with --json, --book and examples."""

    def decorate(function: Callable[..., int | None]) -> click.Command:
        @click.pass_context
        def run(ctx: click.Context, /, **given: Any) -> None:
            root = ctx.find_root().obj
            call = Call(given.pop("book", None) or root, given.pop("as_json", False))
            try:
                code = function(call, **given)
            except BrokenPipeError:
                raise
            except BookError as error:
                raise trouble(error.what, error.mend or None) from error
            except OSError as error:
                raise _of_system(error) from error
            ctx.exit(code or 0)

        epilog = "\b\nExamples:\n" + "\n".join(f"  {example}" for example in examples)
        made = click.command(epilog=epilog)(update_wrapper(run, function))
        if json:
            made.params.append(click.Option(["--json", "as_json"], is_flag=True, help="Print JSON instead of text."))
        if book:
            made.params.append(click.Option(["--book"], metavar="PATH", help="The book's folder."))
        return made

    return decorate


def _of_system(error: OSError) -> Trouble:
    what = (error.strerror or str(error)).lower()
    return trouble(what, file=str(error.filename) if error.filename is not None else None)


def templates_option(folder: str, what: str) -> Callable[[F], F]:
    """--templates, which says the two folders that a command's templates are looked for in."""

    def say(ctx: click.Context, _param: click.Parameter, wanted: bool) -> None:
        if wanted and not ctx.resilient_parsing:
            from showrunner.places import template_folders

            yours, brought = template_folders()
            click.echo(f"yours:        {yours / folder}\nShowrunner's: {brought / folder}")
            ctx.exit()

    words = f"Say which folders {what} are looked for in: yours, then those that Showrunner brings."
    return click.option("--templates", is_flag=True, is_eager=True, expose_value=False, callback=say, help=words)


def as_path(text: str) -> Path:
    """A path as typed; wrong usage if no system could have it."""
    if "\0" in text:
        raise click.UsageError("a path can't hold a zero byte")
    from showrunner.places import typed_path

    return typed_path(text)


def kind_of(word: str, *others: str) -> str:
    """The kind in the singular that a word names, singular or plural; wrong usage for no kind."""
    known = (*PLURALS, *others)
    for kind in known:
        if word in (kind, PLURALS.get(kind)):
            return kind
    from showrunner.model.nearest import did_you_mean

    hint = did_you_mean(word, known, f"it is one of {', '.join(known)}")
    raise click.UsageError(f'no kind "{word}"; {hint}')


def faults_of(problems: Iterable[Any]) -> tuple[Fault, ...]:
    """The store's problems as faults."""
    return tuple(Fault(p.what, p.mend or None, p.file, p.line, p.key or None) for p in problems)


def open_book(call: Call) -> "Reading":
    """Everything of the book that can be read; what can't is said on standard error, file and line first.

    Trouble where there is no folder, or one with nothing of a book in it.
    """
    root = call.root
    ways = "make one with showrunner init PATH, or name another with --book PATH or SHOWRUNNER_BOOK"
    if not root.is_dir():
        raise trouble(f"there is no book at {root}", ways)
    from showrunner.book.read import read_book

    settle_book(root)
    with working("reading the book"):
        reading = read_book(root)
    if not reading.sources and not reading.unread:
        raise trouble(
            f"{root} is no book: it has neither a book.toml nor songs, rigs, venues, shows or checklists", ways
        )
    for problem in reading.problems:
        click.echo(visible_line(str(problem)), err=True)
    return reading


def settle_book(root: Path) -> None:
    """Finish or take back a change of several files that was stopped half way, and say so on standard error.

    Where that can't be done it stays as it is, which reading says.
    """
    from showrunner.book.lock import BusyError
    from showrunner.book.transaction import settle

    try:
        found = settle(root)
    except BusyError:
        raise
    except BookError as error:
        click.echo(str(error), err=True)
        return
    if found is not None:
        click.echo(str(found), err=True)


def documents(book: "Book", kind: str) -> "Mapping[str, Document]":
    """All documents of a kind, by slug."""
    found: Mapping[str, Document] = getattr(book, PLURALS[kind])
    return found


def find(reading: "Reading", word: str, *kinds: str) -> tuple[str, str]:
    """Kind and slug of what SLUG or KIND/SLUG names, among the kinds given (all if none); Trouble if not just one."""
    kinds = kinds or tuple(PLURALS)
    before, slash, slug = word.rpartition("/")
    wanted = (kind_of(before),) if slash else kinds
    if wanted[0] not in kinds:
        raise click.UsageError(f'"{word}" is no {" or ".join(kinds)}')
    there = [kind for kind in wanted if slug in documents(reading.book, kind)]
    if len(there) == 1:
        return there[0], slug
    if there:
        ways = " or ".join(f"{kind}/{slug}" for kind in there)
        raise trouble(f'"{slug}" is more than one thing', f"say {ways}")
    for kind in wanted:
        if (kind, slug) in reading.unread:
            raise _broken(reading, (kind, slug))
    raise _unknown(reading, wanted, slug)


def rests_on(reading: "Reading", show: str, rig: str | None = None) -> list[tuple[str, str]]:
    """Kind and slug of all that a show needs: itself, its songs, its venue, and the rig given or its own."""
    the_show = reading.book.shows[show]
    rig = rig or reading.book.rig_of(the_show)
    names = [("show", show), *(("song", song) for song in the_show.songs)]
    names += [("venue", the_show.venue)] if the_show.venue is not None else []
    return names + ([("rig", rig)] if rig is not None else [])


def find_show(reading: "Reading", word: str, rig: str | None = None) -> str:
    """Slug of a show of which everything it needs is there and can be read; else Trouble."""
    show = find(reading, word, "show")[1]
    for name in rests_on(reading, show, rig):
        if name in reading.unread:
            raise _broken(reading, name)
        if name[1] not in documents(reading.book, name[0]):
            raise _broken(reading, ("show", show), otherwise=f'it needs the {name[0]} "{name[1]}", which is not there')
    return show


def _broken(reading: "Reading", name: tuple[str, str], otherwise: str = "it can't be read") -> Trouble:
    """What is wrong with a file that was asked for; on standard error its problems have been said already."""
    file = reading.file(*name)
    faults = faults_of(problem for problem in reading.problems if problem.file == file)
    return Trouble(
        *(faults or [Fault(otherwise, file=file)]),
        said=f"{file}: {otherwise}" if not faults else f"{file} can't be used before that is mended",
    )


def _unknown(reading: "Reading", kinds: tuple[str, ...], slug: str) -> Trouble:
    from showrunner.model.nearest import did_you_mean

    names = " or ".join(kinds) if len(kinds) < len(PLURALS) else "document"
    known = [known for kind in kinds for known in documents(reading.book, kind)]
    other = f"showrunner list {kinds[0]} says which there are" if known else f"showrunner new {kinds[0]} NAME makes one"
    return trouble(f'no {names} "{slug}" in {reading.root}', did_you_mean(slug, known, other))


def rig_for(reading: "Reading", show: str, rig: str | None = None) -> str:
    """Slug of the rig that a show is played on: the one given, its own or the book's usual one; Trouble without one."""
    found = rig or reading.book.rig_of(reading.book.shows[show])
    if found is None:
        raise trouble(f'the show "{show}" has no rig', 'write rig = "…" into it, or the usual one into book.toml')
    return found


def difference(file: str, before: bytes, after: bytes, change: str) -> list[str]:
    """What an edit changes, as a unified difference of the file's lines; `change` says what it does."""
    import difflib

    from showrunner.book.read import decoded

    texts = (decoded(before).splitlines(), decoded(after).splitlines())
    return list(difflib.unified_diff(*texts, file, f"{file}, {change}", lineterm="", n=2))


def tonight() -> datetime.date:
    """The date of the night that this is: until six in the morning yesterday's."""
    return (datetime.datetime.now() - datetime.timedelta(minutes=NIGHT_ENDS_MIN)).date()
