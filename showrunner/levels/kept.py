"""What a night leaves behind: the trims as they ended, for the venue's visits."""

import math
from collections.abc import Iterable

from showrunner.model.document import MOST_DB, MOST_ENTRIES, MOST_VALUE
from showrunner.model.show import Show
from showrunner.model.venue import RoomTrims, Venue, Visit

VOLUME, GAIN = "interface volume", "input gain"
KEYS = {VOLUME: "interface_volume_db", GAIN: "input_gain_db"}
"""Trims in dB to their key in the show's and the venue's [trims]; any other trim is an offset on a target."""


def in_reach(name: str, value: float) -> bool:
    """Whether one trim can be put there, in its unit: as far as a document can say it."""
    return abs(value) <= (MOST_DB if name in KEYS else MOST_VALUE)


def moved(show: Show, trims: Iterable[tuple[str, float]]) -> Show:
    """The show with tonight's trims as they are given by name, in their units; those not named stay."""
    given = dict(trims)
    targets = {**show.trims.targets, **{name: value for name, value in given.items() if name not in KEYS}}
    plain = {KEYS[name]: value for name, value in given.items() if name in KEYS}
    return show.model_copy(update={"trims": show.trims.model_copy(update={**plain, "targets": targets})})


def tonight(show: Show, name: str) -> float:
    """What the show adds to one trim, in its unit."""
    return float(getattr(show.trims, KEYS[name])) if name in KEYS else show.trims.targets.get(name, 0.0)


def as_ended(venue: Venue, show: Show) -> RoomTrims:
    """What the room needed that night: the venue's own trims with the show's on top, held to what a visit can say."""
    room, show_trims = venue.trims, show.trims
    names = tuple(dict.fromkeys((*room.targets, *show_trims.targets)))[:MOST_ENTRIES]
    targets = {
        name: _held(MOST_VALUE, room.targets.get(name, 0.0), show_trims.targets.get(name, 0.0)) for name in names
    }
    return RoomTrims(
        input_gain_db=_held(MOST_DB, room.input_gain_db, show_trims.input_gain_db),
        interface_volume_db=_held(MOST_DB, room.interface_volume_db, show_trims.interface_volume_db),
        full_house_db=venue.trims.full_house_db,
        targets=targets,
    )


def _held(most: float, *values: float) -> float:
    return max(-most, min(most, math.fsum(values)))


def last_visit(venue: Venue) -> Visit | None:
    """The latest visit, the one filed last of several on a date; None for a room never visited."""
    return max(reversed(venue.visits), key=lambda visit: visit.date, default=None)
