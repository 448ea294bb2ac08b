"""Notes that sound on past the cue that should stop them, where the host sends what it plays."""

from collections.abc import Iterable

from showrunner.planning.practice import Review
from showrunner.state.script import Script

GRACE_S = 1.0
"""A note may ring so long after its stop is taken: a hand is on its way; our own figure, no source."""

Note = tuple[str, int, int]
"""Port, channel from 0, note number."""

_ALL_SOUND_OFF, _ALL_NOTES_OFF = 120, 123


def with_held(found: Review, script: Script, heard: Iterable[tuple[float, str, bytes]]) -> Review:
    """The review with each stop's notes that still sounded a second later; `heard` is what came in, in order.

    A note on with velocity 0 is a note off; all sound off, and all notes off to the last mode message, end a
    channel's (MIDI 1.0; from memory).
    """
    messages = list(heard)
    if not any(data and data[0] & 0xF0 == 0x90 for _, _, data in messages):
        return found
    arrivals = list(found.arrivals)
    for index, arrival in enumerate(arrivals):
        moments = script.pieces[arrival.song].moments
        cue = next((moment.cue for moment in moments if moment.name == arrival.cue), None)
        if cue is not None and cue.stop is not None and not arrival.lead:
            started = _sounding(messages, arrival.at_s)
            still = started & _sounding(messages, arrival.at_s + GRACE_S)
            arrivals[index] = arrival._replace(held=len(still))
    return found._replace(arrivals=tuple(arrivals))


def _sounding(messages: Iterable[tuple[float, str, bytes]], until_s: float) -> set[Note]:
    notes: set[Note] = set()
    for at_s, port, data in messages:
        if at_s > until_s:
            break
        if len(data) != 3:
            continue
        kind, channel = data[0] & 0xF0, data[0] & 0x0F
        if kind == 0x90 and data[2] > 0:
            notes.add((port, channel, data[1]))
        elif kind in (0x80, 0x90):
            notes.discard((port, channel, data[1]))
        elif kind == 0xB0 and (data[1] == _ALL_SOUND_OFF or data[1] >= _ALL_NOTES_OFF):
            notes = {note for note in notes if note[:2] != (port, channel)}
    return notes
