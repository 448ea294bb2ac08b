"""«Sent» and «answered»: a host that echoes a controller says that it is alive."""

from collections.abc import Mapping
from typing import Literal

from showrunner.curves.message import control_change
from showrunner.model.rig import Rig

Answer = Literal["sent", "answered", "no answer"]


class Answers:
    """Asks the ports whose rig says that they answer, and takes their echoes out of what is heard."""

    def __init__(self, rig: Rig) -> None:
        self._asks = {name: port.answers for name, port in rig.ports.items() if port.answers is not None and port.sends}
        self._count = 0
        self._asked: dict[str, tuple[bytes, float]] = {}
        self._answered: set[str] = set()
        self._sent: set[str] = set()

    def asks(self, at_s: float) -> list[tuple[str, bytes]]:
        """What to send now, by port, so that each of them echoes it."""
        self._count = (self._count + 1) % 128
        asked = [(name, control_change(of.channel, of.cc, self._count)) for name, of in self._asks.items()]
        for name, message in asked:
            self._asked[name] = (message, at_s)
            self._answered.discard(name)
        return asked

    def sent(self, port: str) -> None:
        """Something went out on a port."""
        self._sent.add(port)

    def heard(self, port: str, message: bytes) -> bool:
        """Whether a message is an echo that was asked for, and goes no further."""
        of = self._asks.get(port)
        if of is None or message[:2] != bytes((0xB0 | of.channel - 1, of.cc)):
            return False
        if port in self._asked and self._asked[port][0] == message:
            self._answered.add(port)
        return True

    def at(self, now_s: float) -> Mapping[str, Answer]:
        """How each port stands that anything was sent to."""
        return {port: self._of(port, now_s) for port in sorted(self._sent)}

    def _of(self, port: str, now_s: float) -> Answer:
        if port in self._answered:
            return "answered"
        asked = self._asked.get(port)
        late = asked is not None and now_s - asked[1] > self._asks[port].within_ms / 1000
        return "no answer" if late else "sent"
