"""Starts things: a book from a folder of starter files, a file of the book from its template."""

import os
import re
import shutil
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from showrunner.book.files import FileChange, FileChanges
from showrunner.book.problems import BookError, MissingBookError, Problem
from showrunner.book.read import LARGEST_BYTES, decoded, file_of, read_document
from showrunner.book.safe_names import is_reserved
from showrunner.book.save import SaveError, is_leftover, sync_folder
from showrunner.book.schema import schema
from showrunner.book.transaction import apply, fill
from showrunner.model.keys import quoted
from showrunner.model.library import KINDS
from showrunner.model.nearest import did_you_mean
from showrunner.plain_file import read_file

TITLE = "@TITLE@"
SCHEMA = "@SCHEMA@"
SCHEMAS = Path(".showrunner") / "schemas"
_LONGEST_SLUG = 60


class StartError(BookError):
    """What can't be started, because something is in the way or the name won't do."""


def init(root: Path, starter: Path) -> None:
    """Makes a book at `root` from the folder `starter`; StartError where there is something already.

    All of it appears at once: an interrupted start leaves no half a book.
    """
    root = Path(os.path.abspath(root))
    if root.exists() and (not root.is_dir() or not is_empty(root)):
        raise StartError(f"{quoted(str(root))} is not an empty folder", "give a new path, or empty it first")
    if not starter.is_dir():
        raise StartError(f"the starter files are not at {quoted(str(starter))}", "install Showrunner again")
    try:
        copies = {file: source.read_bytes() for source, file in _copies(starter)}
    except OSError as error:
        raise StartError(f"the starter files can't be read ({_reason(error)})", "install Showrunner again") from error
    copies["book.toml"] = _with_title(copies["book.toml"], root.name)
    changes = FileChanges(tuple(FileChange(file, None, source) for file, source in copies.items()))
    put_files(root, changes, f"making the book {quoted(root.name)}")


def is_empty(folder: Path) -> bool:
    """Whether a folder holds nothing but what a program that was killed may have left there."""
    return all(is_leftover(name) for name in os.listdir(folder))


def put_files(root: Path, changes: FileChanges, what: str) -> None:
    """Makes the changes at `root`, all or none; a folder that is not there yet appears with all of them at once.

    StartError where there can be no such folder; else errors as for `transaction.apply`.
    """
    root = Path(os.path.abspath(root))
    if root.is_dir():
        apply(root, changes, what)
        return
    coming = root.with_name(f".{root.name[:_LONGEST_SLUG]}.{os.urandom(8).hex()}.new")
    made: list[Path] = []
    try:
        made = [folder for folder in (coming, *coming.parents) if not folder.exists()]
        coming.mkdir(parents=True)
        fill(coming, changes)
        coming.rename(root)
        sync_folder(root.parent)
    except BaseException as error:
        shutil.rmtree(coming, ignore_errors=True)
        for folder in made:
            with suppress(OSError):
                folder.rmdir()
        if isinstance(error, OSError | SaveError):
            why = _reason(error) if isinstance(error, OSError) else error.what
            raise StartError(f"there can be no book at {quoted(str(root))} ({why})", "give another path") from error
        raise


def new(root: Path, kind: str, name: str, templates: Sequence[Path]) -> Path:
    """Adds a file of a kind, called `name`, to a book from the first KIND.toml in these folders; returns its path.

    StartError where its slug is taken or the name won't do, MissingBookError where there is no book.
    """
    if kind not in KINDS:
        raise StartError(
            f"there is no kind {quoted(kind)}", did_you_mean(kind, KINDS, f"it is one of {', '.join(KINDS)}")
        )
    if not root.is_dir():
        raise MissingBookError(f"there is no book at {quoted(str(root))}", f"make one with showrunner init {root}")
    slug = slug_of(name)
    if not slug:
        raise StartError(f"{quoted(name)} makes no file name", "give it a letter or a digit at least")
    if is_reserved(slug):
        slug = f"{slug}-{kind}"
    path = root / file_of(kind, slug)
    if os.path.lexists(path):
        raise StartError(f"{file_of(kind, slug)} is there already", "give the new one another name")
    try:
        text = _template(kind, templates).replace(TITLE, quoted(name)[1:-1])
        _, problems = read_document(kind, slug, text.encode("utf-8"))
        if problems:
            raise StartError(f"{quoted(name)} won't do as a title ({problems[0].what})", problems[0].mend)
        own = tuple(_schema_of(root, kind))
    except OSError as error:
        raise StartError(
            f"{file_of(kind, slug)} can't be made ({_reason(error)})", "look at the permissions"
        ) from error
    made = FileChange(file_of(kind, slug), None, text.encode("utf-8"))
    apply(root, FileChanges((*own, made)), f"making {made.file}")
    return path


def _template(kind: str, folders: Sequence[Path]) -> str:
    """The starter file of a kind, still without a title; StartError with its place where it won't do."""
    found = [path for path in (folder / f"{kind}.toml" for folder in folders) if path.is_file()]
    if not found:
        raise StartError(f"there is no starter file {kind}.toml", "install Showrunner again")
    source = _read(found[0])
    _, problems = read_document(kind, kind, source.replace(SCHEMA.encode(), b"").replace(TITLE.encode(), b"Title"))
    if not problems and TITLE.encode() not in source:
        problems = [Problem("", None, "", f"the starter file has no {TITLE}", f'write title = "{TITLE}" into it')]
    if problems:
        at = found[0] if problems[0].line is None else f"{found[0]}:{problems[0].line}"
        raise StartError(f"{at}: {problems[0].what}", problems[0].mend)
    return decoded(source).replace(SCHEMA, f"../{SCHEMAS.as_posix()}/{kind}.json")


def _read(template: Path) -> bytes:
    try:
        return read_file(template, LARGEST_BYTES)
    except OSError as error:
        raise StartError(f"{template} can't be read ({_reason(error)})", "look at the file") from error


def slug_of(name: str) -> str:
    """The file name that a title makes: small letters and digits with hyphens between; other scripts are kept."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    latin = re.sub(r"[^a-z0-9]+", "-", "".join(c for c in plain if not unicodedata.combining(c)).replace("'", ""))
    slug = latin.strip("-") or re.sub(r"[\W_]+", "-", unicodedata.normalize("NFKC", name.casefold())).strip("-")
    return slug[:_LONGEST_SLUG].strip("-")


def _reason(error: OSError) -> str:
    return (error.strerror or "no reason given").lower()


def _copies(starter: Path) -> Iterator[tuple[Path, str]]:
    for source in sorted(starter.rglob("*")):
        inside = source.relative_to(starter)
        if source.is_file() and not any(part.startswith((".", "__")) for part in inside.parts):
            yield source, inside.as_posix()


def _with_title(book_file: bytes, title: str) -> bytes:
    return decoded(book_file).replace(TITLE, quoted(title)[1:-1]).encode("utf-8")


def _schema_of(root: Path, kind: str) -> Iterator[FileChange]:
    """The kind's schema where the first line of its files says, unless it is there as it should be."""
    file, text = f"{SCHEMAS.as_posix()}/{kind}.json", schema(kind).encode()
    now = read_file(root / file) if (root / file).is_file() else None
    if now != text:
        yield FileChange(file, now, text)
