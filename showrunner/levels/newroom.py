"""Starting trims for a room never played: what rooms like it needed, how far they differed, and which they were."""

import math
from collections.abc import Mapping
from statistics import median
from typing import NamedTuple

from showrunner.levels.kept import last_visit
from showrunner.model.venue import RoomTrims, Venue

LIKE_CAPACITY = 2.0
"""Rooms count as alike when neither holds more than this many times the other."""


_KINSHIP = {
    (True, True): "of the same kind and about as large",
    (True, False): "of the same kind",
    (False, True): "about as large",
    (False, False): "the rooms played so far, though none is like it",
}


class Spread(NamedTuple):
    """The middle of what rooms needed, and the least and the most, in dB."""

    middle_db: float
    low_db: float
    high_db: float


class Start(NamedTuple):
    """Where to start in a new room: from which rooms, by slug, and why those."""

    input_gain: Spread
    interface_volume: Spread
    full_house: Spread
    rooms: tuple[str, ...]
    because: str


def never_played(venue: Venue) -> bool:
    """Whether the file holds neither a visit nor a trim."""
    return not venue.visits and venue.trims == RoomTrims()


def starting_trims(slug: str, venues: Mapping[str, Venue]) -> Start | None:
    """Trims to start with at the venue `slug`, from the others that have been played; None where there is none.

    The closest kinship that any room has counts: kind and size, else kind, else size, else all rooms.
    """
    room = venues[slug]
    played = {other: venue for other, venue in venues.items() if other != slug and not never_played(venue)}
    if not played:
        return None
    kin = {other: (_same_kind(room, venue), _same_size(room, venue)) for other, venue in played.items()}
    closest = max(kin.values())
    rooms = tuple(other for other in played if kin[other] == closest)
    trims = [needed(played[other]) for other in rooms]
    return Start(
        _spread([t.input_gain_db for t in trims]),
        _spread([t.interface_volume_db for t in trims]),
        _spread([t.full_house_db for t in trims]),
        rooms,
        _KINSHIP[closest],
    )


def needed(venue: Venue) -> RoomTrims:
    """What a room needed when it was last played: its latest visit's trims, else those in its file."""
    visit = last_visit(venue)
    return venue.trims if visit is None else visit.trims


def _same_kind(room: Venue, other: Venue) -> bool:
    return room.kind is not None and room.kind == other.kind


def _same_size(room: Venue, other: Venue) -> bool:
    if room.capacity is None or other.capacity is None:
        return False
    return abs(math.log(room.capacity / other.capacity)) <= math.log(LIKE_CAPACITY) + 1e-12


def _spread(values: list[float]) -> Spread:
    return Spread(float(median(values)), min(values), max(values))
