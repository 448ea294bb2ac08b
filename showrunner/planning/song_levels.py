"""How loud the values make a song that it sends to its level targets: at its start, at each cue, wherever pedals stand.

Files don't draw the path that the sound takes. What is taken for it: level targets in dB on one port and channel stand
one after the other in one path, since a MIDI channel is one part of the host; other channels are paths beside it, added
as powers and taken for equally loud at 0 dB. The main path is the channel of the song's program, else that of most
targets; it is there even where no level target is in it. A target that stays at the low end of its range through the
whole song would silence what comes after it, so that it is a path of its own.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import product
from typing import NamedTuple

from showrunner.curves.laws import inside, to_number
from showrunner.curves.shapes import columns, row_in
from showrunner.curves.travel import travels_of
from showrunner.levels.gain import NEGLIGIBLE_DB, Trims
from showrunner.levels.headroom import Moved
from showrunner.model.rig import Control, Rig
from showrunner.model.song import Curve, Song
from showrunner.state.moments import RESTS, Moment, Piece

SHUT_DB = -40.0
"""A range that begins here or lower begins with silence; our own figure, no source."""

FINE = 64
"""Of a control of 14 bits every 64th reading is looked at, twice as many as one of 7 bits has."""

MANY = 500
"""From so many places of all pedals together on, those are left out that others are as loud as in every path."""

Values = Mapping[str, float]
"""Values of level targets as written, in dB."""

Sent = Callable[[str, float], float]
"""What comes of a target's written value, in dB."""


class CutOff(NamedTuple):
    """A target whose offset is cut off somewhere in a song: the offset, and the most that is lost, in its unit."""

    target: str
    by: float
    lost: float
    unit: str


class Places(NamedTuple):
    """What a moment can send: values that stand, and for each control the values it gives where it can stand."""

    standing: Values
    controls: tuple[tuple[Values, ...], ...]


def moved(piece: Piece, trims: Trims) -> Moved:
    """How far tonight's trims move a written song's loudest moment, before the interface volume and with it."""
    levels, volume, reference_db = Levels(piece), piece.rig.trims.volume_target, piece.rig.trims.interface_volume_db
    tonight = levels.tonight(trims)
    host_db = 0.0
    if any(by for name, by in trims.targets.items() if name in levels.names):
        host_db = levels.loudest(tonight) - levels.loudest(levels.written)
    volume_db = trims.interface_volume.set_db - reference_db
    if volume is not None and volume in levels.names:
        volume_db = tonight(volume, reference_db) - reference_db
        if levels.sets(volume):
            volume_db = levels.loudest(tonight, volume) - levels.loudest(tonight) - reference_db
    return Moved(host_db, volume_db, levels.swing(tonight))


def targets_at(piece: Piece, moment: Moment) -> dict[str, float]:
    """Each target's value at a moment, the pedals standing where the song wants them."""
    values = dict(moment.targets)
    for control, travel in moment.controls.items():
        curve = piece.curve(moment, control)
        for target in curve.moves if curve is not None else ():
            if curve is not None and moment.targets_since.get(target, RESTS) < moment.curves_since:
                values[target] = row_in(curve, target)(travel)
    return values


def cut_off(piece: Piece, trims: Trims) -> Iterator[CutOff]:
    """Offsets of which a target's range cuts something off in a song, wherever the song can put that target."""
    for name, by in trims.targets.items():
        target = piece.rig.targets[name]
        asked = {inside(target, value) + by for value in _reached(piece, name)}
        lost = max((abs(value - inside(target, value)) for value in asked), default=0.0)
        if lost > NEGLIGIBLE_DB:
            yield CutOff(name, by, lost, target.unit)


