"""A show's stand-ins put into its file, its comments and all else left as they are."""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from showrunner.book.change import apply, edit
from showrunner.book.data import ABSENT
from showrunner.book.save import digest, save
from showrunner.cli.common import difference
from showrunner.model.keys import KeyPath
from showrunner.planning.standins import SongStandIns

if TYPE_CHECKING:
    from showrunner.book.read import Reading


class ShowFile(NamedTuple):
    """A show's file before and after."""

    file: str
    before: bytes
    after: bytes

    @property
    def difference(self) -> list[str]:
        """What changes, as a unified difference of the file's lines."""
        return difference(self.file, self.before, self.after, "with the stand-ins")


def with_found(reading: "Reading", show: str, found: Sequence[SongStandIns]) -> ShowFile:
    """The show's file with each song's stand-ins as they were found."""
    file, before = reading.file("show", show), reading.sources["show", show]
    after = before
    written = reading.book.shows[show].stand_ins
    for song in found:
        for key, value in _changes(song, written.get(song.song, {})):
            after = apply(after, edit(file, after, key, value))
    return ShowFile(file, before, after)


def save_show(reading: "Reading", changed: ShowFile) -> None:
    """Saves the show's file, unless somebody else changed it since it was read."""
    if changed.after != changed.before:
        save(reading.root / changed.file, changed.after, digest(changed.before))


def _changes(song: SongStandIns, written: Mapping[str, str]) -> Iterator[tuple[KeyPath, Any]]:
    table: KeyPath = ("stand_ins", song.song)
    if not song.stand_ins:
        if written:
            yield table, ABSENT
        return
    for wanted, used in song.stand_ins.items():
        if written.get(wanted) != used:
            yield (*table, wanted), used
    for wanted in written:
        if wanted not in song.stand_ins:
            yield (*table, wanted), ABSENT
