"""The machine's MIDI for screens and commands: one system for the program, whose ports stay open once they are."""

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import cache

from showrunner.live.ports import Hears, Input, Output, System


@cache
def real_system() -> System:
    """The operating system's MIDI.

    Closing a port while others are open, or while something comes in, can end or stop the whole program where a sound
    server cancels the thread that hears. So ports are only let go of, but on Windows, which opens them exclusively.
    """
    from showrunner.live.binding import RtMidiSystem

    system = RtMidiSystem()
    return system if sys.platform == "win32" else Kept(system)


def leave(code: int) -> None:
    """Ends the program at once if it opened the machine's MIDI: the interpreter, ending, would close the ports."""
    if real_system.cache_info().currsize:
        for stream in (sys.stdout, sys.stderr):
            with suppress(OSError):
                stream.flush()
        os._exit(code)


class Kept:
    """A system of ports that are never closed: an input that is let go of is deaf, an output is left alone.

    What has gone is put aside, and opened anew when it comes back.
    """

    def __init__(self, system: System) -> None:
        self._system = system
        self._inputs: dict[str, KeptInput] = {}
        self._outputs: dict[str, KeptOutput] = {}
        self._aside: list[KeptInput | KeptOutput] = []

    def ready(self) -> bool:
        return self._system.ready()

    def alive(self) -> bool:
        return self._system.alive()

    def renew(self) -> None:
        """Close all of them: nothing comes in from a server that has ended, and the next one wants it so."""
        for kept in (*self._inputs.values(), *self._outputs.values(), *self._aside):
            kept.end()
        self._inputs, self._outputs, self._aside = {}, {}, []
        self._system.renew()

    def inputs(self) -> tuple[str, ...]:
        return self._system.inputs()

    def outputs(self) -> tuple[str, ...]:
        return self._system.outputs()

    def open_input(self, name: str, hears: Hears) -> "KeptInput":
        kept = self._inputs.get(name)
        if kept is None:
            kept = KeptInput(self, name)
            kept.opened = self._system.open_input(name, kept.hear)
            self._inputs[name] = kept
        kept.hears = hears
        return kept

    def open_output(self, name: str) -> "KeptOutput":
        if name not in self._outputs:
            self._outputs[name] = KeptOutput(self, name, self._system.open_output(name))
        return self._outputs[name]

    def make_output(self, name: str) -> "KeptOutput":
        if name not in self._outputs:
            self._outputs[name] = KeptOutput(self, name, self._system.make_output(name), made=True)
        return self._outputs[name]

    def close(self) -> None:
        """Nothing is heard any more."""
        for kept in self._inputs.values():
            kept.hears = None

    def let_go(self, kept: "KeptInput | KeptOutput", name: str) -> None:
        """Put a port aside if it has gone."""
        if isinstance(kept, KeptInput):
            gone = self._inputs.get(name) is kept and name not in self._system.inputs()
            self._aside += [self._inputs.pop(name)] if gone else []
        else:
            gone = self._outputs.get(name) is kept and not kept.made and name not in self._system.outputs()
            self._aside += [self._outputs.pop(name)] if gone else []


class KeptInput:
    """An open input; what it hears is passed on while anyone listens."""

    def __init__(self, system: Kept, name: str) -> None:
        self._system, self._name = system, name
        self.opened: Input | None = None
        self.hears: Hears | None = None

    def hear(self, message: bytes) -> None:
        """A message came in."""
        hears = self.hears
        if hears is not None:
            hears(message)

    def close(self) -> None:
        self.hears = None
        self._system.let_go(self, self._name)

    def end(self) -> None:
        """Close it for good."""
        if self.opened is not None:
            self.opened.close()


class KeptOutput:
    """An open output."""

    def __init__(self, system: Kept, name: str, opened: Output, *, made: bool = False) -> None:
        self._system, self._name, self._opened, self.made = system, name, opened, made

    @property
    def send(self) -> Callable[[bytes], object]:
        return self._opened.send

    def close(self) -> None:
        self._system.let_go(self, self._name)

    def end(self) -> None:
        """Close it for good."""
        self._opened.close()
