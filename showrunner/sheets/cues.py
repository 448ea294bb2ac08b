"""A song's cues, in words."""

from collections.abc import Mapping
from typing import NamedTuple

from showrunner.model.song import Cue
from showrunner.model.units import format_length
from showrunner.sheets.words import joined, places, settings, with_unit
from showrunner.state.moments import Moment, Piece


class CueLine(NamedTuple):
    """A cue; `does` is all that the player does there, in words; `sends` and `curves` are what the machine does."""

    number: int
    name: str
    place: str
    at_s: float | None
    bar: int | None
    hands: tuple[str, ...]
    pedals: tuple[str, ...]
    holds: bool
    stop: str
    open: bool
    back_to: str
    say: str
    does: tuple[str, ...]
    curves: str
    sends: tuple[str, ...]


def cue_lines(piece: Piece) -> tuple[CueLine, ...]:
    """Every cue of a song, in order."""
    return tuple(_cue_line(piece, moment, moment.cue) for moment in piece.moments if moment.cue is not None)


def sends(piece: Piece, targets: Mapping[str, float]) -> tuple[str, ...]:
    """Values sent to targets, in their units, `drive 9 dB`; a target the rig lacks gets nothing and is left out."""
    known = piece.rig.targets
    return tuple(f"{name} {with_unit(value, known[name].unit)}" for name, value in targets.items() if name in known)


def _cue_line(piece: Piece, moment: Moment, cue: Cue) -> CueLine:
    at_start = moment.number == piece.first
    hands = () if at_start else settings(piece.rig, piece.changed_by_hand(moment.number))
    pedals = () if at_start else places(piece.rig, cue.controls)
    set_off = piece.driver is not None and piece.driver in piece.changed_by_hand(moment.number)
    driver = "driver off" if cue.stop is not None and cue.stop.driver == "off" and not set_off else ""
    stop = "" if cue.stop is None else joined(cue.stop.by, driver)
    does = (
        f"damp: {stop}" if stop else "",
        *hands,
        *pedals,
        "hold the note" if cue.hold else "",
        "open" if cue.open else "",
        f"or back to {cue.back_to}" if cue.back_to is not None else "",
        f"“{cue.say}”" if cue.say is not None else "",
    )
    return CueLine(
        number=moment.number,
        name=cue.name,
        place=_place(cue, moment.at_s),
        at_s=moment.at_s,
        bar=cue.bar,
        hands=hands,
        pedals=pedals,
        holds=cue.hold,
        stop=stop,
        open=cue.open,
        back_to=cue.back_to or "",
        say=cue.say or "",
        does=tuple(part for part in does if part),
        curves=cue.curves or "",
        sends=sends(piece, cue.targets),
    )


def _place(cue: Cue, at_s: float | None) -> str:
    if cue.bar is None:
        return "" if at_s is None else format_length(at_s)
    return f"bar {cue.bar}" if at_s is None else f"bar {cue.bar} ({format_length(at_s)})"
