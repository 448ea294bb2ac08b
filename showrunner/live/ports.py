"""Ports as the engine sees them: one Protocol for real, simulated and fake systems, and one kind of error."""

from collections.abc import Callable
from typing import Protocol

Hears = Callable[[bytes], object]
"""Called with every whole message that comes in, on whichever thread the system uses."""


class PortError(Exception):
    """A port that can't be opened, sent to or listed; says which."""

    def __init__(self, port: str, what: str) -> None:
        super().__init__(f"{port}: {what}")
        self.port, self.what = port, what


class Output(Protocol):
    """An open output; `send` sends one whole message and raises where that can't be, PortError or the system's own."""

    @property
    def send(self) -> Callable[[bytes], object]:
        """Sends one whole message."""

    def close(self) -> None:
        """Close it; closing twice does no harm."""


class Input(Protocol):
    """An open input."""

    def close(self) -> None:
        """Close it; closing twice does no harm."""


class System(Protocol):
    """Everything a machine can plug in: the operating system's MIDI, a simulated rig, or a test's."""

    def ready(self) -> bool:
        """Whether the system can be asked for ports at all; a sound server may not have been started yet."""

    def alive(self) -> bool:
        """False once the sound server behind the ports has ended: the next one is reached after `renew`."""

    def renew(self) -> None:
        """Let go of a sound server that has ended; every port of it must have been closed before."""

    def inputs(self) -> tuple[str, ...]:
        """Names of what can be listened to now; PortError if the system doesn't answer."""

    def outputs(self) -> tuple[str, ...]:
        """Names of what can be sent to now; PortError if the system doesn't answer."""

    def open_input(self, name: str, hears: Hears) -> Input:
        """Listen to a port by the system's name; PortError if it can't be opened."""

    def open_output(self, name: str) -> Output:
        """Open a port to send to by the system's name; PortError if it can't be opened."""

    def make_output(self, name: str) -> Output:
        """A virtual output that others can listen to; PortError where the system has none."""

    def close(self) -> None:
        """Close everything."""
