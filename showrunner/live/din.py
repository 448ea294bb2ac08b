"""An output on a DIN wire: what waits for it, so that nothing is late that a newer value has replaced."""

from collections import deque

BYTE_S = 10 / 31_250
"""Ten bits at 31,250 baud (MIDI 1.0, p. 1): 320 µs."""
BANKS = (0, 32)

Message = bytes
_Place = tuple[int, int]


class DinQueue:
    """Messages for one DIN wire, in order; an older value of a controller gives way to a newer one, nothing else does.

    Programs, banks, notes and system messages are never dropped, and no controller value passes them in either
    direction: a value is replaced only by one given since the last of them.
    """

    def __init__(self) -> None:
        self._waiting: deque[tuple[_Place | None, tuple[Message, ...]]] = deque()
        self._free_s = 0.0

    def __len__(self) -> int:
        return sum(len(messages) for _, messages in self._waiting)

    def put(self, messages: tuple[Message, ...]) -> None:
        """Queue what belongs together: one message, or the pair that sets 14 bits."""
        place = _place(messages[0])
        if place is not None:
            for index in range(len(self._waiting) - 1, -1, -1):
                other = self._waiting[index][0]
                if other is None:
                    break
                if other == place:
                    del self._waiting[index]
                    break
        self._waiting.append((place, messages))

    def take(self, now_s: float) -> list[Message]:
        """What the wire can carry now: nothing while it is busy, else the next group."""
        if not self._waiting or now_s < self._free_s:
            return []
        _, messages = self._waiting.popleft()
        self._free_s = max(now_s, self._free_s) + BYTE_S * sum(map(len, messages))
        return list(messages)

    def due_s(self) -> float | None:
        """When the wire is free for what waits, None if nothing does."""
        return self._free_s if self._waiting else None

    def clear(self) -> None:
        """Drop what waits; the wire's port is gone."""
        self._waiting.clear()


def _place(message: Message) -> _Place | None:
    """Status and controller of a value that a newer one may replace; None for everything that must be kept."""
    if len(message) != 3 or message[0] & 0xF0 != 0xB0:
        return None
    cc = message[1]
    return None if cc in BANKS or cc >= 120 or cc in (6, 38, 96, 97, 98, 99, 100, 101) else (message[0], cc)
