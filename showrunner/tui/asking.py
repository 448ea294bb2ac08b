"""A calibration asked for step by step on the screen: with the real control, or a foot that is pretended."""

from collections import deque
from collections.abc import Callable

from showrunner.curves.calibrate import Calibration, CalibrationError
from showrunner.live.calibrating import Calibrating, Reader
from showrunner.live.fake import FakeSystem, plain
from showrunner.live.pretend import LAWS, Foot
from showrunner.model.rig import Rig
from showrunner.tui.plugged import Reading

LAW = "slow-heel"
"""The response of the pretended pedal: uneven, so that there is something to find."""


def has_travel(rig: Rig | None, name: str | None) -> bool:
    """Whether a control is heard and has travel to calibrate; no for none."""
    if rig is None or name is None:
        return False
    control = rig.controls[name]
    port = rig.ports.get(control.port or "")
    return port is not None and port.input is not None and control.kind not in ("switch", "selector")


class Asking:
    """What is asked, what came of the last answer, and `found` at the end.

    Readings come by `heard`; with `pretended` they come from a pedal of our own that moves as it is asked to.
    """

    def __init__(self, rig: Rig, control: str, *, pretended: bool) -> None:
        self.control, self.pretended = control, pretended
        self.found: Calibration | None = None
        self.said, self.failed = "", ""
        self._calibrating = Calibrating(rig.controls[control])
        self._held_until_s: float | None = None
        self._foot = self._pretend(rig, control) if pretended else None

    @property
    def asks(self) -> str:
        """What the player is to do now."""
        if self._held_until_s is not None:
            return "hold it still …"
        step = self._calibrating.step
        return step.say if step is not None else ""

    @property
    def over(self) -> bool:
        """Whether there is nothing more to ask."""
        return self.found is not None or bool(self.failed)

    @property
    def pairs(self) -> list[list[float]]:
        """What was found, as the rig's file has it; travel without a fraction where it has none."""
        found = self.found.pairs if self.found is not None else ()
        return [[raw, int(travel) if travel == int(travel) else travel] for raw, travel in found]

    def heard(self, at_s: float, raw: int) -> None:
        """A reading of the control."""
        self._calibrating.heard(at_s, raw)

    def listen(self, readings: deque[Reading], now_s: float) -> bool:
        """Take in readings of the rig's controls up to now; whether something else is asked since."""
        if self.pretended:
            return False
        before = self.asks
        while readings:
            at_s, name, raw = readings.popleft()
            if name == self.control:
                self.heard(at_s, raw)
        self.pass_time(now_s)
        return self.asks != before

    def answer(self, now_s: float) -> None:
        """The control is where it was asked to be."""
        step = self._calibrating.step
        if step is None or self._held_until_s is not None:
            return
        if self._foot is not None:
            self._foot.go(step)
            if step.hold_s:
                self._foot.rest(step.hold_s)
            self._done(self._foot.now_s)
        elif step.hold_s:
            self._held_until_s = now_s + step.hold_s
        else:
            self._done(now_s)

    def pass_time(self, now_s: float) -> None:
        """A mark is done once it was held long enough."""
        until_s = self._held_until_s
        if until_s is not None and now_s >= until_s:
            self._held_until_s = None
            self._done(until_s)

    def _done(self, at_s: float) -> None:
        try:
            self.said = self._calibrating.done(at_s)
        except CalibrationError as error:
            self.said = str(error)
        if self._calibrating.step is None:
            try:
                self.found = self._calibrating.found()
            except CalibrationError as error:
                self.failed = str(error)

    def _pretend(self, rig: Rig, name: str) -> Foot:
        control = rig.controls[name]
        system, reader = FakeSystem.simulated(rig), Reader(rig, name)
        foot = Foot(system, rig, control, LAWS[LAW])
        pattern = rig.ports[control.port or ""].input or ""
        system.open_input(plain(pattern), self._hears(reader, foot, control.port or ""))
        return foot

    def _hears(self, reader: Reader, foot: Foot, port: str) -> Callable[[bytes], None]:
        def hear(message: bytes) -> None:
            for at_s, raw in reader.heard(foot.clock(), port, message):
                self.heard(at_s, raw)

        return hear
