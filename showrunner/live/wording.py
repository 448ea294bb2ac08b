"""What stands on the stage screen in few words, each in several wordings, the fullest first."""

from showrunner.live.seen import Wordings
from showrunner.model.song import Song
from showrunner.model.units import format_length
from showrunner.state.hands import Hands, guitar_for, tuning_of
from showrunner.state.moments import Piece

ON_TIME_S = 5.0
"""Within this of the plan the show is on time; our own figure, no source."""

_KINDS = frozenset({"switch", "selector", "knob", "pedal", "strip"})
_PLACES = {0: "HEEL", 50: "HALF", 100: "TOE"}


def short_name(name: str) -> str:
    """A control's name without the word for what it is: "octave switch" is "octave"."""
    words = name.split()
    return " ".join(words[:-1]) if len(words) > 1 and words[-1].lower() in _KINDS else name


def set_by_hand(name: str, to: str) -> Wordings:
    """A state to set by hand."""
    return tuple(dict.fromkeys((f"{name} {to}".upper(), f"{short_name(name)} {to}".upper(), to.upper())))


def move_to(name: str, travel: float) -> Wordings:
    """Where a pedal belongs."""
    where = _PLACES.get(round(travel), f"{travel:.0f}%")
    return tuple(dict.fromkeys((f"{name} {where}".upper(), f"{short_name(name)} {where}".upper())))


def take_guitar(piece: Piece, hands: Hands) -> list[Wordings]:
    """Guitar, tuning and capo of a song, each where hands have not got it so already."""
    guitar = guitar_for(hands, piece)
    tuning, capo, changes = tuning_of(piece, guitar), piece.song.capo, guitar != hands.guitar
    said: list[Wordings] = []
    if guitar is not None and changes:
        said.append((guitar.upper(),))
    if tuning is not None and (changes or tuning != hands.tuning):
        said.append((f"TUNING {tuning.upper()}", tuning.upper()))
    if capo != hands.capo_on(guitar):
        said.append((f"CAPO {capo}",) if capo else ("CAPO OFF",))
    return said


def starts_with(song: Song) -> Wordings:
    """Chord, tempo and meter, and who counts in, as the song begins."""
    chord = song.first_chord or ""
    tempo = f"{song.tempo_bpm:g}" if song.tempo_bpm is not None else ""
    count = ""
    if song.count_in is not None:
        count = f"COUNT {song.count_in.bars}" + (f" {song.count_in.by.upper()}" if song.count_in.by else "")
    full = "  ".join(part for part in (chord, tempo, str(song.meter), count) if part)
    return (full, "  ".join(part for part in (chord, tempo, str(song.meter)) if part), f"{chord}  {tempo}".strip())


def counted(bars_left: int, beat: int) -> Wordings:
    """A beat of the count-in, and how many bars are left of it."""
    bars = "LAST BAR" if bars_left == 1 else f"{bars_left} BARS"
    return (f"BEAT {beat}  {bars}", f"{beat}  {bars}", f"{beat}")


def lateness(late_s: float | None) -> Wordings:
    """Late, early or on time, in minutes and seconds; nothing before the show has begun."""
    if late_s is None:
        return ("",)
    if abs(late_s) <= ON_TIME_S:
        return ("ON TIME",)
    by = format_length(abs(late_s))
    return (f"LATE {by}", f"+{by}") if late_s > 0 else (f"EARLY {by}", f"-{by}")
