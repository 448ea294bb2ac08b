"""Names that point at nothing: between the files of a book, inside a song and inside a rig."""

from collections.abc import Collection, Iterator, Mapping
from typing import NamedTuple

from showrunner.model.checklist import Checklist
from showrunner.model.keys import KeyPath
from showrunner.model.library import Book
from showrunner.model.names import RigNames, Wrong
from showrunner.model.nearest import Hint
from showrunner.model.rig_references import wrong_in_rig
from showrunner.model.show import Show
from showrunner.model.song_references import wrong_in_song


class Broken(NamedTuple):
    """A name that points at nothing, or a place that can't be: the document, the key, what is wrong, the mend."""

    kind: str
    slug: str
    key: KeyPath
    what: str
    hint: str | Hint

    @property
    def mend(self) -> str:
        """How to mend it; the nearest known name is looked for only now."""
        return str(self.hint)


def broken_references(book: Book, unread: Collection[tuple[str, str]] = ()) -> Iterator[Broken]:
    """Every broken reference of a book; `unread` are documents, kind and slug, that exist but could not be read.

    What an unread document might hold is never called missing, so that one bad file gives no false problems.
    """
    rigs = RigNames(book.rigs, whole=not any(kind == "rig" for kind, _ in unread))
    slugs = _Slugs(book, unread)
    if book.rig is not None:
        yield from (Broken("book", "", *wrong) for wrong in slugs.missing("rig", book.rig, ("rig",)))
    for slug, rig in book.rigs.items():
        yield from (Broken("rig", slug, *wrong) for wrong in wrong_in_rig(rig))
    for slug, song in book.songs.items():
        yield from (Broken("song", slug, *wrong) for wrong in wrong_in_song(song, rigs))
    for slug, venue in book.venues.items():
        wrongs = rigs.missing_keys("target", venue.trims.targets, ("trims", "targets"))
        yield from (Broken("venue", slug, *wrong) for wrong in wrongs)
    for slug, show in book.shows.items():
        yield from (Broken("show", slug, *wrong) for wrong in _in_show(book, show, rigs, slugs))
    for slug, checklist in book.checklists.items():
        yield from (Broken("checklist", slug, *wrong) for wrong in _in_checklist(checklist, rigs))


class _Slugs:
    """The slugs there are of each kind, those that could not be read among them."""

    def __init__(self, book: Book, unread: Collection[tuple[str, str]]) -> None:
        self._known: dict[str, set[str]] = {
            kind: {*documents, *(slug for of_kind, slug in unread if of_kind == kind)}
            for kind, documents in (
                ("song", book.songs),
                ("rig", book.rigs),
                ("venue", book.venues),
                ("checklist", book.checklists),
            )
        }

    def missing(self, kind: str, slug: str | None, key: KeyPath) -> Iterator[Wrong]:
        """That a document is not there, if it isn't."""
        if slug is not None and slug not in self._known[kind]:
            mend = Hint(slug, self._known[kind], f"add {kind}s/{slug}.toml, or take it out here")
            yield Wrong(key, f'there is no {kind} "{slug}"', mend)


def _in_show(book: Book, show: Show, rigs: RigNames, slugs: _Slugs) -> Iterator[Wrong]:
    songs = dict.fromkeys(show.songs)
    yield from slugs.missing("venue", show.venue, ("venue",))
    yield from slugs.missing("rig", show.rig, ("rig",))
    for number, checklist in enumerate(show.checklists):
        yield from slugs.missing("checklist", checklist, ("checklists", number))
    for set_number, part in enumerate(show.sets):
        for number, slot in enumerate(part.songs):
            key = ("sets", set_number, "songs", number)
            yield from slugs.missing("song", slot.song, (*key, "song"))
            if slot.pin is not None and slot.pin.song is not None:
                yield from _not_in_show(songs, slot.pin.song, (*key, "pin"))
    for name, listed in (("reserve", show.reserve), ("encore", show.encore)):
        for number, song in enumerate(listed):
            yield from slugs.missing("song", song, (name, number))
    yield from rigs.missing_keys("target", show.trims.targets, ("trims", "targets"))
    for song, stand_ins in show.stand_ins.items():
        yield from _not_in_show(songs, song, ("stand_ins", song))
        yield from rigs.missing_keys("control", stand_ins, ("stand_ins", song))
        for wanted, used in stand_ins.items():
            yield from rigs.missing("control", used, ("stand_ins", song, wanted))
    for song, tonight in show.tonight.items():
        yield from _not_in_show(songs, song, ("tonight", song))
        yield from rigs.missing("guitar", tonight.instrument, ("tonight", song, "instrument"))
        usual = book.songs[song].instrument if song in book.songs else None
        yield from rigs.tuning(tonight.instrument or usual, tonight.tuning, ("tonight", song, "tuning"))


def _not_in_show(songs: Mapping[str, None], song: str, key: KeyPath) -> Iterator[Wrong]:
    if song not in songs:
        mend = Hint(song, songs, "add it to a set, the encore or the reserve, or take it out here")
        yield Wrong(key, f'the song "{song}" is not in this show', mend)


def _in_checklist(checklist: Checklist, rigs: RigNames) -> Iterator[Wrong]:
    for number, item in enumerate(checklist.items):
        kind, _, name = (item.verify or "").replace("not doubled", "control").partition(" ")
        if name:
            yield from rigs.missing(kind, name.strip(), ("items", number, "verify"))
