"""Starts things: a book from a folder of starter files, a file of the book from its template."""

import os
import re
import shutil
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from showrunner.book.problems import BookError, MissingBookError, Problem
from showrunner.book.read import LARGEST_BYTES, decoded, file_of, read_document
from showrunner.book.safe_names import is_reserved
from showrunner.book.save import digest, save
from showrunner.book.schema import schema
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
    if root.exists() and (not root.is_dir() or any(root.iterdir())):
        raise StartError(f"{quoted(str(root))} is not an empty folder", "give a new path, or empty it first")
    if not starter.is_dir():
        raise StartError(f"the starter files are not at {quoted(str(starter))}", "install Showrunner again")
    with appearing(root) as coming:
        for source, target in _copies(starter, coming):
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(source, target)
        _put_title(coming / "book.toml", root.name)


@contextmanager
def appearing(root: Path) -> Iterator[Path]:
    """A folder to fill that becomes `root` at the end, all at once; nothing is left of it if that fails.

    StartError where the system refuses; at `root` there may be an empty folder.
    """
    root = Path(os.path.abspath(root))
    coming = root.with_name(f".{root.name}.new")
    try:
        shutil.rmtree(coming, ignore_errors=True)
        coming.mkdir(parents=True)
        yield coming
        with suppress(FileNotFoundError):
            root.rmdir()
        coming.rename(root)
    except OSError as error:
        raise StartError(
            f"there can be no book at {quoted(str(root))} ({_reason(error)})", "give another path"
        ) from error
    finally:
        shutil.rmtree(coming, ignore_errors=True)


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
        path.parent.mkdir(exist_ok=True)
        _write_schema(root, kind)
    except OSError as error:
        raise StartError(
            f"{file_of(kind, slug)} can't be made ({_reason(error)})", "look at the permissions"
        ) from error
    save(path, text.encode("utf-8"), None)
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


def _copies(starter: Path, root: Path) -> Iterator[tuple[Path, Path]]:
    for source in sorted(starter.rglob("*")):
        inside = source.relative_to(starter)
        if source.is_file() and not any(part.startswith((".", "__")) for part in inside.parts):
            yield source, root / inside


def _put_title(book_file: Path, title: str) -> None:
    text = book_file.read_text(encoding="utf-8")
    if TITLE in text:
        book_file.write_text(text.replace(TITLE, quoted(title)[1:-1]), encoding="utf-8", newline="")


def _write_schema(root: Path, kind: str) -> None:
    """Puts the kind's schema where the first line of its files says, unless it is there as it should be."""
    path, text = root / SCHEMAS / f"{kind}.json", schema(kind).encode()
    path.parent.mkdir(parents=True, exist_ok=True)
    now = read_file(path) if path.is_file() else None
    if now != text:
        save(path, text, None if now is None else digest(now))
