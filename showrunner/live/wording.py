"""What stands on the stage screen in few words, each in several wordings, the fullest first."""

from showrunner.live.seen import Wordings
from showrunner.model.song import Song
from showrunner.model.units import format_length

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


def take_guitar(song: Song, home_tuning: str | None, before: Song | None, home_before: str | None) -> list[Wordings]:
    """Guitar, tuning and capo of a song after another one (None: the first), each where there is something to say."""
    tuning = song.tuning or home_tuning
    same = before is not None and before.instrument == song.instrument
    capo_before = before.capo if before is not None and same else 0
    said: list[Wordings] = []
    if song.instrument is not None:
        name = song.instrument.upper()
        said.append((f"KEEP {name}", name) if same else (name,))
    if tuning is not None and not (same and before is not None and tuning == (before.tuning or home_before)):
        said.append((f"TUNING {tuning.upper()}", tuning.upper()))
    if song.capo != capo_before or song.capo:
        said.append((f"CAPO {song.capo}",) if song.capo else ("CAPO OFF",))
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
