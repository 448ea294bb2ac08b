"""A song with tonight's trims in it: what the machine plays, where the sheets and checks show what is written."""

from collections.abc import Mapping
from typing import NamedTuple

from showrunner.levels.gain import Trims, trims
from showrunner.model.rig import Rig, Target
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue
from showrunner.state.moments import Piece, sums


class Room(NamedTuple):
    """What tonight's trims are of: the venue, the show, and whether the audience is in."""

    venue: Venue | None = None
    show: Show | None = None
    full_house: bool = False


def with_trims(piece: Piece, venue: Venue | None, show: Show | None, *, full_house: bool = False) -> Piece:
    """The piece with the interface volume at its sum for tonight and the room's offsets on its targets.

    What a song sets on the interface volume itself moves by as much as the trims move the rig's own setting. Values may
    come to lie beyond their target's range: what is sent is held to it, so that a trim taken back leaves no trace.
    """
    rig = piece.rig
    by, name = added(piece, Room(venue, show, full_house)), rig.trims.volume_target
    rests: dict[str, float] = {}
    for target in by:
        rest = rig.trims.interface_volume_db if target == name else rig.targets[target].rest
        if rest is not None:
            rests[target] = rest + by[target]
    if not any(by.values()) and all(rig.targets[target].rest == value for target, value in rests.items()):
        return piece
    trimmed_rig = rig.model_copy(update={"targets": _resting(rig, rests)})
    song = _shifted(piece.song, by)
    return piece._replace(song=song, moments=tuple(sums(song, trimmed_rig)), added=by)


def levels(piece: Piece, room: Room) -> Trims:
    """Input gain and interface volume that a song is played with, and what is added to its targets."""
    return trims(piece.rig, piece.song, room.venue, room.show, room.full_house)


def added(piece: Piece, room: Room) -> dict[str, float]:
    """What the trims add to each target that they move, the interface volume's among them, in its unit."""
    rig = piece.rig
    found = levels(piece, room)
    by, name = dict(found.targets), rig.trims.volume_target
    if name is not None and name in rig.targets:
        by[name] = found.interface_volume.set_db - rig.trims.interface_volume_db
    return by


def _resting(rig: Rig, rests: Mapping[str, float]) -> dict[str, Target]:
    return {
        name: target.model_copy(update={"rest": rests[name]}) if name in rests else target
        for name, target in rig.targets.items()
    }


def _shifted(song: Song, by: Mapping[str, float]) -> Song:
    def values(named: Mapping[str, float]) -> dict[str, float]:
        return {name: value + by.get(name, 0.0) for name, value in named.items()}

    start = song.start.model_copy(update={"targets": values(song.start.targets)})
    cues = tuple(cue.model_copy(update={"targets": values(cue.targets)}) for cue in song.cues)
    return song.model_copy(update={"start": start, "cues": cues})
