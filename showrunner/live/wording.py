"""What stands on the stage screen in few words, the fullest wording first.

What is to be done has one wording only: without its noun or its verb it would say something else.
"""

from showrunner.live.seen import Wordings
from showrunner.model.rig import Control
from showrunner.model.song import Song
from showrunner.model.units import format_length
from showrunner.state.hands import FLOOR, Hands, guitar_for, to_set, tuning_of
from showrunner.state.moments import Piece
from showrunner.state.values import State

ON_TIME_S = 5.0
"""Within this of the plan the show is on time; our own figure, no source."""

SWITCHES_AT_PCT = 50.0
"""From this travel on a switch is on: raw 64 of 0 to 127 (MIDI 1.0, p. 12)."""

_PLACES = {0: "heel", 50: "half", 100: "toe"}


def set_by_hand(name: str, to: str) -> str:
    """A state to set by hand."""
    return f"{name} {to}"


def move_to(name: str, control: Control, travel: float) -> str:
    """Where a control belongs: a switch on or off, a pedal by its heel and toe."""
    if control.kind == "switch":
        return f"{name} {'on' if travel >= SWITCHES_AT_PCT else 'off'}"
    percent = f"{travel:.0f}%"
    return f"{name} {_PLACES.get(round(travel), percent) if control.kind == 'pedal' else percent}"


def goes_by_itself(control: Control, travel: float) -> bool:
    """Whether a control is there as soon as nobody touches it: a strip that returns, a switch that is let go of."""
    if control.kind == "switch":
        return control.sends == "momentary" and travel == 0
    return control.on_release is not None and control.on_release.to == travel


def hands_do(piece: Piece, state: State) -> list[str]:
    """What hands have to do after all they have done: on a guitar that is laid down, then guitar, tuning, capo."""
    mine = (FLOOR, guitar_for(state.hands, piece))
    settings = [
        (guitar, set_by_hand(name, to)) for (guitar, name), to in to_set(state.hands, piece, state.moment).items()
    ]
    return [
        *(said for guitar, said in settings if guitar not in mine),
        *take_guitar(piece, state.hands),
        *(said for guitar, said in settings if guitar in mine),
    ]


def take_guitar(piece: Piece, hands: Hands) -> list[str]:
    """Guitar, tuning and capo of a song, each where hands have not got it so already."""
    guitar = guitar_for(hands, piece)
    tuning, capo, changes = tuning_of(piece, guitar), piece.song.capo, guitar != hands.guitar
    said: list[str] = []
    if guitar is not None and changes:
        said.append(f"take {guitar}")
    if tuning is not None and (changes or tuning != hands.tuning):
        said.append(f"tuning {tuning}")
    if capo != hands.capo_on(guitar):
        said.append(f"capo {capo}" if capo else "capo off")
    return said


def starts_with(song: Song) -> Wordings:
    """Chord, tempo and meter, and who counts in, as the song begins."""
    chord = song.first_chord or ""
    tempo = f"{song.tempo_bpm:g}" if song.tempo_bpm is not None else ""
    count = ""
    if song.count_in is not None:
        count = f"COUNT {song.count_in.bars}" + (f" {song.count_in.by.upper()}" if song.count_in.by else "")
    without_count = "  ".join(part for part in (chord, tempo, str(song.meter)) if part)
    return (f"{without_count}  {count}", without_count) if count else (without_count,)


def counted(bars_left: int, beat: int) -> Wordings:
    """A beat of the count-in, and how many bars are left of it."""
    bars = "LAST BAR" if bars_left == 1 else f"{bars_left} BARS"
    return (f"BEAT {beat}  {bars}", f"{beat}  {bars}")


def lateness(late_s: float | None) -> Wordings:
    """Late, early or on time, in minutes and seconds; nothing before the show has begun."""
    if late_s is None:
        return ("",)
    if abs(late_s) <= ON_TIME_S:
        return ("ON TIME",)
    return (f"{'LATE' if late_s > 0 else 'EARLY'} {format_length(abs(late_s))}",)
