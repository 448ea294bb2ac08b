"""Lengths, clock times, meters and note names: text in, exact numbers out, and back."""

import re
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple

from showrunner.model.keys import quoted

_LENGTH = re.compile(r"(?:(\d{1,2}):([0-5]\d)|(\d{1,4})):([0-5]\d)")
_SPOKEN = re.compile(r"(?:(\d{1,3})h)?(?:(\d{1,4})m)?(?:(\d{1,6})s)?")
_CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)")
_METER = re.compile(r"(\d{1,2})/(\d{1,2})")
_NOTE = re.compile(r"([A-G])(#{1,2}|b{1,2})?(-?\d)")
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")

NIGHT_ENDS_MIN = 6 * 60
DAY_MIN = 24 * 60


@lru_cache(maxsize=1024)
def parse_length(text: str) -> int:
    """Seconds in `m:ss` or `h:mm:ss`; ValueError for anything else."""
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise ValueError(f'{quoted(text)} is not a length; write minutes and seconds, as in "6:40", or "1:10:00"')
    hours, minutes, only_minutes, seconds = match.groups()
    return int(hours or 0) * 3600 + int(minutes or only_minutes or 0) * 60 + int(seconds)


def parse_spoken_length(text: str) -> int:
    """Seconds in a length as typed on a command line: `90s`, `47m37s`, `1h24m`, or as in the files; else ValueError.

    Only the largest unit named may go past 59, so that a slip of the finger is not taken for a length.
    """
    match = _SPOKEN.fullmatch(text)
    if match is not None and any(match.groups()):
        hours, minutes, seconds = (int(part or 0) for part in match.groups())
        if match[1] is not None and minutes > 59:
            raise ValueError(f"{quoted(text)} is not a length; after hours, minutes go up to 59, as in 1h24m")
        if (match[1] or match[2]) is not None and seconds > 59:
            raise ValueError(f"{quoted(text)} is not a length; after minutes, seconds go up to 59, as in 47m37s")
        return hours * 3600 + minutes * 60 + seconds
    try:
        return parse_length(text)
    except ValueError:
        raise ValueError(f"{quoted(text)} is not a length; write 90s, 47m37s, 1h24m or 6:40") from None


def format_length(seconds: float, decimals: int = 0) -> str:
    """`m:ss`, or `h:mm:ss` from an hour up, rounded to the nearest second; a minus in front if negative."""
    unit = 10**decimals
    total = round(abs(seconds) * unit)
    sign = "-" if seconds < 0 and total else ""
    whole, part = divmod(total, unit)
    hours, rest = divmod(whole, 3600)
    minutes, secs = divmod(rest, 60)
    exact = f"{secs:02}" + (f".{part:0{decimals}}" if decimals else "")
    return f"{sign}{hours}:{minutes:02}:{exact}" if hours else f"{sign}{minutes}:{exact}"


def format_lengths(*seconds: float) -> tuple[str, ...]:
    """Lengths that are compared, rounded to the nearest second, or as finely as tells apart those that differ."""
    return _told_apart(seconds, 1.0, lambda decimals: tuple(format_length(s, decimals) for s in seconds))


def format_over(seconds: float) -> str:
    """A length that something is too long or too short by: as finely as tells it from nothing."""
    return format_lengths(seconds, 0.0)[0]


def format_clocks(*minutes: float) -> tuple[str, ...]:
    """Clock times that are compared: `hh:mm`, with their seconds where two that differ would look the same."""
    plain = tuple(map(format_clock, minutes))
    if _as_many(plain, minutes, 60.0):
        return plain
    return _told_apart(minutes, 60.0, lambda decimals: tuple(_clock_s(at, decimals) for at in minutes))


def _clock_s(minutes: float, decimals: int) -> str:
    """`hh:mm:ss` of minutes after midnight; 24 h come off as often as there are."""
    unit = 60 * 10**decimals
    whole, part = divmod(round(minutes * unit) % (DAY_MIN * unit), 10**decimals)
    return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}" + (f".{part:0{decimals}}" if decimals else "")


def _told_apart(values: Sequence[float], in_s: float, spelled: Callable[[int], tuple[str, ...]]) -> tuple[str, ...]:
    """The shortest spelling in which values look as different as they are, to a thousandth of a second."""
    texts = (spelled(decimals) for decimals in range(3))
    return next((text for text in texts if _as_many(text, values, in_s)), spelled(3))


def _as_many(texts: Sequence[str], values: Sequence[float], in_s: float) -> bool:
    return len(set(texts)) == len({round(value * in_s, 3) for value in values})


def parse_clock(text: str) -> int:
    """Minutes after the midnight that starts the show's date; before `06:00` is the night after, so 24 h are added."""
    match = _CLOCK.fullmatch(text)
    if match is None:
        raise ValueError(f'{quoted(text)} is not a clock time; write it as in "20:45"')
    minutes = int(match[1]) * 60 + int(match[2])
    return minutes + DAY_MIN if minutes < NIGHT_ENDS_MIN else minutes


def format_clock(minutes: float) -> str:
    """`hh:mm` of minutes after midnight, whichever day they fall on, rounded to the nearest minute."""
    hours, mins = divmod(round(minutes) % DAY_MIN, 60)
    return f"{hours:02}:{mins:02}"


def format_ahead(minutes: float) -> str:
    """`+hh:mm` of a clock's minutes ahead of UTC, `-hh:mm` of one that is behind (RFC 3339)."""
    hours, mins = divmod(abs(round(minutes)), 60)
    return f"{'-' if minutes < 0 else '+'}{hours:02}:{mins:02}"


class Meter(NamedTuple):
    """A time signature: beats to the bar and the note (4 is a quarter) that has the beat."""

    beats: int
    unit: int

    @property
    def quarters(self) -> float:
        """Quarter notes in a bar."""
        return self.beats * 4 / self.unit

    def __str__(self) -> str:
        return f"{self.beats}/{self.unit}"


def parse_meter(text: str) -> Meter:
    """The meter in `7/8`; ValueError if the lower number is no note value or the upper is zero."""
    match = _METER.fullmatch(text)
    if match is not None:
        meter = Meter(int(match[1]), int(match[2]))
        if meter.beats > 0 and meter.unit in (1, 2, 4, 8, 16, 32, 64):
            return meter
    raise ValueError(f'{quoted(text)} is not a meter; write it as in "4/4" or "7/8"')


def parse_note(name: str) -> int:
    """MIDI note number of a scientific pitch name, A4 = 69 (so C4 = 60); ValueError for no such note."""
    match = _NOTE.fullmatch(name)
    if match is not None:
        letter, accidental, octave = match.groups()
        shift = {"#": 1, "b": -1}.get(accidental[0], 0) * len(accidental) if accidental else 0
        number = _STEPS[letter] + shift + 12 * (int(octave) + 1)
        if 0 <= number <= 127:
            return number
    raise ValueError(f'{quoted(name)} is not a note; write letter, # or b, and octave, as in "F#3" (A4 is 440 Hz)')


def format_note(number: int) -> str:
    """Scientific pitch name of a MIDI note number, with sharps."""
    return f"{_NAMES[number % 12]}{number // 12 - 1}"


def note_hz(number: float) -> float:
    """Frequency in Hz of a MIDI note number in equal temperament, A4 = 69 = 440 Hz (ISO 16)."""
    return float(440.0 * 2.0 ** ((number - 69) / 12))
