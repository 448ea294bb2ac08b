"""Which of the system's ports each of the rig's is, opened, watched, and opened again when it comes back."""

from collections.abc import Callable, Iterable, Mapping, MutableMapping
from dataclasses import dataclass, field

from showrunner.live.patterns import choose, matching
from showrunner.live.ports import Hears, Input, Output, PortError, System
from showrunner.live.wire import DinWire, Pair
from showrunner.model.midi import lsb_of
from showrunner.model.rig import Port, Rig
from showrunner.state.events import PortFound, PortLost

CLOSES_AFTER_S = 1.0
"""How long a port that vanished is kept, since a message may be under way in it on another thread."""

Last = MutableMapping[str, str]
"""What the system called each part of each port last time, by `PORT.input` and `PORT.output`."""


@dataclass(slots=True)
class _Part:
    """One side of a rig's port: the system's name for it, and what closes it."""

    name: str
    opened: Input | Output
    wire: DinWire | None = None


@dataclass(slots=True)
class _Plug:
    """One of the rig's ports and its open sides, by `input` and `output`."""

    port: Port
    parts: dict[str, _Part] = field(default_factory=dict)
    whole: bool = False

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides that the rig asks for."""
        return (("input",) if self.port.input is not None else ()) + (("output",) if self.port.sends else ())


class Patch:
    """Opens what the rig asks for; `look` again and again keeps it up to date, from one thread.

    `sends` has a function for each port that can be sent to; while one is not there it raises PortError with the
    rig's name. `hears` gives the callback for a port's input.
    """

    def __init__(self, system: System, rig: Rig, hears: Callable[[str], Hears], last: Last | None = None) -> None:
        self._system, self._hears = system, hears
        self.last: Last = {} if last is None else last
        self._plugs = {name: _Plug(port) for name, port in rig.ports.items()}
        self._pairs = {name: _pairs(rig, name) for name in rig.ports}
        self.sends: dict[str, Callable[[bytes], object]] = {
            name: _refuse(name) for name, port in rig.ports.items() if port.sends
        }
        self._closing: list[tuple[float, _Part]] = []
        self.troubles: dict[str, str] = {}

    @property
    def names(self) -> Mapping[str, Mapping[str, str]]:
        """The system's name of each open side, by the rig's port."""
        return {name: {side: part.name for side, part in plug.parts.items()} for name, plug in self._plugs.items()}

    @property
    def lost(self) -> frozenset[str]:
        """Ports of which not everything is there."""
        return frozenset(name for name, plug in self._plugs.items() if not plug.whole)

    def look(self, now_s: float) -> list[PortLost | PortFound]:
        """Open what has come and give up what has gone; what the engine has to be told, in order.

        All of a sound server that has ended is closed before anything is opened on the next one.
        """
        if not self._system.alive():
            return self._renew(now_s)
        if not self._system.ready():
            return []
        for _, part in [late for late in self._closing if late[0] <= now_s]:
            _close(part)
        self._closing = [late for late in self._closing if late[0] > now_s]
        there = {"input": self._system.inputs(), "output": self._system.outputs()}
        events: list[PortLost | PortFound] = []
        for name, plug in self._plugs.items():
            for side in [side for side, part in plug.parts.items() if self._gone(plug, side, part, there)]:
                self._give_up(name, side, now_s)
            for side in plug.sides:
                if side not in plug.parts:
                    self._try(name, plug, side, there[side])
            whole = len(plug.parts) == len(plug.sides)
            if whole != plug.whole:
                plug.whole = whole
                events.append(PortFound(now_s, name) if whole else PortLost(now_s, name))
        return events

    def _renew(self, now_s: float) -> list[PortLost | PortFound]:
        events: list[PortLost | PortFound] = []
        for name, plug in self._plugs.items():
            for side in list(plug.parts):
                self._give_up(name, side, now_s)
            if plug.whole:
                plug.whole = False
                events.append(PortLost(now_s, name))
        for _, part in self._closing:
            _close(part)
        self._closing = []
        self._system.renew()
        return events

    def drop(self, name: str, now_s: float) -> None:
        """Give up a port that refused a message; the next look opens it again if it is there."""
        plug = self._plugs[name]
        for side in list(plug.parts):
            self._give_up(name, side, now_s)
        plug.whole = False

    def close(self) -> None:
        """Close everything that is open."""
        for plug in self._plugs.values():
            for part in plug.parts.values():
                _close(part)
            plug.parts.clear()
        for _, part in self._closing:
            _close(part)
        self._closing = []
        self._system.close()

    def _gone(self, plug: _Plug, side: str, part: _Part, there: Mapping[str, Iterable[str]]) -> bool:
        return not (side == "output" and plug.port.virtual is not None) and part.name not in there[side]

    def _give_up(self, name: str, side: str, now_s: float) -> None:
        part = self._plugs[name].parts.pop(side)
        if side == "output":
            self.sends[name] = _refuse(name)
        self._closing.append((now_s + CLOSES_AFTER_S, part))

    def _try(self, name: str, plug: _Plug, side: str, there: tuple[str, ...]) -> None:
        try:
            part = self._open(name, plug.port, side, there)
        except PortError as error:
            self.troubles[name] = error.what
            return
        if part is not None:
            self.troubles.pop(name, None)
            plug.parts[side] = part
            self.last[f"{name}.{side}"] = part.name

    def _open(self, name: str, port: Port, side: str, there: tuple[str, ...]) -> _Part | None:
        last = self.last.get(f"{name}.{side}")
        if side == "input":
            found = choose(port.input or "", there, last=last)
            return None if found is None else _Part(found, self._system.open_input(found, self._hears(name)))
        if port.virtual is not None:
            part = _Part(port.virtual, self._system.make_output(port.virtual))
        else:
            found = choose(port.output or "", there, last=last)
            if found is None:
                return None
            part = _Part(found, self._system.open_output(found))
        send = part.opened.send  # type: ignore[union-attr]
        if port.wire == "din":
            part.wire = DinWire(send, self._pairs[name], lambda _error: self._refused(name))
            send = part.wire.send
        self.sends[name] = send
        return part

    def _refused(self, name: str) -> None:
        self.sends[name] = _refuse(name)


def ambiguous(rig: Rig, inputs: tuple[str, ...], outputs: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    """The system's names, by side of a rig's port (`PORT.input`), where its pattern fits several."""
    found = {}
    for name, port in rig.ports.items():
        for side, pattern, there in (("input", port.input, inputs), ("output", port.output, outputs)):
            names = matching(pattern, there) if pattern is not None else ()
            if len(names) > 1:
                found[f"{name}.{side}"] = names
    return found


def _pairs(rig: Rig, port: str) -> list[Pair]:
    return [
        (0xB0 | target.channel - 1, target.cc)
        for target in rig.targets.values()
        if target.port == port and target.bits == 14 and lsb_of(target.cc) is not None
    ]


def _refuse(name: str) -> Callable[[bytes], object]:
    def refuse(_message: bytes) -> object:
        raise PortError(name, "it is not plugged in")

    return refuse


def _close(part: _Part) -> None:
    if part.wire is not None:
        part.wire.close()
    part.opened.close()
