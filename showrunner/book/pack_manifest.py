"""The list of what a pack holds: its document, how it is written, and what may stand in it."""

import tomllib
from collections.abc import Mapping
from typing import Annotated, NamedTuple

from pydantic import Field, ValidationError

from showrunner.book.locate import Lines
from showrunner.book.problems import BookError, Problem
from showrunner.book.read import Name, decoded, file_of, unwieldy
from showrunner.book.safe_names import clash, unsafe
from showrunner.book.save import digest
from showrunner.book.words import complaints
from showrunner.model.document import Document, Format, Line, Row, Table
from showrunner.model.keys import dotted, quoted
from showrunner.model.library import KINDS

MANIFEST = "pack.toml"
MOST_FILES = 5_000
LARGEST_FILE = 64 << 20
LARGEST_PACK = 256 << 20
ENDINGS: Mapping[str, tuple[str, ...]] = {"takes": (".mid",), "runs": (".jsonl", ".closed.json")}
"""What may be in a pack beside documents, by folder."""

_HEAD = "# All that one show needs, as Showrunner packed it: showrunner unpack FILE puts it into a book."

FilePath = Annotated[str, Field(min_length=1, max_length=1000)]


class PackError(BookError):
    """A pack that can't be made or can't be used; `problems` say where, one by one."""

    def __init__(self, what: str, mend: str = "", problems: tuple[Problem, ...] = ()) -> None:
        super().__init__(what, mend)
        self.problems = problems


class PackedFile(Document):
    """What a file of a pack must be."""

    bytes: int = Field(ge=0, le=LARGEST_FILE, description="the file's size")
    sha256: str = Field(pattern="^[0-9a-f]{64}$", description="the file's SHA-256 in hexadecimal, 64 characters")


class Manifest(Document):
    """`pack.toml`."""

    format: Format
    show: Line = Field(description="the show's slug")
    title: Line = Field(description="the show's name")
    rig: Line | None = Field(None, description="the rig it was to be played on when it was packed")
    lacks: Row[Line] = Field((), description="what was missing or broken when it was packed")
    files: Table[FilePath, PackedFile] = Field(description="every file, by its path in the book")


class Contents(NamedTuple):
    """A show and all it needs: files by their path in the book, and what is missing or broken."""

    show: str
    title: str
    rig: str | None
    files: Mapping[str, bytes]
    lacks: tuple[str, ...] = ()


def written(contents: Contents) -> bytes:
    """The manifest of a pack with these contents."""
    lines = [_HEAD, "format = 1", f"show = {quoted(contents.show)}", f"title = {quoted(contents.title)}"]
    lines += [f"rig = {quoted(contents.rig)}"] if contents.rig is not None else []
    if contents.lacks:
        lines += ["lacks = [", *(f"    {quoted(one)}," for one in contents.lacks), "]"]
    lines += ["", "[files]"]
    for file, source in sorted(contents.files.items()):
        lines.append(f'{quoted(file)} = {{ bytes = {len(source)}, sha256 = "{digest(source)}" }}')
    return ("\n".join(lines) + "\n").encode("utf-8")


def read_manifest(source: bytes) -> Manifest:
    """The manifest that a file holds; PackError with file and line where it is none, or names what no pack may hold."""
    if unwieldy(MANIFEST, source):
        raise PackError("the pack's list of files is damaged", "have it packed and sent again")
    try:
        data = tomllib.loads(decoded(source))
        manifest = Manifest.model_validate(data)
    except ValidationError as error:
        lines = Lines(decoded(source))
        problems = tuple(
            Problem(MANIFEST, lines.of(key), dotted(key), what, mend)
            for key, what, mend in complaints(Manifest, data, error.errors(include_url=False))
        )
        raise PackError("the pack's list of files can't be used", problems=problems) from None
    except (ValueError, RecursionError):
        raise PackError("the pack's list of files is damaged", "have it packed and sent again") from None
    for file in manifest.files:
        wrong = refused(file)
        if wrong is not None:
            line = Lines(decoded(source)).of(("files", file))
            problem = Problem(MANIFEST, line, "", f"{quoted(file)} has no place in a book ({wrong})", "trust it not")
            raise PackError("the pack holds what no pack may hold", problems=(problem,))
    twins = clash(manifest.files)
    if twins is not None:
        raise PackError(f"{twins[0]} and {twins[1]} would be one file on some systems", "rename one, and pack it again")
    if len(manifest.files) > MOST_FILES or sum(file.bytes for file in manifest.files.values()) > LARGEST_PACK:
        raise PackError("the pack is larger than any show", f"at most {MOST_FILES} files of 256 MiB in all")
    if file_of("show", manifest.show) not in manifest.files:
        raise PackError(f"the pack does not hold its show {quoted(manifest.show)}", "have it packed again")
    return manifest


def refused(file: str) -> str | None:
    """Why a pack may not hold a file of this path: it is none of a book's, or some system can't have it."""
    if file == "book.toml":
        return None
    folder, *names = file.split("/")
    if document_of(file) is None and not (folder in ENDINGS and len(names) == 2 and names[1].endswith(ENDINGS[folder])):
        return "it is no song, rig, venue, show, checklist, take or run"
    return next((wrong for wrong in map(unsafe, names) if wrong is not None), None)


def document_of(file: str) -> Name | None:
    """Kind and slug of the document that a path in the book holds; None if it holds none."""
    if file == "book.toml":
        return "book", ""
    folder, _, name = file.partition("/")
    kind = folder.removesuffix("s")
    is_one = kind in KINDS and folder == f"{kind}s" and name.endswith(".toml") and "/" not in name
    return (kind, name.removesuffix(".toml")) if is_one else None
