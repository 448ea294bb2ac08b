"""Which of the system's ports each of the rig's is, opened, watched, and opened again when it comes back."""

from collections.abc import Callable, Collection, Iterable, Mapping, MutableMapping
from dataclasses import dataclass, field

from showrunner.live.patterns import choose, matching
from showrunner.live.ports import Hears, Input, Output, PortError, System
from showrunner.live.wire import DinWire, Pair
from showrunner.model.midi import lsb_of
from showrunner.model.rig import Port, Rig, Side
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
    parts: dict[Side, _Part] = field(default_factory=dict)
    told: frozenset[Side] = frozenset()
    """The sides that are known to be there."""


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
        self._failing: dict[str, Side] = {}

    @property
    def names(self) -> Mapping[str, Mapping[str, str]]:
        """The system's name of each open side, by the rig's port."""
        return {name: {side: part.name for side, part in plug.parts.items()} for name, plug in self._plugs.items()}

    @property
    def lost(self) -> frozenset[str]:
        """Ports of which not everything is there."""
        return frozenset(name for name, _ in self.missing)

    @property
    def missing(self) -> frozenset[tuple[str, Side]]:
        """Sides of ports that are not there."""
        return frozenset(
            (name, side) for name, plug in self._plugs.items() for side in plug.port.sides if side not in plug.told
        )

    def losses(self, known: Collection[tuple[str, Side]], now_s: float) -> list[PortLost]:
        """What has to be told of the sides that are missing, but for those that are known to be."""
        gone = {name: {side for of, side in self.missing - set(known) if of == name} for name in self._plugs}
        return [PortLost(now_s, *one) for name, sides in gone.items() for one in self._named(name, sides)]

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
        there: dict[Side, tuple[str, ...]] = {"input": self._system.inputs(), "output": self._system.outputs()}
        events: list[PortLost | PortFound] = []
        for name, plug in self._plugs.items():
            for side in [side for side, part in plug.parts.items() if self._gone(plug, side, part, there)]:
                self._give_up(name, side, now_s)
            for side in plug.port.sides:
                if side not in plug.parts:
                    self._try(name, plug, side, there[side])
            events += self._tell(name, now_s)
        return events

    def _renew(self, now_s: float) -> list[PortLost | PortFound]:
        events: list[PortLost | PortFound] = []
        for name, plug in self._plugs.items():
            for side in list(plug.parts):
                self._give_up(name, side, now_s)
            events += self._tell(name, now_s)
        for _, part in self._closing:
            _close(part)
        self._closing = []
        self._system.renew()
        return events

    def drop(self, name: str, side: Side, now_s: float) -> None:
        """Give up a side that failed, such as an output that refused a message; the next look opens it if it is there.

        The other side goes on.
        """
        plug = self._plugs[name]
        if side in plug.parts:
            self._give_up(name, side, now_s)
        plug.told -= {side}

    def _tell(self, name: str, now_s: float) -> list[PortLost | PortFound]:
        """What has to be told of a port since the last time, and is from now on."""
        plug = self._plugs[name]
        was, plug.told = plug.told, frozenset(plug.parts)
        return [
            *(PortLost(now_s, *one) for one in self._named(name, was - plug.told)),
            *(PortFound(now_s, *one) for one in self._named(name, plug.told - was)),
        ]

    def _named(self, name: str, sides: Collection[Side]) -> list[tuple[str, Side | None]]:
        """The port where all of its sides are meant, else each side."""
        whole = len(sides) == len(self._plugs[name].port.sides)
        return [(name, None)] if whole else [(name, side) for side in sorted(sides)]

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

    def _gone(self, plug: _Plug, side: Side, part: _Part, there: Mapping[Side, Iterable[str]]) -> bool:
        return not (side == "output" and plug.port.virtual is not None) and part.name not in there[side]

    def _give_up(self, name: str, side: Side, now_s: float) -> None:
        part = self._plugs[name].parts.pop(side)
        if side == "output":
            self.sends[name] = _refuse(name)
        self._closing.append((now_s + CLOSES_AFTER_S, part))

    def _try(self, name: str, plug: _Plug, side: Side, there: tuple[str, ...]) -> None:
        try:
            part = self._open(name, plug.port, side, there)
        except PortError as error:
            self.troubles[name], self._failing[name] = error.what, side
            return
        if part is not None:
            if self._failing.get(name) == side:
                self.troubles.pop(name, None)
            plug.parts[side] = part
            self.last[f"{name}.{side}"] = part.name

    def _open(self, name: str, port: Port, side: Side, there: tuple[str, ...]) -> _Part | None:
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
