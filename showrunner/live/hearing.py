"""What comes in on the ports, as lines a person can read: by control with its travel, or as bytes."""

from collections import deque
from collections.abc import Iterator

from showrunner.curves.travel import travel_of
from showrunner.live.patching import Patch
from showrunner.live.ports import Hears, Input, PortError, System
from showrunner.model.rig import Rig
from showrunner.state.events import Heard, PortFound, Tick
from showrunner.state.machine import fold
from showrunner.state.script import Script
from showrunner.state.values import State

WAITING = 4096


class Hearing:
    """Listens to a rig's ports, or without a rig to every input; more than can be shown is dropped, oldest first."""

    def __init__(self, rig: Rig | None, system: System) -> None:
        self._rig, self._system = rig, system
        self._heard: deque[tuple[str, bytes]] = deque(maxlen=WAITING)
        self._open: dict[str, Input] = {}
        inputs = None if rig is None else _only_inputs(rig)
        self._script = None if inputs is None else Script(inputs, {}, ())
        self._state = State()
        self._patch = None if inputs is None else Patch(system, inputs, self._hears)
        self._raws: dict[str, int] = {}

    def lines(self, now_s: float) -> Iterator[str]:
        """What was heard since the last call, and which ports came and went."""
        yield from self._plugged(now_s)
        for _ in range(len(self._heard)):
            port, message = self._heard.popleft()
            moved = list(self._moved(now_s, port, message))
            yield from moved or [f"{port}: {message.hex(' ')}"]
        yield from self._moved(now_s, "", b"")

    def moves(self, now_s: float) -> Iterator[tuple[str, int]]:
        """Each raw value of a rig's controls heard since the last call, in order."""
        list(self._plugged(now_s))
        for _ in range(len(self._heard)):
            yield from self._changed(now_s, *self._heard.popleft())

    def close(self) -> None:
        """Stop listening."""
        if self._patch is not None:
            self._patch.close()
            return
        for opened in self._open.values():
            opened.close()
        self._system.close()

    def _plugged(self, now_s: float) -> Iterator[str]:
        if self._patch is not None:
            for event in self._patch.look(now_s):
                if event.side == "output":
                    continue
                names = self._patch.names[event.port].get("input", "")
                yield f"{event.port}: {names} is there" if isinstance(event, PortFound) else f"{event.port}: gone"
            return
        there = self._system.inputs() if self._system.ready() else ()
        for name in [name for name in self._open if name not in there]:
            self._open.pop(name).close()
            yield f"{name}: gone"
        for name in there:
            if name not in self._open and self._opened(name):
                yield f"{name}: is there"

    def _opened(self, name: str) -> bool:
        """Opens an input; False where it went away meanwhile."""
        try:
            self._open[name] = self._system.open_input(name, self._hears(name))
        except PortError:
            if name in self._system.inputs():
                raise
            return False
        return True

    def _moved(self, now_s: float, port: str, message: bytes) -> Iterator[str]:
        for name, raw in self._changed(now_s, port, message):
            assert self._rig is not None
            yield f"{name}: {travel_of(self._rig.controls[name], raw):5.1f} %  ({raw})"

    def _changed(self, now_s: float, port: str, message: bytes) -> Iterator[tuple[str, int]]:
        if self._script is None:
            return
        before = self._state.raws
        event = Heard(now_s, port, message) if port else Tick(now_s)
        self._state, _ = fold(self._script, self._state, event)
        for name, raw in self._state.raws.items():
            if raw != before.get(name):
                yield name, raw

    def _hears(self, port: str) -> Hears:
        def hear(message: bytes) -> None:
            self._heard.append((port, bytes(message)))

        return hear


def _only_inputs(rig: Rig) -> Rig:
    ports = {
        name: port.model_copy(update={"output": None, "virtual": None, "unmapped": "drop"})
        for name, port in rig.ports.items()
        if port.input is not None
    }
    return rig.model_copy(update={"ports": ports, "steps": None, "mute": None})