class Levels:
    """The level targets of a song, the paths they are in, and how loud they make it."""

    def __init__(self, piece: Piece) -> None:
        self._piece, rig = piece, piece.rig
        self.names = {name: target for name, target in rig.targets.items() if target.level and target.unit == "dB"}
        self._moments = piece.moments[piece.first :]
        self._curves: dict[tuple[str, str], tuple[Values, ...]] = {}
        volume, main = rig.trims.volume_target, main_path(rig, piece.song)
        paths = {name: (target.port, target.channel) for name, target in self.names.items() if name != volume}
        shared = Counter([main, *paths.values()])
        shut = [name for name, path in paths.items() if shared[path] > 1 and self._stays_shut(name)]
        paths |= {name: (name, 0) for name in shut}
        order = list(dict.fromkeys([main, *paths.values()]))
        self._path = {name: order.index(path) for name, path in paths.items()}
        self._count = len(order)

    def written(self, name: str, value: float) -> float:
        """What comes of a written value at the reference trims."""
        return inside(self.names[name], value)

    def tonight(self, trims: Trims) -> Sent:
        """What comes of written values with tonight's trims; a trim that changes no number changes nothing."""
        rig, by = self._piece.rig, dict(trims.targets)
        if rig.trims.volume_target is not None:
            by[rig.trims.volume_target] = trims.interface_volume.set_db - rig.trims.interface_volume_db

        def sent(name: str, value: float) -> float:
            target, trimmed = self.names[name], value + by.get(name, 0.0)
            same = to_number(target, trimmed) == to_number(target, value)
            return inside(target, value if same else trimmed)

        return sent

    def loudest(self, sent: Sent, volume: str | None = None) -> float:
        """Level of the loudest place of the song, dB, with the interface volume's own target where it is named."""
        return max(self._loudest_at(places, sent, volume) for places in self._places)

    def sets(self, name: str) -> bool:
        """Whether the song itself says anything of a level target."""
        song = self._piece.song
        rows = (curve.moves for of_set in song.curves.values() for curve in of_set.values())
        return any(name in named for named in (song.start.targets, *(cue.targets for cue in song.cues), *rows))

    def at(self, values: Values, sent: Sent) -> float:
        """Level of a place of the song with these values, dB, before the interface volume."""
        return _together(self._along(values, sent))

    def swing(self, sent: Sent) -> float | None:
        """How far the quietest moment lies below the loudest, dB, pedals as the song wants them; None if no way."""
        at = [targets_at(self._piece, moment) for moment in self._moments]
        levels = [self.at({name: value for name, value in values.items() if name in self._path}, sent) for values in at]
        return max(levels) - min(levels) or None

    def _along(self, values: Values, sent: Sent, volume: str | None = None) -> tuple[float, ...]:
        sums = [0.0] * self._count
        for name, value in values.items():
            if name in self._path:
                sums[self._path[name]] += sent(name, value)
        over_all = sent(volume, values[volume]) if volume is not None and volume in values else 0.0
        return tuple(level + over_all for level in sums)

    def _loudest_at(self, places: Places, sent: Sent, volume: str | None) -> float:
        standing = self._along(places.standing, sent, volume)
        choices = [list({self._along(values, sent, volume) for values in control}) for control in places.controls]
        if math.prod(map(len, choices)) > MANY:
            choices = [_front(sums) for sums in choices]
        return max(_together([math.fsum(path) for path in zip(standing, *at, strict=True)]) for at in product(*choices))

    def _stays_shut(self, name: str) -> bool:
        low = min(self.names[name].range)
        if low > SHUT_DB or any(moment.targets.get(name, low) > low for moment in self._moments):
            return False
        values = [given[name] for places in self._places for given in _all_of(places) if name in given]
        return bool(values) and all(value <= low for value in values)

    @cached_property
    def _places(self) -> list[Places]:
        return [self._places_at(moment) for moment in self._moments]

    def _places_at(self, moment: Moment) -> Places:
        rig, volume = self._piece.rig, self._piece.rig.trims.volume_target
        standing = {name: value for name, value in moment.targets.items() if name in self.names}
        if volume in self.names and moment.targets_since.get(volume, RESTS) == RESTS:
            standing[volume] = rig.trims.interface_volume_db
        controls = []
        for control, mine in movers(self._piece, moment).items():
            given = {name: standing.pop(name) for name in mine if name in standing}
            named = {n: v for n, v in given.items() if moment.targets_since.get(n, RESTS) >= moment.curves_since}
            rows = [name for name in mine if name in self.names]
            values = self._of_curve(moment, control, rows)
            values += tuple({**value, **named} for value in values) if named else ()
            values += (given,) if control not in moment.controls else ()  # where it was never heard, all that stands
            controls.append(values)
        return Places(standing, tuple(controls))

    def _of_curve(self, moment: Moment, control: str, names: Sequence[str]) -> tuple[Values, ...]:
        """What a curve gives its level targets, wherever its control can stand."""
        curve = self._piece.curve(moment, control)
        key = (moment.curves or "", control)
        if curve is not None and key not in self._curves:
            rows = {name: row_in(curve, name) for name in names}
            at = reached(self._piece.rig.controls[control], curve, names) if rows else (0.0,)
            self._curves[key] = tuple({name: row(travel) for name, row in rows.items()} for travel in at)
        return self._curves.get(key, ({},))


