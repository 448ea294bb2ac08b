"""Key and first chord of a song that is played with another capo or tuning tonight, as far as files tell.

`key` is what sounds. `first_chord` is the chord that sounds or the shape under the capo: a chord that says «shape» is a
shape; without a capo they are the same; with one the key tells, where it begins with the chord or with what the shape
sounds like. Hands keep their shapes when the capo moves or every string is tuned by the same interval, so that the key
moves by as much. Where strings are tuned by different intervals, or another guitar is played, shapes change too, and
the key is taken to stay: it is the band's.
"""

import re

from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.model.units import parse_note

_ROOT = re.compile(r"([A-G])([#♯b♭]?)(.*)", re.DOTALL)
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_MAJOR = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
_MINOR = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
"""How keys are written, with the fewest sharps or flats; common practice, no source."""


def in_tonights_key(song: Song, usual: Song, rig: Rig) -> Song:
    """The song as it is played tonight with key and first chord moved from how it usually is on this rig."""
    by = semitones(song, usual, rig)
    if not by:
        return song
    key = None if song.key is None else moved(song.key, by)
    return song.model_copy(update={"key": key, "first_chord": _first_chord(song, usual, by)})


def semitones(song: Song, usual: Song, rig: Rig) -> int:
    """How much higher a song sounds tonight than usual, in semitones, the hands doing the same."""
    if song.instrument != usual.instrument:
        return 0
    strings, before = _strings(song, rig), _strings(usual, rig)
    apart = {now - was for now, was in zip(strings, before, strict=False)} if len(strings) == len(before) else set()
    return song.capo - usual.capo + (apart.pop() if len(apart) == 1 else 0)


def moved(name: str, by: int) -> str:
    """A key or a chord moved by semitones; as it is where it does not begin with a note's name."""
    match = _ROOT.fullmatch(name)
    if match is None:
        return name
    rest = match[3]
    minor = bool(re.match(r"\s*(m(?!aj)|min|-)", rest))
    return (_MINOR if minor else _MAJOR)[(_pitch(match) + by) % 12] + rest


def _first_chord(song: Song, usual: Song, by: int) -> str | None:
    chord = song.first_chord
    match, key = _ROOT.fullmatch(chord or ""), _ROOT.fullmatch(usual.key or "")
    if chord is None or match is None or "shape" in chord:
        return chord
    if usual.capo == 0:
        return f"{moved(chord, by)} ({chord} shape)"
    return moved(chord, by) if key is not None and _pitch(match) == _pitch(key) else chord


def _pitch(root: re.Match[str]) -> int:
    return _STEPS[root[1]] + {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[root[2]]


def _strings(song: Song, rig: Rig) -> list[int]:
    """The open strings' notes of a song's guitar and tuning, as far as the rig says."""
    guitar = rig.instruments.get(song.instrument or "")
    if guitar is None:
        return []
    return [parse_note(note) for note in guitar.tunings.get(song.tuning or guitar.home_tuning, ())]
