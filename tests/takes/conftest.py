"""A reader of Standard MIDI Files that shares no code with the program: every event's tick and bytes, by track name."""

import struct
from collections.abc import Callable

import pytest

Tracks = dict[str, list[tuple[int, bytes]]]


def _quantity(body: bytes, at: int) -> tuple[int, int]:
    value = body[at] & 0x7F
    while body[at] & 0x80:
        at += 1
        value = (value << 7) + (body[at] & 0x7F)
    return value, at + 1


def _plain_reader(data: bytes) -> tuple[int, Tracks]:
    magic, size, kind, count, division = struct.unpack(">4sIHHH", data[:14])
    assert (magic, size, kind) == (b"MThd", 6, 1)
    tracks: Tracks = {}
    at = 14
    for _ in range(count):
        assert data[at : at + 4] == b"MTrk"
        (length,) = struct.unpack(">I", data[at + 4 : at + 8])
        body, at = data[at + 8 : at + 8 + length], at + 8 + length
        events, here, tick, running = [], 0, 0, 0
        while here < length:
            delta, here = _quantity(body, here)
            tick += delta
            status = body[here] if body[here] & 0x80 else running
            here += body[here] >> 7
            if status == 0xFF:
                kind, (size, here) = body[here], _quantity(body, here + 1)
                head = bytes((0xFF, kind))
            elif status in (0xF0, 0xF7):
                size, here = _quantity(body, here)
                head = bytes((status,))
            else:
                running, head = status, bytes((status,))
                size = 1 if 0xC0 <= status <= 0xDF else 2
            events.append((tick, head + body[here : here + size]))
            here += size
        name = next(event[2:].decode() for _, event in events if event[:2] == b"\xff\x03")
        tracks[name] = events
    assert at == len(data)
    return division, tracks


@pytest.fixture
def plain_reader() -> Callable[[bytes], tuple[int, Tracks]]:
    """Bytes of a file to its ticks a quarter note and its tracks by name."""
    return _plain_reader
