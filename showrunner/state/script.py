"""A show made ready for the machine: its songs on tonight's rig, their order, what follows each, and curve tables."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from showrunner.curves.tables import CurveTable, compile_curve
from showrunner.model.library import Book
from showrunner.model.midi import lsb_of
from showrunner.model.rig import Control, Rig
from showrunner.model.show import Show, Then
from showrunner.state.moments import Piece, prepare_show
from showrunner.state.trimmed import with_trims

Place = tuple[str | None, int | None, int | None]
"""Where a control is heard: port, channel, controller number."""


@dataclass(frozen=True)
class Script:
    """What a run needs and never changes; only tables, made when first asked for, are added."""

    rig: Rig
    pieces: Mapping[str, Piece]
    order: tuple[str, ...]
    reserve: tuple[str, ...] = ()
    then: Mapping[str, Then | None] = field(default_factory=dict)
    _tables: dict[tuple[str, str, str], CurveTable | None] = field(default_factory=dict, compare=False, repr=False)

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

    def table(self, slug: str, curve_set: str | None, control: str) -> CurveTable | None:
        """The compiled curve of a control in a song's curve set; None where the set does not use the control."""
        if curve_set is None:
            return None
        key = (slug, curve_set, control)
        if key not in self._tables:
            curve = self.pieces[slug].song.curves.get(curve_set, {}).get(control)
            moved_by = self.rig.controls.get(control)
            usable = curve is not None and moved_by is not None and not moved_by.by_hand
            self._tables[key] = (
                compile_curve(moved_by, curve, self.rig.targets) if usable and curve and moved_by else None
            )
        return self._tables[key]

    def compile(self, slug: str) -> None:
        """Make every table of a song ahead of need."""
        for name, curves in self.pieces[slug].song.curves.items():
            for control in curves:
                self.table(slug, name, control)

    def forget(self, keep: tuple[str, ...]) -> None:
        """Drop the tables of all songs but these, so that memory stays flat over a long show."""
        for key in [key for key in self._tables if key[0] not in keep]:
            del self._tables[key]


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
    )
