"""A show's stand-ins put into its file, its comments and all else left as they are."""

from collections.abc import Iterator, Mapping
from typing import Any

from showrunner.book.change import apply, edit
from showrunner.book.data import ABSENT
from showrunner.book.files import FileChange
from showrunner.book.read import Reading
from showrunner.model.keys import KeyPath


def with_stand_ins(reading: Reading, show: str, found: Mapping[str, Mapping[str, str]]) -> FileChange:
    """The show's file before and after; `found` are each song's controls that are wanted, and what does their work."""
    file, before = reading.file("show", show), reading.sources["show", show]
    after = before
    written = reading.book.shows[show].stand_ins
    for song, stand_ins in found.items():
        for key, value in _changes(song, stand_ins, written.get(song, {})):
            after = apply(after, edit(file, after, key, value))
    return FileChange(file, before, after)


def _changes(song: str, stand_ins: Mapping[str, str], written: Mapping[str, str]) -> Iterator[tuple[KeyPath, Any]]:
    table: KeyPath = ("stand_ins", song)
    if not stand_ins:
        if written:
            yield table, ABSENT
        return
    for wanted, used in stand_ins.items():
        if written.get(wanted) != used:
            yield (*table, wanted), used
    for wanted in written:
        if wanted not in stand_ins:
            yield (*table, wanted), ABSENT
