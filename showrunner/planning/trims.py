"""Every song's trims of a show, with their headroom and the controller number that sets the interface volume."""

from typing import NamedTuple

from showrunner.curves.laws import to_number
from showrunner.levels.gain import NEGLIGIBLE_DB, Remark, Trims, trims
from showrunner.levels.headroom import StageLevel, advice, along_chain, first_to_clip
from showrunner.levels.newroom import Start, never_played, starting_trims
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.venue import Venue
from showrunner.planning.song_levels import CutOff, cut_off, moved
from showrunner.state.moments import Piece, prepare_show


class SongTrims(NamedTuple):
    """One song's trims tonight, its levels along the chain, and what should be turned."""

    song: str
    trims: Trims
    interface_volume_number: int | None
    stages: tuple[StageLevel, ...]
    remarks: tuple[Remark, ...]
    cut_off: tuple[CutOff, ...] = ()


class ShowLevels(NamedTuple):
    """All songs' trims, the song and stage that clip first, and where to start if the room is new."""

    songs: tuple[SongTrims, ...]
    first: tuple[str, StageLevel] | None
    start: Start | None


def show_levels(book: Book, show: Show, rig: Rig, full_house: bool = False) -> ShowLevels:
    """Trims and headroom of every song that the show may need and the book has, in the show's order."""
    venue = book.venues.get(show.venue) if show.venue is not None else None
    songs = tuple(_song(piece, venue, show, full_house) for piece in prepare_show(book, show, rig).values())
    firsts = [(song.song, stage) for song in songs if (stage := first_to_clip(song.stages)) is not None]
    start = None
    if venue is not None and show.venue is not None and never_played(venue):
        start = starting_trims(show.venue, book.venues)
    return ShowLevels(songs, min(firsts, key=lambda pair: pair[1].spare_db, default=None), start)


def louder(rig: Rig, before: ShowLevels, after: ShowLevels) -> bool:
    """Whether any song's input gain, interface volume or offset on a level target goes up."""
    songs = zip(before.songs, after.songs, strict=True)
    turned = (zip(_turned(rig, was), _turned(rig, now), strict=True) for was, now in songs)
    return any(now > was + NEGLIGIBLE_DB for song in turned for was, now in song)


def _turned(rig: Rig, song: SongTrims) -> list[float]:
    offsets = (song.trims.targets.get(name, 0.0) for name, target in rig.targets.items() if target.level)
    return [song.trims.input_gain.set_db, song.trims.interface_volume.set_db, *offsets]


def _song(piece: Piece, venue: Venue | None, show: Show, full_house: bool) -> SongTrims:
    found = trims(piece.rig, piece.song, venue, show, full_house)
    stages = along_chain(piece.rig, piece.song, found, moved(piece, found))
    turn, lost = advice(piece.rig, stages), tuple(cut_off(piece, found))
    remarks = (*found.remarks, *map(of_cut_off, lost), *(() if turn is None else (turn,)))
    return SongTrims(piece.slug, found, _number(piece.rig, found), stages, remarks, lost)


def of_cut_off(one: CutOff) -> Remark:
    """What is said of an offset that is cut off in a song."""
    lost = "all" if one.lost >= abs(one.by) - NEGLIGIBLE_DB else f"{round(one.lost, 2):g} {one.unit}"
    what = f"{one.target} gets {one.by:+g} {one.unit}, and {lost} of it is lost where that goes past its range"
    return Remark("note", what, "keep its values off the end of the range, or the room's trim smaller")


def _number(rig: Rig, found: Trims) -> int | None:
    name = rig.trims.volume_target
    target = rig.targets.get(name) if name is not None else None
    return to_number(target, found.interface_volume.set_db) if target is not None else None