def reached(control: Control, curve: Curve, names: Iterable[str]) -> Iterable[float]:
    """The travels, %, that a control can stand at: all its readings; of 14 bits every 64th and the rows' columns."""
    travels = travels_of(control)
    if control.bits == 7:
        return dict.fromkeys(travels)
    inside_reach = {at for name in names for at in columns(curve, name) if travels[0] < at < travels[-1]}
    return {*inside_reach, *travels[::FINE], travels[-1]}


def movers(piece: Piece, moment: Moment) -> dict[str, list[str]]:
    """The targets that each control moves under the curve set in force; the first control where two move one."""
    taken: set[str] = set()
    found: dict[str, list[str]] = {}
    for control, curve in piece.song.curves.get(moment.curves or "", {}).items():
        if control in piece.rig.controls and not piece.rig.controls[control].by_hand:
            found[control] = [name for name in curve.moves if name in piece.rig.targets and name not in taken]
            taken.update(found[control])
    return found


def main_path(rig: Rig, song: Song) -> tuple[str, int]:
    """Port and channel of the path that the song itself takes: its program's, else that of most targets."""
    if song.program is not None:
        return song.program.port, song.program.channel
    channels = Counter((target.port, target.channel) for target in rig.targets.values())
    return channels.most_common(1)[0][0] if channels else ("", 1)


def _reached(piece: Piece, name: str) -> Iterator[float]:
    """Every value that a song gives a target at its start and at its cues, of curves the highest and the lowest."""
    for moment in piece.moments[piece.first :]:
        mover = next((control for control, mine in movers(piece, moment).items() if name in mine), None)
        named = moment.targets_since.get(name, RESTS) >= moment.curves_since
        if name in moment.targets and (named or mover is None or mover not in moment.controls):
            yield moment.targets[name]
        curve = piece.curve(moment, mover) if mover is not None else None
        if curve is not None and mover is not None:
            yield from map(row_in(curve, name), reached(piece.rig.controls[mover], curve, [name]))


def _all_of(places: Places) -> Iterator[Values]:
    yield places.standing
    for control in places.controls:
        yield from control


def _front(sums: Iterable[tuple[float, ...]]) -> list[tuple[float, ...]]:
    """Those sums by path that no other is at least as loud as in every path."""
    kept: list[tuple[float, ...]] = []
    for one in sorted(sums, reverse=True):
        if not any(all(a >= b for a, b in zip(other, one, strict=True)) for other in kept):
            kept.append(one)
    return kept


def _together(levels: Sequence[float]) -> float:
    """Level of paths side by side, dB: their powers added."""
    top = max(levels)
    return top + 10 * math.log10(math.fsum(10 ** ((level - top) / 10) for level in levels))
