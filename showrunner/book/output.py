"""Files that are made from a book and are no part of it: sheets, tables, packs."""

import os
from pathlib import Path

from showrunner.book.pack_manifest import ENDINGS, document_of
from showrunner.book.problems import BookError
from showrunner.book.read import BOOK_FILE, JOURNAL
from showrunner.book.safe_names import folded
from showrunner.book.save import replace


def write_output(path: Path, source: bytes, book: Path, *, anew: bool = False) -> None:
    """Puts `source` into a file; what was there before is there whole until it is replaced, where not `anew`.

    BookError where it would be a file of `book` or of any other, where something else than a file is there, or where
    it can't be written.
    """
    if in_a_book(path, book):
        raise BookError(f"{path} is a file of a book", "give another name")
    replace(path, source, anew=anew)


def in_a_book(path: Path, book: Path) -> bool:
    """Whether a path, links followed, is that of a document, take or run of `book`, or of any folder with a book.toml.

    Capitals don't count, since on some systems they don't.
    """
    path = Path(os.path.realpath(path))
    known = Path(os.path.realpath(book))
    return any(
        (folder == known or os.path.lexists(folder / BOOK_FILE))
        and _is_part(folded(path.relative_to(folder).as_posix()))
        for folder in path.parents
    )


def _is_part(file: str) -> bool:
    folder, _, name = file.partition("/")
    return document_of(file) is not None or file == JOURNAL or name.endswith(ENDINGS.get(folder, ("/",)))
