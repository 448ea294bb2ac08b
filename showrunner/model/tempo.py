"""Where bars fall in a song's time."""

from showrunner.model.song import Cue, Song
from showrunner.model.units import Meter


def bar_starts_s(song: Song, bar: int) -> float | None:
    """Seconds from the first beat to the start of a bar (from 1); None where the song's tempo isn't known."""
    tempo, meter, at, seconds = song.tempo_bpm, song.meter, 1, 0.0
    for change in song.tempo_changes:
        if change.bar >= bar:
            break
        if tempo is None:
            return None
        seconds += _bars_s(change.bar - at, tempo, meter)
        at, tempo, meter = change.bar, change.tempo_bpm or tempo, change.meter or meter
    return None if tempo is None else seconds + _bars_s(bar - at, tempo, meter)


def cue_at_s(song: Song, cue: Cue) -> float | None:
    """Seconds from the first beat to a cue; None where it is neither at a time nor at a bar that can be placed."""
    if cue.at is not None:
        return float(cue.at)
    return bar_starts_s(song, cue.bar) if cue.bar is not None else None


def _bars_s(bars: int, tempo_bpm: float, meter: Meter) -> float:
    return bars * meter.quarters * 60 / tempo_bpm
