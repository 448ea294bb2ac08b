"""Where bars, beats and clock pulses fall in a song's time."""

from bisect import bisect_right
from collections.abc import Iterator
from fractions import Fraction
from itertools import zip_longest
from math import ceil
from typing import NamedTuple

from showrunner.model.song import Cue, Song
from showrunner.model.units import Meter

PULSES_A_QUARTER = 24
"""Timing clocks a quarter note (MIDI 1.0 Detailed Specification, p. 30)."""


class Stretch(NamedTuple):
    """From a bar on, which starts at this second, one tempo and one meter."""

    bar: int
    at_s: float
    tempo_bpm: float
    meter: Meter

    @property
    def bar_s(self) -> float:
        """Length of a bar, s."""
        return self.meter.quarters * 60 / self.tempo_bpm


class Beat(NamedTuple):
    """A beat, counted from 1 in its bar, and when it falls, s from the song's first."""

    at_s: float
    bar: int
    beat: int


def stretches(song: Song) -> tuple[Stretch, ...]:
    """The song's tempos and meters in order; none where its tempo isn't known."""
    if song.tempo_bpm is None:
        return ()
    found = [Stretch(1, 0.0, song.tempo_bpm, song.meter)]
    for change in song.tempo_changes:
        last = found[-1]
        at_s = last.at_s + (change.bar - last.bar) * last.bar_s
        found.append(Stretch(change.bar, at_s, change.tempo_bpm or last.tempo_bpm, change.meter or last.meter))
    return tuple(found)


def stretch_at(song: Song, at_s: float) -> Stretch | None:
    """The stretch that a time falls in; before the first beat the first, None where the tempo isn't known."""
    found = None
    for stretch in stretches(song):
        if found is None or stretch.at_s <= at_s + 1e-9:
            found = stretch
    return found


def bar_starts_s(song: Song, bar: int) -> float | None:
    """Seconds from the first beat to the start of a bar (from 1); None where the song's tempo isn't known."""
    return _bar_at_s(stretches(song), bar)


def cue_at_s(song: Song, cue: Cue) -> float | None:
    """Seconds from the first beat to a cue; None where it is neither at a time nor at a bar that can be placed."""
    return _at_s(stretches(song), cue)


def cues_at_s(song: Song) -> tuple[float | None, ...]:
    """What `cue_at_s` gives for each cue of the song; the tempos are gone through once."""
    found = stretches(song)
    return tuple(_at_s(found, cue) for cue in song.cues)


def _at_s(found: tuple[Stretch, ...], cue: Cue) -> float | None:
    if cue.at is not None:
        return float(cue.at)
    return _bar_at_s(found, cue.bar) if cue.bar is not None else None


def _bar_at_s(found: tuple[Stretch, ...], bar: int) -> float | None:
    if not found:
        return None
    stretch = found[max(0, bisect_right(found, bar, key=lambda one: one.bar) - 1)]
    return stretch.at_s + (bar - stretch.bar) * stretch.bar_s


def beats(song: Song) -> Iterator[Beat]:
    """Every beat from the first bar on, without end; each from its stretch's start, so that no error adds up."""
    parts = stretches(song)
    for stretch, after in zip_longest(parts, parts[1:]):
        beat_s = stretch.bar_s / stretch.meter.beats
        count = 0
        while after is None or count < (after.bar - stretch.bar) * stretch.meter.beats:
            bars, beat = divmod(count, stretch.meter.beats)
            yield Beat(stretch.at_s + count * beat_s, stretch.bar + bars, beat + 1)
            count += 1


def beat_at(song: Song, at_s: float) -> Beat | None:
    """The last beat at a time, s from the first; None where the song's tempo isn't known."""
    stretch = stretch_at(song, at_s)
    if stretch is None:
        return None
    beat_s = stretch.bar_s / stretch.meter.beats
    count = max(0, int((at_s - stretch.at_s) / beat_s + 1e-9))
    bars, beat = divmod(count, stretch.meter.beats)
    return Beat(stretch.at_s + count * beat_s, stretch.bar + bars, beat + 1)


def beat_pulses(song: Song, bar: int, beat: int) -> list[float]:
    """When the timing clocks of a beat fall, s after it; 24 a quarter note, so none or one in a very short beat."""
    stretch = next((s for s in reversed(stretches(song)) if s.bar <= bar), None)
    if stretch is None:
        return []
    a_beat = Fraction(PULSES_A_QUARTER * 4, stretch.meter.unit)
    starts = ((bar - stretch.bar) * stretch.meter.beats + beat - 1) * a_beat
    pulse_s = 60 / (stretch.tempo_bpm * PULSES_A_QUARTER)
    return [float(number - starts) * pulse_s for number in range(ceil(starts), ceil(starts + a_beat))]


def count_in(stretch: Stretch, bars: int) -> list[Beat]:
    """The beats counted in before a stretch's tempo starts, from second 0; bars count down to 1."""
    beat_s = stretch.bar_s / stretch.meter.beats
    return [
        Beat((bar * stretch.meter.beats + beat) * beat_s, bars - bar, beat + 1)
        for bar in range(bars)
        for beat in range(stretch.meter.beats)
    ]
