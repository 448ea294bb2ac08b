"""How late or early the show is: where it will end as it stands, against where it was to end."""

from collections.abc import Sequence

from showrunner.planning.timing import RunningTime, SongTime
from showrunner.state.script import Script
from showrunner.state.values import State


def late_s(timed: RunningTime, script: Script, state: State, began_s: float, at_s: float) -> float:
    """Seconds that the show will end after its expected time, negative when before.

    `began_s` is when its first song began. In a changeover the pause counts as used up, so that early runs down to 0.
    """
    return at_s - began_s + remaining_s(timed, script, state, at_s) - timed.expected_s


def remaining_s(timed: RunningTime, script: Script, state: State, at_s: float) -> float:
    """Seconds still to play in tonight's order, as it stands in the run."""
    if state.phase == "over" or not state.order:
        return 0.0
    known = {song.song: song for part in timed.sets for song in part.songs}
    here = _length_s(known, script, state.order[state.place])
    if state.phase == "song" and state.clock is not None:
        here = max(0.0, here - state.clock.elapsed_s(at_s))
    return here + _rest_s(known, script, state.order[state.place :])


def _rest_s(known: dict[str, SongTime], script: Script, order: Sequence[str]) -> float:
    lengths_s = sum(_length_s(known, script, song) for song in order[1:])
    return lengths_s + sum(known[song].pause_s for song in order[:-1] if song in known)


def _length_s(known: dict[str, SongTime], script: Script, song: str) -> float:
    return known[song].expected_s if song in known else float(script.pieces[song].song.duration)
