"""What hands have done so far, and what they have to do at a moment, whichever way the show came there."""

from collections.abc import Mapping
from typing import NamedTuple

from showrunner.model.rig import Rig
from showrunner.state.moments import Piece, rest_by_hand

FLOOR = ""
"""Where a control stands that lives on no guitar."""

Place = tuple[str, str]
"""The guitar that a control lives on, or `FLOOR`, and the control."""


class Hands(NamedTuple):
    """How hands have left everything, if they did what they were told; what is missing, or None, nobody knows.

    `tuning` is that of the guitar in hand, `by_hand` where controls stand, `levels` the gain and the volume that are
    turned by hand, dB. `capos` has the fret by guitar, None where
    nobody knows; a guitar that is not in it has none on.
    """

    guitar: str | None = None
    tuning: str | None = None
    capos: Mapping[str, int | None] = {}
    by_hand: Mapping[Place, str] = {}
    levels: Mapping[str, float] = {}

    def capo_on(self, guitar: str | None) -> int | None:
        """The fret of the capo on a guitar, 0 for none."""
        return self.capos.get(guitar or FLOOR, 0)


UNKNOWN = Hands()


def rested(rig: Rig, levels: Mapping[str, float]) -> Hands:
    """Before a show: everything at the rig's rest, levels as the first song wants them, and no guitar in hand yet."""
    places = {(_where(rig, name, None), name): to for name, to in rest_by_hand(rig).items()}
    return Hands(by_hand=places | dict(_lying(rig, None)), levels=levels)


def guitar_for(hands: Hands, piece: Piece) -> str | None:
    """The guitar that a song is played on: its own, else the one in hand."""
    return piece.song.instrument if piece.song.instrument is not None else hands.guitar


def to_set(hands: Hands, piece: Piece, number: int) -> dict[Place, str]:
    """What hands have to set at a moment; what lives on guitars that are laid down comes first and goes to its rest."""
    rig, guitar = piece.rig, guitar_for(hands, piece)
    wanted = dict(_lying(rig, guitar)) if guitar is not None else {}
    wanted |= {(_where(rig, name, guitar), name): to for name, to in piece.moments[number].by_hand.items()}
    return {place: to for place, to in wanted.items() if hands.by_hand.get(place) != to}


def done(hands: Hands, piece: Piece, number: int, levels: Mapping[str, float]) -> Hands:
    """The hands once they have done what a moment asks; nobody knows how long a capo stays on a guitar laid down."""
    guitar = guitar_for(hands, piece)
    capos: dict[str, int | None] = {name: None for name, fret in hands.capos.items() if fret != 0}
    capos[guitar or FLOOR] = piece.song.capo
    by_hand = {**hands.by_hand, **to_set(hands, piece, number)}
    return Hands(guitar, tuning_of(piece, guitar), capos, by_hand, levels)


def left(hands: Hands, piece: Piece, number: int, levels: Mapping[str, float], *, changeover: bool) -> Hands:
    """The hands as a moment leaves them; in a changeover nobody knows whether they have begun."""
    then = done(hands, piece, number, levels)
    return either(hands, then) if changeover else then


def tuning_of(piece: Piece, guitar: str | None) -> str | None:
    """The tuning that a song is played in: its own, else the one that its guitar rests in."""
    the = piece.rig.instruments.get(guitar) if guitar is not None else None
    return piece.song.tuning if piece.song.tuning is not None or the is None else the.home_tuning


def either(one: Hands, other: Hands) -> Hands:
    """What is sure where nobody knows which of the two it is."""
    return Hands(
        one.guitar if one.guitar == other.guitar else None,
        one.tuning if one.tuning == other.tuning else None,
        {
            guitar: one.capo_on(guitar) if one.capo_on(guitar) == other.capo_on(guitar) else None
            for guitar in (*one.capos, *other.capos)
        },
        {place: to for place, to in one.by_hand.items() if other.by_hand.get(place) == to},
        {name: to for name, to in one.levels.items() if other.levels.get(name) == to},
    )


def _where(rig: Rig, control: str, guitar: str | None) -> str:
    """The guitar on which hands reach for a control: the one they hold if it has it, else the first that has."""
    carriers = [name for name, the in rig.instruments.items() if control in the.carries]
    return guitar if guitar is not None and guitar in carriers else next(iter(carriers), FLOOR)


def _lying(rig: Rig, guitar: str | None) -> list[tuple[Place, str]]:
    """Where everything rests that is set by hand on the guitars that are not in hand."""
    rests, others = rest_by_hand(rig), [name for name in rig.instruments if name != guitar]
    return [
        ((other, name), rests[name]) for other in others for name in rig.instruments[other].carries if name in rests
    ]
