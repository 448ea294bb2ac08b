"""What we sent coming back to us: a loop in the cabling or the host, which only ends if we stop answering it."""

from collections import OrderedDict, deque

COMES_BACK_S = 0.05
"""A message heard this soon after it was sent has come back."""
REPEATS = 4
"""Times that the same message comes back at once, with no other between, before its path stops."""
RETURNS = 8
"""Times that it comes back at all within `WITHIN_S`; a pedal that trembles between two values is slower."""
WITHIN_S = 0.1
QUIET_S = 1.0
"""Silence after which a stopped path is tried again."""
REMEMBERED = 256

Path = tuple[str, bytes]
"""An input port, and the status and controller that come in on it."""


class Loops:
    """Watches one engine's messages in and out; not for the fast road, whose controls never hear their own targets."""

    def __init__(self) -> None:
        self._sent: OrderedDict[bytes, float] = OrderedDict()
        self._last: dict[Path, bytes] = {}
        self._repeats: dict[Path, int] = {}
        self._returns: dict[tuple[str, bytes], deque[float]] = {}
        self.stopped: dict[Path, float] = {}

    def sent(self, message: bytes, at_s: float) -> None:
        """A message went out."""
        self._sent[message] = at_s
        self._sent.move_to_end(message)
        if len(self._sent) > REMEMBERED:
            self._sent.popitem(last=False)

    def heard(self, port: str, message: bytes, at_s: float) -> bool:
        """Whether a message that came in belongs to a loop and must not be acted on."""
        path = (port, message[:2])
        if path in self.stopped:
            if at_s - self.stopped[path] < QUIET_S:
                self.stopped[path] = at_s
                return True
            del self.stopped[path]
        repeated = self._last.get(path) == message
        self._last[path] = message
        if at_s - self._sent.get(message, -1.0) > COMES_BACK_S:
            self._repeats.pop(path, None)
            return False
        self._repeats[path] = self._repeats.get(path, 0) + 1 if repeated else 0
        if len(self._returns) > REMEMBERED:
            self._returns.clear()
        times = self._returns.setdefault((port, message), deque(maxlen=RETURNS))
        times.append(at_s)
        often = len(times) == RETURNS and at_s - times[0] <= WITHIN_S
        if self._repeats[path] < REPEATS and not often:
            return False
        self.stopped[path] = at_s
        self._forget()
        return True

    def _forget(self) -> None:
        self._repeats.clear()
        self._returns.clear()
        self._last.clear()

    @property
    def ports(self) -> tuple[str, ...]:
        """The inputs with a stopped path."""
        return tuple(dict.fromkeys(port for port, _ in self.stopped))
