"""The count-in as the playing screen shows it: which beat it is, and when the screen flashes."""

from math import ceil

from showrunner.live.seen import Count
from showrunner.model.tempo import Stretch, count_in, stretches
from showrunner.state.moments import Piece
from showrunner.state.values import State

LIT_S = 0.25
"""A flash lasts half a beat, this long at the most; our own figure, no source."""
FASTEST_S = 1 / 3
"""Beats closer than this flash in groups: no more than three flashes in a second (WCAG 2.2, criterion 2.3.1)."""
GROUPED_S = 0.5
"""The least from flash to flash in such groups, so that with a bar's first beat there are three in a second at most."""


def counting(piece: Piece, state: State, at_s: float) -> Count | None:
    """The count-in of a song that has just begun; None once it is over, after a segue, or where no tempo is known."""
    song, clock, tempos = piece.song, state.clock, stretches(piece.song)
    if song.count_in is None or not tempos or clock is None or state.segued or state.moment != piece.first:
        return None
    tempo = tempos[0]
    into_s = at_s - clock.began_s
    if state.phase != "song" or not 0 <= into_s < song.count_in.bars * tempo.bar_s:
        return None
    beat = next(each for each in reversed(count_in(tempo, song.count_in.bars)) if each.at_s <= into_s + 1e-9)
    return Count(beat.bar, beat.beat, lit(tempo, beat.beat, into_s - beat.at_s))


def lit(tempo: Stretch, beat: int, since_s: float) -> bool:
    """Whether the screen flashes so many seconds after a beat of a count-in in that tempo."""
    beat_s = tempo.bar_s / tempo.meter.beats
    every = 1 if beat_s >= FASTEST_S else ceil(GROUPED_S / beat_s)
    return (beat - 1) % every == 0 and since_s < min(LIT_S, beat_s / 2)
