"""The take in the bytes of a Standard MIDI File."""

import re
from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from operator import attrgetter
from types import MappingProxyType

from showrunner.model.rig import Side
from showrunner.model.units import Meter
from showrunner.takes.chunks import Chunks, DamagedFileError, FileEvent, read_chunks
from showrunner.takes.encode import GROWING, RAW
from showrunner.takes.take import (
    DEFAULT_US_PER_QUARTER,
    Direction,
    Take,
    TakeAsk,
    TakeCue,
    TakeEvent,
    TakePort,
    TempoMap,
    TempoMark,
)

TEXT, TRACK_NAME, MARKER, CUE_POINT = 0x01, 0x03, 0x06, 0x07
SET_TEMPO, TIME_SIGNATURE, SEQUENCER_SPECIFIC = 0x51, 0x58, 0x7F

_PORT_TRACKS: tuple[Direction, ...] = ("in", "out")
_PORT = re.compile(r"port (?:(input|output) )?(lost|found) (.+)", re.DOTALL)
_SIDES: Mapping[str, Side] = MappingProxyType({"input": "input", "output": "output"})
_SLUG = re.compile(r"(show|rig|song) (.+)", re.DOTALL)


def take_of(data: bytes) -> Take:
    """The take in a file's bytes; DamagedFileError where they are not one."""
    chunks = read_chunks(data)
    metas = sorted((event for track in chunks.tracks for event in track if event.meta is not None), key=_tick)
    marks = list(_tempo_marks(metas))
    tempo = TempoMap(chunks.division, ((tick, us) for tick, us, _ in marks))
    slugs = _slugs(event for event in metas if event.meta == TEXT)
    return Take(
        events=tuple(sorted(_all_events(chunks, tempo), key=attrgetter("at_s"))),
        cues=tuple(_cue(event, tempo, slugs.get("song", "")) for event in metas if event.meta == MARKER),
        show=slugs.get("show"),
        rig=slugs.get("rig"),
        song=slugs.get("song"),
        tempos=tuple(TempoMark(tempo.seconds(tick), us, meter) for tick, us, meter in marks),
        ports=tuple(_ports(metas, tempo)),
        asks=tuple(TakeAsk(tempo.seconds(m.tick), _text(m.data)) for m in metas if m.meta == CUE_POINT),
    )


def _slugs(texts: Iterable[FileEvent]) -> dict[str, str]:
    """What the texts say of show, rig and song."""
    said = (_SLUG.fullmatch(_text(event.data)) for event in texts)
    return {match[1]: match[2] for match in said if match is not None}


def _ports(metas: Iterable[FileEvent], tempo: TempoMap) -> Iterator[TakePort]:
    """The ports that texts say went and came."""
    for event in metas:
        match = _PORT.fullmatch(_text(event.data)) if event.meta == TEXT else None
        if match is not None:
            yield TakePort(tempo.seconds(event.tick), match[3], match[2] == "found", _SIDES.get(match[1] or ""))


def _all_events(chunks: Chunks, tempo: TempoMap) -> list[TakeEvent]:
    events: list[TakeEvent] = []
    foreign = False
    for track in chunks.tracks:
        names = [_text(event.data) for event in track if event.meta == TRACK_NAME]
        grows = names[:1] == [GROWING]
        named = _port_of(names[0]) if names else None
        for event in track:
            data = _message(event)
            if grows and event.meta == TEXT:
                named = _port_of(_text(event.data)) or named
            if data is not None and named is not None:
                events.append(TakeEvent(tempo.seconds(event.tick), named[1], named[0], data))
            foreign = foreign or (data is not None and named is None)
    if foreign and not events:
        raise DamagedFileError('no track in it is named "in PORT" or "out PORT", so nothing says what was played where')
    return events


def _port_of(name: str) -> tuple[Direction, str] | None:
    for direction in _PORT_TRACKS:
        if name.startswith(f"{direction} ") and name != f"{direction} ":
            return direction, name.removeprefix(f"{direction} ")
    return None


def _message(event: FileEvent) -> bytes | None:
    """The message's bytes as they were on the wire, None for an event that is none."""
    if event.meta is None:
        return event.data
    if event.meta == SEQUENCER_SPECIFIC and event.data.startswith(RAW):
        return event.data.removeprefix(RAW)
    return None


def _cue(event: FileEvent, tempo: TempoMap, song: str) -> TakeCue:
    before, slash, cue = _text(event.data).partition(" / ")
    return TakeCue(tempo.seconds(event.tick), before if slash else song, cue if slash else before)


def _tempo_marks(metas: Iterable[FileEvent]) -> Iterator[tuple[int, int, Meter | None]]:
    """Tick, microseconds a quarter note and meter of every change, those of one tick together."""
    us = DEFAULT_US_PER_QUARTER
    changes = (event for event in metas if event.meta in (SET_TEMPO, TIME_SIGNATURE))
    for tick, events in groupby(changes, key=_tick):
        meter = None
        for event in events:
            if event.meta == SET_TEMPO:
                us = _tempo(event)
            else:
                meter = _meter(event)
        yield tick, us, meter


def _tempo(event: FileEvent) -> int:
    us = int.from_bytes(event.data, "big")
    if len(event.data) != 3 or us == 0:
        raise DamagedFileError(f"the tempo at tick {event.tick} is none")
    return us


def _meter(event: FileEvent) -> Meter:
    if len(event.data) != 4 or not event.data[0] or event.data[1] > 6:
        raise DamagedFileError(f"the time signature at tick {event.tick} is none")
    return Meter(event.data[0], 1 << event.data[1])


def _text(data: bytes) -> str:
    """Texts are UTF-8 here; older programs write Latin-1."""
    try:
        return data.decode()
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _tick(event: FileEvent) -> int:
    return event.tick
