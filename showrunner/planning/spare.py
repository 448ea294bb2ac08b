"""What changes and what is lost when a guitar is swapped for its spare."""

from collections.abc import Iterator
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Instrument, Rig
from showrunner.model.show import Show
from showrunner.planning.standin_losses import at_cues
from showrunner.planning.standins import SongStandIns, stand_ins
from showrunner.state.moments import Piece, prepare_song
from showrunner.state.tonight import on_a_guitar, song_tonight


class SwappedSong(NamedTuple):
    """A song played on the spare: what is different, what is lost for good, and who does the work of what it lacks."""

    guitar: str
    found: SongStandIns
    changes: tuple[str, ...]
    lost: tuple[str, ...]

    @property
    def losses(self) -> tuple[str, ...]:
        """Everything that is lost, each a sentence."""
        return (*(f"in {self.found.title} {why}" for why in self.lost), *self.found.losses)


def guitars_of(rig: Rig, spare: str) -> tuple[str, ...]:
    """The guitars that name this one as their spare."""
    return tuple(name for name, guitar in rig.instruments.items() if guitar.spare == spare)


def on_spare(book: Book, show: Show, rig: Rig, spare: str) -> tuple[SwappedSong, ...]:
    """The show's songs that are played on a guitar whose spare this is, played on the spare instead.

    Stand-ins are found for these songs together, since any of them may be the one to be finished.
    """
    swapped: dict[str, str] = {}
    for slug in show.songs:
        song = book.songs.get(slug)
        guitar = song_tonight(on_a_guitar(song, rig), show, slug).instrument if song is not None else None
        if guitar is not None and guitar in guitars_of(rig, spare):
            swapped[slug] = guitar
    songs = {slug: book.songs[slug].model_copy(update={"instrument": spare}) for slug in swapped}
    tonight = {slug: changes.model_copy(update={"instrument": None}) for slug, changes in show.tonight.items()}
    only = show.model_copy(update={"sets": (), "encore": (), "reserve": tuple(swapped), "tonight": tonight})
    return tuple(
        _swapped(rig, swapped[found.song], spare, prepare_song(book, found.song, rig, show), found)
        for found in stand_ins(book._replace(songs={**book.songs, **songs}), only, rig)
    )


def _swapped(rig: Rig, guitar: str, spare: str, before: Piece, found: SongStandIns) -> SwappedSong:
    old, new = rig.instruments[guitar], rig.instruments.get(spare)
    if new is None:
        return SwappedSong(guitar, found, (), (f"there is no {spare} to play it on",))
    changes = tuple(_changes(before, old, new, spare))
    return SwappedSong(guitar, found, changes, tuple(_lost(rig, before, guitar, spare)))


def _changes(piece: Piece, old: Instrument, new: Instrument, spare: str) -> Iterator[str]:
    gain_db = new.trim_db - old.trim_db
    if gain_db:
        was = f"{piece.song.instrument} at {old.trim_db:g} dB"
        yield f"input gain {gain_db:+g} dB: {spare} is at {new.trim_db:g} dB, {was}"
    tuning = piece.song.tuning or old.home_tuning
    if tuning in new.tunings and tuning != new.home_tuning:
        strings = _different(new.tunings[new.home_tuning], new.tunings[tuning])
        seconds = strings * new.retune_s_per_string
        named = f"{strings} string{'s' if strings != 1 else ''}"
        yield f"{spare} comes in {new.home_tuning}: {named} to retune to {tuning}, about {seconds:g} s"
    if piece.song.capo and new.capo_s:
        yield f"capo on fret {piece.song.capo}: about {new.capo_s:g} s"
    if old.battery != new.battery:
        yield f"battery: {new.battery or 'none'} instead of {old.battery or 'none'}"


def _lost(rig: Rig, piece: Piece, guitar: str, spare: str) -> Iterator[str]:
    old, new = rig.instruments[guitar], rig.instruments[spare]
    tuning = piece.song.tuning or old.home_tuning
    if tuning not in new.tunings:
        yield f"{spare} has no {tuning}"
    elif tuning in old.tunings and new.tunings[tuning] != old.tunings[tuning]:
        yield f"{tuning} is another tuning on {spare}: {' '.join(new.tunings[tuning])}"
    driver = piece.driver
    rings = [moment for moment in piece.moments if moment.cue is not None and moment.cue.hold]
    if driver is not None and driver not in new.carries and rings:
        yield f"no driver keeps the note ringing {at_cues(rings)}: it dies away by itself"


def _different(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    return sum(a != b for a, b in zip(one, other, strict=False)) + abs(len(one) - len(other))
