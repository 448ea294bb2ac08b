"""The chunks of a Standard MIDI File, read to the byte: every event of every track at its tick.

mido writes takes, but does not read them: it loses the delta time of a meta event it does not know, so that all that
follows comes too early, and refuses escaped system messages and foreign chunks, which the standard allows.
"""

from collections.abc import Iterator
from itertools import islice
from typing import NamedTuple

HEADER, TRACK = b"MThd", b"MTrk"
END_OF_TRACK = 0x2F


class DamagedFileError(ValueError):
    """What is wrong with the bytes, in words, without the file's name."""


class FileEvent(NamedTuple):
    """An event of a track: its tick, its meta type (None for a MIDI message) and its bytes.

    A message has its status byte, whether the file had it or not; a meta event's bytes are its data.
    """

    tick: int
    meta: int | None
    data: bytes


class Chunks(NamedTuple):
    """A file's ticks a quarter note, and its tracks."""

    division: int
    tracks: tuple[tuple[FileEvent, ...], ...]


def read_chunks(data: bytes) -> Chunks:
    """All tracks of a file of type 0 or 1; DamagedFileError for anything that breaks SMF 1.0 or is cut off.

    What comes after the tracks that the header counts is left alone: a take being written has its next events there.
    """
    chunks = _chunks(data)
    name, header = next(chunks, (b"", b""))
    if name != HEADER:
        raise DamagedFileError("it does not start as a MIDI file")
    if len(header) < 6:
        raise DamagedFileError("its header is cut off")
    kind, count, division = (int.from_bytes(header[i : i + 2], "big") for i in (0, 2, 4))
    if kind > 1:
        raise DamagedFileError(
            f"it is a MIDI file of type {kind}, whose tracks do not run together; a take is of type 1"
        )
    if division == 0 or division > 0x7FFF:
        raise DamagedFileError("its time is not counted in parts of a quarter note")
    tracks = list(islice((body for name, body in chunks if name == TRACK), count))
    if len(tracks) < count:
        raise DamagedFileError(f"it has {len(tracks)} of {count} tracks")
    return Chunks(division, tuple(tuple(_events(body, number)) for number, body in enumerate(tracks, 1)))


def _chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = 0
    while at < len(data):
        name, length = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "big")
        if at == 0 and name != HEADER:
            return
        if at + 8 + length > len(data):
            raise DamagedFileError(f"it is cut off {at + 8 + length - len(data)} bytes before the end of a part")
        yield name, data[at + 8 : at + 8 + length]
        at += 8 + length


class _Reader:
    """A track's bytes, taken from the front."""

    def __init__(self, body: bytes, number: int) -> None:
        self.body, self.at, self.number = body, 0, number

    def damaged(self, what: str) -> DamagedFileError:
        return DamagedFileError(f"track {self.number}, byte {self.at}: {what}")

    def take(self, count: int) -> bytes:
        part = self.body[self.at : self.at + count]
        if len(part) < count:
            raise self.damaged("the track ends inside an event")
        self.at += count
        return part

    def quantity(self) -> int:
        """A variable-length quantity of four bytes at most (SMF 1.0)."""
        value = 0
        for _ in range(4):
            byte = self.take(1)[0]
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                return value
        raise self.damaged("a length of more than four bytes")


def _events(body: bytes, number: int) -> Iterator[FileEvent]:
    reader, tick, running = _Reader(body, number), 0, None
    while reader.at < len(body):
        tick += reader.quantity()
        status = reader.take(1)[0]
        if status < 0x80:
            if running is None:
                raise reader.damaged("a message without a status byte")
            reader.at -= 1
            status = running
        running = status if status < 0xF0 else None
        if status == 0xFF:
            meta = reader.take(1)[0]
            yield FileEvent(tick, meta, reader.take(reader.quantity()))
            if meta == END_OF_TRACK:
                return
        elif status == 0xF0:
            yield FileEvent(tick, None, b"\xf0" + reader.take(reader.quantity()))
        elif status == 0xF7:
            yield FileEvent(tick, None, reader.take(reader.quantity()))
        elif status < 0xF0:
            yield FileEvent(tick, None, bytes((status,)) + _data_bytes(reader, status))
        else:
            raise reader.damaged(f"status {status:02X}, which a file may not hold")


def _data_bytes(reader: _Reader, status: int) -> bytes:
    data = reader.take(channel_data_length(status))
    if any(byte > 0x7F for byte in data):
        raise reader.damaged("a message cut short by another")
    return data


def channel_data_length(status: int) -> int:
    """Data bytes of a channel message: one for program change and channel pressure, else two (MIDI 1.0)."""
    return 1 if status & 0xE0 == 0xC0 else 2
