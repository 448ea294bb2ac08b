"""A rig's ports while no show plays on them: what is there, what is heard, and one value sent by hand."""

import atexit
import threading
import time
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

from showrunner.curves.laws import to_number, to_value
from showrunner.curves.message import control_change, messages
from showrunner.live.fake import FakeSystem, plain
from showrunner.live.patching import Patch, ambiguous
from showrunner.live.picture import Picture
from showrunner.live.ports import Hears, PortError, System
from showrunner.model.midi import lsb_of
from showrunner.model.rig import Rig
from showrunner.state.events import Event, Heard, PortLost, Tick
from showrunner.state.machine import run
from showrunner.state.script import Script
from showrunner.state.values import State

TURNS_EVERY_S = 0.02
LOOKS_EVERY_S = 0.25
LIT_S = 0.5
"""How long a control stays lit after it was heard."""
ENDS_WITHIN_S = 1.0
"""How long the program's end waits for a thread that is still in the system's hands; one killed there crashes."""
WAITING = 4096
_ALONE = threading.Lock()
"""Held by the thread whose ports are open: the next one opens its own only when those are closed."""

Names = Mapping[str, Mapping[str, str]]
Reading = tuple[float, str, int]
"""When a control was heard, which one, and its raw value."""


class Seen(NamedTuple):
    """What is plugged in and heard now.

    `ready` is whether the system can be asked for ports, `names` the system's name of each open side of the rig's
    ports, `several` what else fits a pattern, `said` what became of the value sent last, by target.
    """

    ready: bool = False
    names: Names = MappingProxyType({})
    several: Mapping[str, tuple[str, ...]] = MappingProxyType({})
    others: tuple[str, ...] = ()
    troubles: Mapping[str, str] = MappingProxyType({})
    raws: Mapping[str, int] = MappingProxyType({})
    travels: Mapping[str, float] = MappingProxyType({})
    lit: frozenset[str] = frozenset()
    said: Mapping[str, str] = MappingProxyType({})
    stray: str = ""


