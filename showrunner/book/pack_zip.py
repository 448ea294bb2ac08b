"""A pack as one file: a plain zip without compression, so that the same show is the same bytes everywhere."""

import io
import stat
import struct
import zipfile
import zlib
from typing import NamedTuple

from showrunner.book.pack_manifest import (
    LARGEST_PACK,
    MANIFEST,
    MOST_FILES,
    Contents,
    Manifest,
    PackError,
    document_of,
    read_manifest,
    written,
)
from showrunner.book.problems import Problem
from showrunner.book.read import LARGEST_BYTES, read_document, unwieldy
from showrunner.book.save import digest

_WHEN = (1980, 1, 1, 0, 0, 0)
"""The earliest time that a zip can hold."""
_DAMAGED = (zlib.error, struct.error, EOFError, RuntimeError, ValueError, OSError, LookupError, ArithmeticError)
_AGAIN = "have it packed and sent again"


class Packed(NamedTuple):
    """A pack that was read whole and found good."""

    manifest: Manifest
    contents: Contents


def packed(contents: Contents) -> bytes:
    """The pack's bytes; PackError where no pack may hold this."""
    manifest = written(contents)
    read_manifest(manifest)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as archive:
        for file, source in ((MANIFEST, manifest), *sorted(contents.files.items())):
            entry = zipfile.ZipInfo(file, _WHEN)
            entry.create_system, entry.external_attr = 3, (stat.S_IFREG | 0o644) << 16
            archive.writestr(entry, source)
    return made.getvalue()


def unpacked(source: bytes) -> Packed:
    """What a pack holds, each file compared with the list; PackError where anything is damaged, strange or unread."""
    if len(source) > LARGEST_PACK + LARGEST_BYTES + MOST_FILES * 4096:
        raise PackError("the pack is larger than any show", "at most 256 MiB in all")
    try:
        with zipfile.ZipFile(io.BytesIO(source)) as archive:
            entries = _entries(archive)
            if MANIFEST not in entries:
                raise PackError(f"this is no pack of a show: it holds no {MANIFEST}", "showrunner pack makes one")
            manifest = read_manifest(_read(archive, entries[MANIFEST], LARGEST_BYTES))
            _all_there(manifest, entries)
            files = {file: _read(archive, entries[file], of.bytes) for file, of in sorted(manifest.files.items())}
    except zipfile.BadZipFile as error:
        whole = not zipfile.is_zipfile(io.BytesIO(source))
        what = "this is no pack, or only a piece of one" if whole else f"the pack is damaged ({_lower(error)})"
        raise PackError(what, _AGAIN) from None
    except _DAMAGED as error:
        raise PackError(f"the pack is damaged ({_lower(error)})", _AGAIN) from None
    for file, of in manifest.files.items():
        if len(files[file]) != of.bytes or digest(files[file]) != of.sha256:
            raise PackError(f"{file} is not what was packed: its digest does not fit", _AGAIN)
    problems = _unread(files)
    if problems:
        raise PackError("the pack holds files that can't be read", problems=problems)
    return Packed(manifest, Contents(manifest.show, manifest.title, manifest.rig, files, manifest.lacks))


def _entries(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    entries: dict[str, zipfile.ZipInfo] = {}
    for entry in archive.infolist():
        kind = stat.S_IFMT(entry.external_attr >> 16)
        if entry.filename.endswith("/") or kind not in (0, stat.S_IFREG):
            raise PackError(f"the pack holds {_name(entry)}, which is no plain file", _AGAIN)
        if entry.filename in entries:
            raise PackError(f"the pack holds {_name(entry)} twice", _AGAIN)
        if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise PackError(f"{_name(entry)} is packed in a way that is not read here", "zip it without compression")
        entries[entry.filename] = entry
    return entries


def _all_there(manifest: Manifest, entries: dict[str, zipfile.ZipInfo]) -> None:
    for file, of in manifest.files.items():
        if file not in entries:
            raise PackError(f"{file} is missing from the pack", _AGAIN)
        if entries[file].file_size != of.bytes:
            raise PackError(f"{file} is not as long as the pack's list says", _AGAIN)
    for name, entry in entries.items():
        if name != MANIFEST and name not in manifest.files:
            raise PackError(f"the pack holds {_name(entry)}, which is not in its list", _AGAIN)


def _read(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes:
    """An entry's bytes, never more than one past `most`, however much it would unfold to."""
    if entry.file_size > most:
        raise PackError(f"{_name(entry)} is larger than it may be", _AGAIN)
    with archive.open(entry) as stream:
        source = stream.read(most + 1)
    if len(source) != entry.file_size:
        raise PackError(f"{_name(entry)} is not as long as the pack says", _AGAIN)
    return source


def _unread(files: dict[str, bytes]) -> tuple[Problem, ...]:
    problems: list[Problem] = []
    for file, source in files.items():
        name = document_of(file)
        if name is not None:
            problems += unwieldy(file, source) or read_document(*name, source)[1]
    return tuple(problems)


def _name(entry: zipfile.ZipInfo) -> str:
    return ascii(entry.filename[:80])


def _lower(error: Exception) -> str:
    return ascii(str(error)).strip("'\"")[:120] or "no reason given"
