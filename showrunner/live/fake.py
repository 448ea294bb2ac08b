"""A system of ports in memory: what a test plugs in, and what a rig without hardware is played on."""

from collections import deque

from showrunner.live.ports import Hears, PortError
from showrunner.model.rig import Rig


class FakeSystem:
    """Inputs that are fed by `play`, outputs that keep what they are sent; each can be pulled and plugged."""

    def __init__(
        self, inputs: tuple[str, ...] = (), outputs: tuple[str, ...] = (), *, remembers: int | None = None
    ) -> None:
        self._inputs, self._outputs = list(inputs), list(outputs)
        self._listening: dict[str, Hears] = {}
        self.sent: deque[tuple[str, bytes]] = deque(maxlen=remembers)
        self.ended = False

    @classmethod
    def simulated(cls, rig: Rig, *, remembers: int | None = 1024) -> "FakeSystem":
        """Everything a rig asks for, plugged in under its own patterns' names with nothing for `*` and `?`."""
        ports = rig.ports.values()
        inputs = dict.fromkeys(plain(port.input) for port in ports if port.input is not None)
        outputs = dict.fromkeys(plain(port.output) for port in ports if port.output is not None)
        return cls(tuple(inputs), tuple(outputs), remembers=remembers)

    def ready(self) -> bool:
        """Always."""
        return True

    def alive(self) -> bool:
        """Until a test says that it has ended."""
        return not self.ended

    def renew(self) -> None:
        """It is there again, with nothing plugged in."""
        self._inputs, self._outputs, self.ended = [], [], False

    def inputs(self) -> tuple[str, ...]:
        return tuple(self._inputs)

    def outputs(self) -> tuple[str, ...]:
        return tuple(self._outputs)

    def open_input(self, name: str, hears: Hears) -> "FakeInput":
        if name not in self._inputs:
            raise PortError(name, "no such input")
        self._listening[name] = hears
        return FakeInput(self, name)

    def open_output(self, name: str) -> "FakeOutput":
        if name not in self._outputs:
            raise PortError(name, "no such output")
        return FakeOutput(self, name)

    def make_output(self, name: str) -> "FakeOutput":
        self._outputs.append(name)
        return FakeOutput(self, name)

    def close(self) -> None:
        self._listening.clear()

    def play(self, name: str, message: bytes) -> None:
        """A message comes in, if anyone listens."""
        if name in self._listening and name in self._inputs:
            self._listening[name](message)

    def pull(self, name: str) -> None:
        """A port goes away."""
        self._inputs = [other for other in self._inputs if other != name]
        self._outputs = [other for other in self._outputs if other != name]

    def plug_input(self, name: str) -> None:
        """An input comes back, unopened."""
        self._listening.pop(name, None)
        self._inputs.append(name)

    def plug_output(self, name: str) -> None:
        """An output comes back."""
        self._outputs.append(name)

    def forget(self, name: str) -> None:
        """Nobody listens to an input any more."""
        self._listening.pop(name, None)


class FakeInput:
    """An open input of a FakeSystem."""

    def __init__(self, system: FakeSystem, name: str) -> None:
        self._system, self._name = system, name

    def close(self) -> None:
        self._system.forget(self._name)


class FakeOutput:
    """An open output of a FakeSystem."""

    def __init__(self, system: FakeSystem, name: str) -> None:
        self._system, self._name, self._open = system, name, True

    def send(self, message: bytes) -> None:
        if not self._open or self._name not in self._system.outputs():
            raise PortError(self._name, "it is gone")
        self._system.sent.append((self._name, message))

    def close(self) -> None:
        self._open = False


def plain(pattern: str) -> str:
    """A port name that a pattern fits."""
    return pattern.replace("*", "").replace("?", "1") or "port"