class Plugged:
    """Opens what a rig asks for and keeps `seen` up to date, by `turn` or in a thread of its own after `start`.

    The system is made in the first turn, since making it may wait for a sound server.
    """

    def __init__(
        self, rig: Rig, system_of: Callable[[], System], clock: Callable[[], float] = time.perf_counter
    ) -> None:
        self._rig, self._system_of, self._clock = rig, system_of, clock
        self._script, self._state = _script(rig), State()
        self._system: System | None = None
        self._patch: Patch | None = None
        self._looked_s = -LOOKS_EVERY_S
        self._heard: deque[tuple[float, str, bytes]] = deque(maxlen=WAITING)
        self._to_send: deque[tuple[str, float]] = deque()
        self._said: dict[str, str] = {}
        self._stopped = threading.Event()
        self._thread: threading.Thread | None = None
        self.readings: deque[Reading] = deque(maxlen=WAITING)
        self.seen = Seen()

    def start(self) -> None:
        """Take turns in a thread from now on."""
        self._thread = threading.Thread(target=self._serve, name="rig", daemon=True)
        self._thread.start()
        atexit.register(self._thread.join, ENDS_WITHIN_S)

    def stop(self) -> None:
        """Close the ports; in a thread that is soon, and is not waited for."""
        self._stopped.set()
        if self._thread is None:
            self._close()

    def send(self, target: str, value: float) -> None:
        """Send one value to a target in the next turn; `seen.said` says what became of it."""
        self._to_send.append((target, value))

    def take(self, rig: Rig) -> bool:
        """Go on with another version of the rig; whether that can be done with the ports that are open."""
        if rig.ports != self._rig.ports:
            return False
        self._rig, self._script = rig, _script(rig)
        return True

    def turn(self) -> None:
        """Look for ports, take in what was heard, send what is to be sent."""
        try:
            self._turn(self._clock())
        except PortError as error:
            self.seen = Seen(troubles={error.port: error.what})

    def _turn(self, now_s: float) -> None:
        patch = self._look(now_s)
        stray = self.seen.stray
        while self._heard:
            heard = Heard(*self._heard.popleft())
            self._fold(heard)
            if not _owned(self._script, heard):
                stray = f"{heard.port}: {heard.data.hex(' ')}"
        self._fold(Tick(now_s))
        while self._to_send:
            self._send(patch, *self._to_send.popleft())
        self.seen = self._see(patch, now_s, stray)

    def _look(self, now_s: float) -> Patch:
        if self._patch is None or self._system is None:
            self._system = self._system_of()
            self._patch = Patch(self._system, self._rig, self._hears)
        if now_s - self._looked_s >= LOOKS_EVERY_S:
            self._looked_s = now_s
            for event in self._patch.look(now_s):
                if isinstance(event, PortLost):
                    self._fold(event)
                else:
                    back = {(event.port, side) for side in ("input", "output") if event.side in (None, side)}
                    self._state = replace(self._state, missing=self._state.missing - back)
        return self._patch

    def _see(self, patch: Patch, now_s: float, stray: str) -> Seen:
        assert self._system is not None
        ready = self._system.ready()
        inputs, outputs = (self._system.inputs(), self._system.outputs()) if ready else ((), ())
        names = patch.names
        ours = {name for sides in names.values() for name in sides.values()}
        return Seen(
            ready,
            names,
            ambiguous(self._rig, inputs, outputs),
            tuple(name for name in dict.fromkeys((*inputs, *outputs)) if name not in ours),
            dict(patch.troubles),
            self._state.raws,
            self._state.travels,
            lit_at(self._state, now_s),
            dict(self._said),
            stray,
        )

    def _fold(self, event: Event) -> None:
        for happened, state, _ in run(self._script, self._state, [event]):
            for name, raw in state.raws.items():
                if raw != self._state.raws.get(name):
                    self.readings.append((happened.at_s, name, raw))
            self._state = state

    def _send(self, patch: Patch, name: str, value: float) -> None:
        target = self._rig.targets[name]
        number = to_number(target, value)
        told = f"{to_value(target, number):.4g} {target.unit} ({number})"
        try:
            for message in messages(target, number):
                patch.sends[target.port](message)
        except KeyError:
            self._said[name] = f"not sent: the rig's port {target.port} has no output"
        except PortError as error:
            self._said[name] = f"not sent: {error}"
        else:
            self._said[name] = f"sent {told}"

    def _hears(self, port: str) -> Hears:
        return lambda message: self._heard.append((self._clock(), port, bytes(message)))

    def _serve(self) -> None:
        with _ALONE:
            while not self._stopped.wait(TURNS_EVERY_S):
                self.turn()
            self._close()
        atexit.unregister(threading.current_thread().join)

    def _close(self) -> None:
        if self._patch is not None:
            self._patch.close()


class Pretended(Plugged):
    """The same rig with nothing plugged in: everything is there, and keys move its controls."""

    def __init__(self, rig: Rig, clock: Callable[[], float] = time.perf_counter) -> None:
        self.system = FakeSystem.simulated(rig)
        super().__init__(rig, lambda: self.system, clock)

    def move(self, name: str, raw: int) -> None:
        """Move a control, by the messages its board would send."""
        control = self._rig.controls[name]
        port = plain(self._rig.ports[control.port or ""].input or "")
        channel, cc = control.channel or 1, control.cc or 0
        if control.bits == 7:
            self.system.play(port, control_change(channel, cc, raw))
            return
        self.system.play(port, control_change(channel, cc, raw >> 7))
        self.system.play(port, control_change(channel, lsb_of(cc) or 0, raw & 0x7F))


def seen_in_show(picture: Picture) -> Seen:
    """The same of a show that plays."""
    state = picture.state
    return Seen(
        True, picture.plugged, {}, (), picture.troubles, state.raws, state.travels, lit_at(state, picture.at_s), {}
    )


def lit_at(state: State, now_s: float) -> frozenset[str]:
    """Controls heard just now."""
    return frozenset(name for name, at_s in state.moved_s.items() if now_s - at_s < LIT_S)


def _script(rig: Rig) -> Script:
    """Only listening: no steps, no mute, nothing passed on."""
    ports = {name: port.model_copy(update={"unmapped": "drop"}) for name, port in rig.ports.items()}
    return Script(rig.model_copy(update={"ports": ports, "steps": None, "mute": None}), {}, ())


def _owned(script: Script, heard: Heard) -> bool:
    if len(heard.data) != 3 or heard.data[0] & 0xF0 != 0xB0:
        return False
    place = heard.port, (heard.data[0] & 0x0F) + 1, heard.data[1]
    return place in script.whole or place in script.halves
