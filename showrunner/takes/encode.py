"""A take as the bytes of a Standard MIDI File of type 1, which any sequencer opens.

The first track has the tempo map, the cues as markers, steps that no message led to as cue points, the slugs as texts
("show SLUG", "rig SLUG", "song SLUG"), and ports that went and came ("port lost PORT", "port found PORT"). Then comes
one track for what came in on each port, named "in PORT", and one for what went out, "out PORT". What a track can't hold
as a message (real-time bytes, broken ones) stands in it as a sequencer-specific event under 7D, the number MIDI 1.0
leaves for use of one's own.
"""

from collections.abc import Iterable
from io import BytesIO
from operator import itemgetter

import mido

from showrunner.takes.chunks import channel_data_length
from showrunner.takes.take import DIVISION, Take, TakePort, TempoMap, TempoMark

FIRST_TRACK = "cues and tempo"
GROWING = "as it came"
"""The one track of a take that is still being written: texts in it say which port and way the messages after are of."""
RAW = b"\x7draw"
LONGEST_DELTA = (1 << 28) - 1
"""A delta time has four bytes of seven bits at most (SMF 1.0)."""
LONGEST_S = 24 * 3600.0
"""The longest a take may be."""

Timed = tuple[int, mido.Message | mido.MetaMessage]
"""A message at its tick."""


def bytes_of(take: Take) -> bytes:
    """The file's bytes; ValueError for a time below 0 or over a day, and for a tempo that a file can't hold."""
    for at_s in (row.at_s for rows in (take.events, take.cues, take.asks, take.ports) for row in rows):
        _check(at_s)
    tempo = TempoMap(DIVISION)
    marks = [_placed(tempo, mark) for mark in sorted(take.tempos, key=lambda mark: mark.at_s)]
    file = mido.MidiFile(type=1, ticks_per_beat=DIVISION, charset="utf-8")
    file.tracks.append(_track(FIRST_TRACK, _first_track(take, marks, tempo)))
    ports = dict.fromkeys((event.direction, event.port) for event in take.events)
    for direction, port in sorted(ports, key=itemgetter(0)):
        mine = (event for event in take.events if (event.direction, event.port) == (direction, port))
        file.tracks.append(_track(f"{direction} {port}", [(tempo.tick(e.at_s), message_of(e.data)) for e in mine]))
    out = BytesIO()
    file.save(file=out)
    return out.getvalue()


def message_of(data: bytes) -> mido.Message | mido.MetaMessage:
    """One message as a track holds it: itself, or wrapped where a track may not have it."""
    status, rest = (data[0], data[1:]) if data else (0, b"")
    if 0x80 <= status < 0xF0:
        plain = len(rest) == channel_data_length(status) and max(rest) < 0x80
    else:
        plain = status == 0xF0 and rest[-1:] == b"\xf7" and max(rest[:-1], default=0) < 0x80
    return mido.Message.from_bytes(data) if plain else mido.MetaMessage("sequencer_specific", data=(*RAW, *data))


def _check(at_s: float) -> None:
    if not 0 <= at_s <= LONGEST_S:
        raise ValueError(f"a take runs from 0 to {LONGEST_S:g} s; {at_s:g} s is outside")


def _placed(tempo: TempoMap, mark: TempoMark) -> tuple[int, TempoMark]:
    _check(mark.at_s)
    if not 0 < mark.us_per_quarter < 1 << 24:
        raise ValueError(f"{mark.us_per_quarter} µs a quarter note does not fit the three bytes of a tempo")
    return tempo.add_at(mark.at_s, mark.us_per_quarter), mark


def _first_track(take: Take, marks: list[tuple[int, TempoMark]], tempo: TempoMap) -> Iterable[Timed]:
    slugs = {"show": take.show, "rig": take.rig, "song": take.song}
    timed = [(0, mido.MetaMessage("text", text=f"{kind} {slug}")) for kind, slug in slugs.items() if slug is not None]
    for tick, mark in marks:
        timed += ((tick, message) for message in tempo_messages(mark))
    cues = ((tempo.tick(cue.at_s), mido.MetaMessage("marker", text=f"{cue.song} / {cue.cue}")) for cue in take.cues)
    asks = ((tempo.tick(ask.at_s), mido.MetaMessage("cue_marker", text=ask.what)) for ask in take.asks)
    ports = ((tempo.tick(port.at_s), mido.MetaMessage("text", text=port_words(port))) for port in take.ports)
    return [*timed, *ports, *asks, *cues]


def port_words(port: TakePort) -> str:
    """A port that went or came as the text of an event."""
    side = "" if port.side is None else f"{port.side} "
    return f"port {side}{'found' if port.there else 'lost'} {port.port}"


def tempo_messages(mark: TempoMark) -> list[mido.MetaMessage]:
    """The tempo and the meter if it says one, with the metronome (24 clocks a quarter note) on its beat."""
    tempo = mido.MetaMessage("set_tempo", tempo=mark.us_per_quarter)
    if mark.meter is None:
        return [tempo]
    beats, unit = mark.meter
    click = max(1, 96 // unit)
    return [tempo, mido.MetaMessage("time_signature", numerator=beats, denominator=unit, clocks_per_click=click)]


def _track(name: str, timed: Iterable[Timed]) -> mido.MidiTrack:
    track, before = mido.MidiTrack([mido.MetaMessage("track_name", name=name)]), 0
    for tick, message in sorted(timed, key=itemgetter(0)):
        while tick - before > LONGEST_DELTA:
            track.append(mido.MetaMessage("text", text="", time=LONGEST_DELTA))
            before += LONGEST_DELTA
        track.append(message.copy(time=tick - before))
        before = tick
    return track
