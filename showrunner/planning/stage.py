"""How the stage stands between two songs: the guitar in hand with its tuning and capo, and every control."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from showrunner.model.rig import Control, Rig
from showrunner.state.moments import Piece, rest_by_hand

NOTHING: Mapping[str, str] = MappingProxyType({})
NOWHERE: Mapping[str, float] = MappingProxyType({})


class Stage(NamedTuple):
    """What stands how; a name that is missing, or None, stands nobody knows where. `controls` in travel, %."""

    guitar: str | None = None
    tuning: str | None = None
    capo: int | None = None
    by_hand: Mapping[str, str] = NOTHING
    controls: Mapping[str, float] = NOWHERE


UNKNOWN = Stage()


def at_rest(rig: Rig, piece: Piece) -> Stage:
    """The stage before a show, with the first song's guitar in hand and everything at the rig's rest."""
    guitar = piece.song.instrument
    rests = {name: float(c.rest) for name, c in rig.controls.items() if isinstance(c.rest, int | float)}
    return Stage(guitar, home_tuning(rig, guitar), 0, rest_by_hand(rig), rests)


def after_playing(stage: Stage, piece: Piece) -> Stage:
    """The stage as a song leaves it: what the song does not touch stays, and a guitar laid down goes back to its rest.

    Whoever lays it down tunes it, takes the capo off and sets its switches, which is not charged to a changeover.
    """
    rig, last, held = piece.rig, piece.moments[-1], guitar_for(stage, piece)
    by_hand = dict(stage.by_hand)
    if held != stage.guitar:
        rests = rest_by_hand(rig)
        by_hand |= {name: rests[name] for name in carried(rig, stage.guitar) if name in rests}
    mine = carried(rig, held)
    by_hand |= {name: to for name, to in last.by_hand.items() if name in mine or not on_some_guitar(rig, name)}
    controls = {**stage.controls, **_let_go(rig, last.controls)}
    return Stage(held, tuning_for(stage, piece), piece.song.capo, by_hand, controls)


def guitar_for(stage: Stage, piece: Piece) -> str | None:
    """The guitar a song is played on: its own, else the one in hand."""
    return piece.song.instrument if piece.song.instrument is not None else stage.guitar


def tuning_for(stage: Stage, piece: Piece) -> str | None:
    """The tuning a song is played in: its own, else its guitar's rest tuning."""
    return piece.song.tuning if piece.song.tuning is not None else home_tuning(piece.rig, guitar_for(stage, piece))


def home_tuning(rig: Rig, guitar: str | None) -> str | None:
    """The tuning a guitar rests in; None if the rig has no such guitar."""
    the = rig.instruments.get(guitar) if guitar is not None else None
    return None if the is None else the.home_tuning


def carried(rig: Rig, guitar: str | None) -> tuple[str, ...]:
    """Names of the controls that live on a guitar."""
    the = rig.instruments.get(guitar) if guitar is not None else None
    return () if the is None else the.carries


def on_some_guitar(rig: Rig, control: str) -> bool:
    """Whether a control lives on a guitar."""
    return any(control in guitar.carries for guitar in rig.instruments.values())


def stays_where_it_is_put(control: Control) -> bool:
    """Whether a control does not go back by itself, as a strip with a release or a momentary switch does."""
    return control.on_release is None and not (control.kind == "switch" and control.sends == "momentary")


def _let_go(rig: Rig, controls: Mapping[str, float]) -> dict[str, float]:
    """Where controls stand once hands and feet have left them; a momentary switch stands nowhere."""
    at = {}
    for name, travel in controls.items():
        control = rig.controls.get(name)
        if control is not None and control.on_release is not None:
            at[name] = control.on_release.to
        elif control is not None and stays_where_it_is_put(control):
            at[name] = travel
    return at
