"""A stream of MIDI bytes cut into whole messages (MIDI 1.0 Detailed Specification, pp. 4–6 and Table I)."""

from collections.abc import Iterator

_LENGTHS = {0x80: 3, 0x90: 3, 0xA0: 3, 0xB0: 3, 0xC0: 2, 0xD0: 2, 0xE0: 3}
_COMMON = {0xF1: 2, 0xF2: 3, 0xF3: 2, 0xF6: 1}
_EXCLUSIVE, _END, _REAL_TIME = 0xF0, 0xF7, 0xF8
LONGEST_EXCLUSIVE = 1 << 16
"""Bytes of a system exclusive message past which it is dropped, so that a stream without an end can't fill memory."""


class Stream:
    """One port's parser: keeps running status and a message under way between calls; any bytes will do."""

    def __init__(self) -> None:
        self._status = 0
        self._under_way = bytearray()

    def feed(self, data: bytes) -> Iterator[bytes]:
        """Whole messages, in the order their last byte came; real-time bytes come out at once, wherever they stand."""
        for byte in data:
            if byte >= _REAL_TIME:
                if byte not in (0xF9, 0xFD):
                    yield bytes((byte,))
            elif byte >= 0x80:
                yield from self._begin(byte)
            else:
                yield from self._go_on(byte)

    def _begin(self, status: int) -> Iterator[bytes]:
        if status == _END:
            if self._under_way[:1] == b"\xf0":
                yield bytes(self._under_way) + b"\xf7"
            self._forget()
            return
        self._under_way = bytearray((status,))
        self._status = status if status < _EXCLUSIVE else 0
        if status == 0xF6:
            yield bytes((status,))
        if status in (0xF4, 0xF5, 0xF6):
            self._forget()

    def _go_on(self, value: int) -> Iterator[bytes]:
        if not self._under_way:
            if not self._status:
                return
            self._under_way = bytearray((self._status,))
        self._under_way.append(value)
        first = self._under_way[0]
        if first == _EXCLUSIVE:
            if len(self._under_way) > LONGEST_EXCLUSIVE:
                self._forget()
        elif len(self._under_way) == (_COMMON.get(first) or _LENGTHS[first & 0xF0]):
            yield bytes(self._under_way)
            self._under_way = bytearray()

    def _forget(self) -> None:
        self._status, self._under_way = 0, bytearray()
