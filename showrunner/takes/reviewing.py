"""Takes of a book, and what each of them shows: by cue, by pedal, by changeover."""

import re
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from pathlib import Path
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.planning.changeover import changeovers
from showrunner.planning.heldnotes import with_held
from showrunner.planning.practice import Review, review
from showrunner.takes.replaying import UnknownTakeError, answers, script_for
from showrunner.takes.smf import TakeError, read_take
from showrunner.takes.take import Take


class Kept(NamedTuple):
    """A take in the book: its file, its name as SONG/NAME, and itself."""

    path: Path
    name: str
    take: Take

    @property
    def length_s(self) -> float:
        """Seconds to its last event."""
        return self.take.ends_s

    @property
    def songs(self) -> tuple[str, ...]:
        """Slugs of the songs it goes through, in order."""
        named = (self.take.song,) if self.take.song is not None else ()
        return tuple(dict.fromkeys([cue.song for cue in self.take.cues] or named))

    def filed_under(self, kind: str, slug: str) -> bool:
        """Whether it lies in the folder of a show or a song: a whole show's take in the show's, all others in a song's.

        A show and a song may have the same slug.
        """
        of_show = self.take.song is None and self.take.show == self.path.parent.name
        return self.path.parent.name == slug and of_show == (kind == "show")


def take_files(root: Path) -> list[Path]:
    """The files of all takes, by name, which begins with the date."""
    return sorted((root / "takes").glob("*/*.mid"), key=lambda path: (_in_order(path.stem), path.parent.name))


def _in_order(stem: str) -> tuple[tuple[int, str], ...]:
    """A name as its figures and what is between them, so that the tenth take of a minute comes after the second."""
    return tuple((int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"([0-9]+)", stem) if part)


def kept_takes(root: Path, songs: Iterable[str]) -> tuple[list[Kept], list[TakeError]]:
    """Takes that go through any of the songs, oldest first, and those that can't be read."""
    wanted, found, broken = set(songs), list[Kept](), list[TakeError]()
    for path in take_files(root):
        try:
            kept = Kept(path, f"{path.parent.name}/{path.stem}", read_take(path))
        except TakeError as error:
            if path.parent.name in wanted:
                broken.append(error)
            continue
        if wanted & {*kept.songs, path.parent.name}:
            found.append(kept)
    return found, broken


def review_of(book: Book, take: Take, rig: str, song: str | None = None) -> Review:
    """What a take shows with the book as it is now; UnknownTakeError if the book has nothing of it."""
    script = script_for(book, take, book.rigs[rig], song)
    show = book.shows.get(take.show) if take.show is not None else None
    pauses_s = (
        {(one.before, one.after): one.has_s for one in changeovers(book, show, book.rigs[rig])}
        if show is not None
        else {}
    )
    found = review(script, answers(script, take), gone(take), pauses_s)
    heard = [(e.at_s, e.port, e.data) for e in take.events if e.direction == "in"]
    return with_held(found, script, heard)._replace(played=take.played)


def gone(take: Take) -> dict[float, float | None]:
    """When the song's clock was started after each jump to a cue, by the time of the jump; None where it was not."""
    asks = sorted(take.asks, key=lambda ask: ask.at_s)
    found: dict[float, float | None] = {}
    for jump, then in zip_longest(asks, asks[1:]):
        if jump.what.startswith("jump "):
            goes = then is not None and then.what == "go " + jump.what.removeprefix("jump ")
            found[jump.at_s] = then.at_s if goes else None
    return found


def reviewed(book: Book, kept: Sequence[Kept]) -> list[tuple[Kept, Review]]:
    """Takes with what they show; those of a rig, show or song that the book no longer has are passed over."""
    found = []
    for one in kept:
        show = book.shows.get(one.take.show) if one.take.show is not None else None
        rig = one.take.rig or book.rig_of(show)
        if rig is None or rig not in book.rigs:
            continue
        try:
            found.append((one, review_of(book, one.take, rig, one.path.parent.name)))
        except UnknownTakeError:
            continue
    return found
