"""A show made ready for the machine: its songs on tonight's rig, their order, what follows each, and curve tables."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from showrunner.curves.tables import CurveTable, compile_curve
from showrunner.levels.gain import Trims as Levels
from showrunner.levels.kept import moved
from showrunner.model.library import Book
from showrunner.model.midi import lsb_of
from showrunner.model.rig import Control, Rig
from showrunner.model.show import Show, Then
from showrunner.model.song import Curve
from showrunner.state.moments import Piece, prepare_show
from showrunner.state.trimmed import Room, added, levels, with_trims
from showrunner.state.values import Trims

Place = tuple[str | None, int | None, int | None]
"""Where a control is heard: port, channel, controller number."""

NO_SHOW = Show(format=1, title="no show")


@dataclass(frozen=True)
class Script:
    """What a run needs and never changes; only what is made when first asked for is added.

    `pieces` have tonight's trims in them, `written` are the same songs without, `room` is what the trims are of.
    """

    rig: Rig
    pieces: Mapping[str, Piece]
    order: tuple[str, ...]
    reserve: tuple[str, ...] = ()
    then: Mapping[str, Then | None] = field(default_factory=dict)
    written: Mapping[str, Piece] = field(default_factory=dict)
    room: Room = field(default_factory=Room)
    _tables: dict[tuple[str, str, str, Trims], CurveTable | None] = field(
        default_factory=dict, compare=False, repr=False
    )
    _pieces: dict[tuple[str, Trims], Piece] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def whole(self) -> Mapping[Place, str]:
        """Port, channel and controller number to the 7-bit control they belong to."""
        return {(c.port, c.channel, c.cc): name for name, c in self._on_ports if c.bits == 7}

    @cached_property
    def halves(self) -> Mapping[Place, str]:
        """The same for controls of 14 bits, by MSB and by LSB."""
        pairs = [(name, c) for name, c in self._on_ports if c.bits == 14]
        coarse = {(c.port, c.channel, c.cc): name for name, c in pairs}
        return coarse | {(c.port, c.channel, lsb_of(c.cc)): name for name, c in pairs if c.cc is not None}

    @cached_property
    def switches(self) -> frozenset[str]:
        """Names of the switches that step and mute."""
        steps, mute = self.rig.steps, self.rig.mute
        names = (steps.next, steps.back) if steps is not None else ()
        return frozenset(name for name in (*names, mute.switch if mute is not None else None) if name is not None)

    @cached_property
    def _on_ports(self) -> list[tuple[str, Control]]:
        return [(name, control) for name, control in self.rig.controls.items() if not control.by_hand]

    def runs_on(self, song: str, following: str) -> bool:
        """Whether a song goes straight into another, as the show says; not into one that came to follow it later."""
        then = self.then.get(song)
        return then is not None and then.kind == "segue" and (song, following) in pairwise(self.order)

    def piece(self, slug: str, trims: Trims = ()) -> Piece:
        """A song with tonight's trims in it, those that were moved since the run began where they stand now."""
        if not trims:
            return self.pieces[slug]
        key = (slug, trims)
        made = self._pieces.get(key)
        if made is None:
            room = self.room_with(trims)
            made = with_trims(self._as_written(slug), room.venue, room.show, full_house=room.full_house)
            self._pieces[key] = made
        return made

    def room_with(self, trims: Trims) -> Room:
        """What tonight's trims are of, with those that were moved."""
        return self.room._replace(show=moved(self.room.show or NO_SHOW, trims)) if trims else self.room

    def levels(self, slug: str, trims: Trims = ()) -> Levels:
        """Gain and volume that a song is played with, full house and moved trims among them."""
        return levels(self._as_written(slug), self.room_with(trims))

    def by_hand_levels(self, slug: str, trims: Trims = ()) -> dict[str, float]:
        """The levels, dB, that hands turn for a song: the input gain, and the volume where no target sets it."""
        found, set_by = self.levels(slug, trims), self.rig.trims.volume_target
        volume = {} if set_by in self.rig.targets else {"volume": found.interface_volume.set_db}
        return {"gain": found.input_gain.set_db} | volume

    def added(self, slug: str, trims: Trims) -> dict[str, float]:
        """What tonight's trims add to each target of a song that they move, in its unit."""
        return added(self._as_written(slug), self.room_with(trims))

    def table(self, slug: str, curve_set: str | None, control: str, trims: Trims = ()) -> CurveTable | None:
        """The compiled curve of a control in a song's curve set; None where the set does not use the control.

        A curve that moved trims leave as it was has one table for all of them.
        """
        if curve_set is None:
            return None
        key = (slug, curve_set, control, trims)
        found = self._tables.get(key, self)
        if not isinstance(found, Script):
            return found
        curve = self.piece(slug, trims).song.curves.get(curve_set, {}).get(control)
        moved_by = self.rig.controls.get(control)
        if curve is None or moved_by is None or moved_by.by_hand:
            table = None
        elif trims and self._adds(slug, curve, trims) == self._adds(slug, curve, ()):
            table = self.table(slug, curve_set, control)
        else:
            table = compile_curve(moved_by, curve, self.rig.targets, self.piece(slug, trims).added)
        self._tables[key] = table
        return table

    def _adds(self, slug: str, curve: Curve, trims: Trims) -> list[float]:
        """What trims add to each target that a curve moves."""
        added = self.piece(slug, trims).added
        return [added.get(name, 0.0) for name in curve.moves]

    def compile(self, slug: str, trims: Trims = ()) -> None:
        """Make every table of a song ahead of need."""
        for name, curves in self.piece(slug, trims).song.curves.items():
            for control in curves:
                table = self.table(slug, name, control, trims)
                if table is not None:
                    table.compile()

    def forget(self, keep: tuple[str, ...], trims: Trims = ()) -> None:
        """Drop what was made of all songs but these and for all other trims, so that memory stays flat."""
        for key in list(self._tables):  # a copy made at once: another thread may be making tables meanwhile
            if key[0] not in keep or key[3] not in ((), trims):
                self._tables.pop(key, None)
        for slug, of in list(self._pieces):
            if slug not in keep or of != trims:
                self._pieces.pop((slug, of), None)

    def _as_written(self, slug: str) -> Piece:
        return self.written.get(slug, self.pieces[slug])


def script_of_show(book: Book, show: Show, rig: Rig, *, full_house: bool = False) -> Script:
    """The script of a show on a rig, with tonight's trims in it; songs the book doesn't have are left out."""
    venue = book.venues.get(show.venue) if show.venue is not None else None
    prepared = prepare_show(book, show, rig)
    pieces = {slug: with_trims(piece, venue, show, full_house=full_house) for slug, piece in prepared.items()}
    slots = [slot for part in show.sets for slot in part.songs]
    return Script(
        rig=rig,
        pieces=pieces,
        order=tuple(slug for slug in (*show.set_songs, *show.encore) if slug in pieces),
        reserve=tuple(slug for slug in show.reserve if slug in pieces),
        then={slot.song: slot.then for slot in slots},
        written=prepared,
        room=Room(venue, show, full_house),
    )
