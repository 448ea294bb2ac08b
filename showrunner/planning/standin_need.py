"""A control that a song wants and the rig lacks tonight: what it would do, and when."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from showrunner.model.rig import Control, Rig
from showrunner.model.song import Cue, Curve, Start
from showrunner.state.moments import Moment, Piece

UNKNOWN = Control(kind="pedal")
"""What a wanted control is taken for that no rig has."""


class Need(NamedTuple):
    """A wanted control as the rig that has it describes it, with what the song does with it."""

    name: str
    home: Control
    piece: Piece
    curves: Mapping[str, Curve]
    """By curve set."""
    in_play: tuple[Moment, ...]
    """The cues at which a curve of it is in force, or that place it."""
    placed: tuple[tuple[Moment, float], ...]
    """The cues that want it elsewhere than before, with its travel there."""

    @property
    def rows(self) -> int:
        """How many targets it moves, over all curve sets; one at least."""
        return max(1, sum(len(curve.moves) for curve in self.curves.values()))


def lacking(piece: Piece) -> tuple[str, ...]:
    """The controls that a song wants and can't have: not in the rig, not heard, or on a guitar it isn't played on."""
    wanted = dict.fromkeys(name for of_set in piece.song.curves.values() for name in of_set)
    moments: tuple[Start | Cue, ...] = (piece.song.start, *piece.song.cues)
    for moment in moments:
        wanted |= dict.fromkeys(moment.controls)
    return tuple(name for name in wanted if not in_hand(piece, name))


def in_hand(piece: Piece, name: str) -> bool:
    """Whether a control is heard in this song on this rig."""
    control = piece.rig.controls.get(name)
    return control is not None and not control.by_hand and guitar_carries(piece.rig, name, piece.song.instrument)


def guitar_carries(rig: Rig, name: str, instrument: str | None) -> bool:
    """Whether a control is there with this guitar: it lives on it, or on none."""
    carriers = [guitar for guitar, of in rig.instruments.items() if name in of.carries]
    return not carriers or instrument in carriers


def need(piece: Piece, name: str, home: Control) -> Need:
    """What a song does with a control."""
    curves = {of_set: of[name] for of_set, of in piece.song.curves.items() if name in of}
    cues = piece.moments[1:]
    in_play = tuple(m for m in cues if piece.curve(m, name) is not None or _place(m, name) is not None)
    return Need(name, home, piece, curves, in_play, tuple(placed(piece, name)))


def placed(piece: Piece, name: str) -> Iterator[tuple[Moment, float]]:
    """The cues that want a control elsewhere than before, with its travel there."""
    for moment in piece.moments[1:]:
        at = _place(moment, name)
        if at is not None and piece.moments[moment.number - 1].controls.get(name) != at:
            yield moment, at


def _place(moment: Moment, name: str) -> float | None:
    return moment.cue.controls.get(name) if moment.cue is not None else None
