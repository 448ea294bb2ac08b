"""A pretended pedal and the foot on it: moved in its own time, sent as a board would send it."""

import random
from collections.abc import Callable, Mapping
from types import MappingProxyType

from showrunner.live.calibrating import Step
from showrunner.live.fake import FakeSystem, plain
from showrunner.model.midi import lsb_of
from showrunner.model.rig import Control, Rig

Law = Callable[[float], float]

LAWS: Mapping[str, Law] = MappingProxyType(
    {
        "even": lambda share: 0.02 + 0.96 * share,
        "slow-heel": lambda share: 0.03 + 0.94 * share**2,
        "slow-toe": lambda share: 0.03 + 0.94 * share**0.5,
        "dead-ends": lambda share: 0.05 + 0.9 * min(1.0, max(0.0, (share - 0.05) / 0.9)),
    }
)
"""Share of the raw range over the share of travel, for pedals of our own making."""

READS_EVERY_S = 0.005
SWEEP_S = 5.0


class Foot:
    """Does what the asking says, with a pedal of a law, a raw step of jitter and two of hysteresis, in 128."""

    def __init__(self, system: FakeSystem, rig: Rig, control: Control, law: Law, seed: int = 1) -> None:
        self._system, self._control, self._law = system, control, law
        self._port = plain(rig.ports[control.port or ""].input or "")
        self._chance = random.Random(seed)
        self._step = (control.top + 1) / 128
        self.now_s, self._travel, self._sent = 0.0, 50.0, -1

    def clock(self) -> float:
        """The foot's own time, s."""
        return self.now_s

    def go(self, step: Step) -> None:
        """Move as a step asks, and answer on arriving."""
        if step.kind == "mark":
            self._move(100.0 if step.travel < 50 else 0.0, 0.5)
        self._move(step.travel, SWEEP_S if step.kind in ("up", "down") else 0.5)

    def rest(self, seconds: float) -> None:
        """Stay where it is, in the pedal's noise."""
        self._move(self._travel, seconds)

    def _move(self, to: float, seconds: float) -> None:
        start, count = self._travel, round(seconds / READS_EVERY_S)
        for number in range(1, count + 1):
            self.now_s += READS_EVERY_S
            self._travel = start + (to - start) * number / count
            lag = 0.0 if to == start else self._step if to < start else -self._step
            self._send(self._law(self._travel / 100) * self._control.top + lag)

    def _send(self, exact: float) -> None:
        raw = round(exact + self._chance.choice((-1, 0, 0, 1)) * self._step / 2)
        raw = max(0, min(self._control.top, raw))
        if raw == self._sent:
            return
        self._sent = raw
        status, cc = 0xB0 | (self._control.channel or 1) - 1, self._control.cc or 0
        if self._control.bits == 7:
            self._system.play(self._port, bytes((status, cc, raw)))
        else:
            self._system.play(self._port, bytes((status, cc, raw >> 7)))
            self._system.play(self._port, bytes((status, lsb_of(cc) or 0, raw & 0x7F)))
