"""Asking for what a calibration needs: marks held still, then slow sweeps there and back."""

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from showrunner.curves.calibrate import Calibration, CalibrationError, Leg, Mark, calibrate
from showrunner.model.rig import Control, Rig
from showrunner.state.events import Event, Heard, Tick
from showrunner.state.machine import run
from showrunner.state.script import Script
from showrunner.state.values import State

MARKS = (0.0, 25.0, 50.0, 75.0, 100.0)
SWEEPS = 3
HOLD_S = 1.0
"""How long a mark is listened to; a control at rest in its noise is heard often enough in that time."""
SAMPLE_S = 0.01
LEAST_SWEEP_S = 1.0
"""A sweep that took less was no slow one: the hand on the key is too late by too much of it."""

PLACES = {0.0: "all the way to the heel", 50.0: "half way", 100.0: "all the way to the toe"}


class Step(NamedTuple):
    """One thing asked for: `say` is put to the player, who answers when the control is there.

    `hold_s` is how long it must then be listened to before `done`; only marks need that.
    """

    kind: Literal["mark", "ready", "up", "down"]
    travel: float
    say: str
    hold_s: float = 0.0


class Reader:
    """Messages of a port in, raw values of one control out; 14 bits are joined as the show does it."""

    def __init__(self, rig: Rig, control: str) -> None:
        self._script, self._state = Script(rig, {}, ()), State()
        self._control = control

    def heard(self, at_s: float, port: str, message: bytes) -> Iterator[tuple[float, int]]:
        """The control's readings that a message completes, each with its time."""
        return self._readings(Heard(at_s, port, message))

    def waited(self, at_s: float) -> Iterator[tuple[float, int]]:
        """What time completes: an MSB whose LSB did not come."""
        return self._readings(Tick(at_s))

    def _readings(self, happened: Event) -> Iterator[tuple[float, int]]:
        for event, state, _ in run(self._script, self._state, [happened]):
            before, self._state = self._state, state
            raw = state.raws.get(self._control)
            if raw is not None and raw != before.raws.get(self._control):
                yield event.at_s, raw


class Calibrating:
    """Where the asking stands: feed it readings, tell it what is done; `found` once `step` is None."""

    def __init__(self, control: Control) -> None:
        self._control = control
        self._steps, self._at = tuple(_steps()), 0
        self._readings: list[tuple[float, int]] = []
        self._marks: list[Mark] = []
        self._legs: list[Leg] = []
        self._began_s = 0.0

    @property
    def step(self) -> Step | None:
        """What is asked for now, None when everything is there."""
        return self._steps[self._at] if self._at < len(self._steps) else None

    def heard(self, at_s: float, raw: int) -> None:
        """A reading; times must not go back."""
        self._readings.append((at_s, raw))

    def done(self, at_s: float) -> str:
        """The step is done, with its hold behind it; what was read, in words.

        CalibrationError where it has to be done again; then the same step is asked for anew.
        """
        step = self._steps[self._at]
        said = self._mark(step, at_s) if step.kind == "mark" else self._swept(step, at_s)
        self._at += 1
        return said

    def found(self) -> Calibration:
        """The calibration; CalibrationError where the readings do not make one."""
        return calibrate(self._marks, self._legs, self._control.top)

    def _mark(self, step: Step, at_s: float) -> str:
        if not self._readings:
            raise CalibrationError("nothing was heard; move it up and down once, then hold it there again")
        raws = _sampled(self._readings, at_s - step.hold_s, at_s)
        low, high = min(raws), max(raws)
        if high - low > self._control.top / 8:
            raise CalibrationError(f"it moved from raw {low} to {high} while it was to be held still; hold it again")
        self._marks.append(Mark(step.travel, raws))
        return f"reads {low}" if low == high else f"reads {low} to {high}"

    def _swept(self, step: Step, at_s: float) -> str:
        if step.kind == "ready":
            self._began_s = at_s
            return "go"
        from_s = self._began_s
        if at_s - from_s < LEAST_SWEEP_S:
            self._legs, self._at = self._legs[: -1 if step.kind == "down" else None], self._sweep_start()
            raise CalibrationError("that was too fast; this sweep again, over some five seconds each way")
        readings = tuple(row for row in self._readings if from_s <= row[0] <= at_s)
        self._legs.append(Leg(step.kind == "up", from_s, at_s, readings))
        self._began_s = at_s
        return f"{len(readings)} readings in {at_s - from_s:.1f} s"

    def _sweep_start(self) -> int:
        return max(index for index, step in enumerate(self._steps[: self._at]) if step.kind == "ready")


def _steps() -> Iterator[Step]:
    for travel in MARKS:
        place = PLACES.get(travel, f"to {travel:g} %")
        first = "move it up and down once, then " if travel == 0 else ""
        yield Step("mark", travel, f"{first}{place}; hold it still", HOLD_S)
    for sweep in range(1, SWEEPS + 1):
        yield Step("ready", 0.0, f"sweep {sweep} of {SWEEPS}: to the heel; start as you answer, slowly and evenly")
        yield Step("up", 100.0, "answer as you reach the toe, after some five seconds, and go straight back")
        yield Step("down", 0.0, "answer as you reach the heel")


def _sampled(readings: Sequence[tuple[float, int]], from_s: float, to_s: float) -> tuple[int, ...]:
    """The raw value in force at even moments of a time; a control that is still says nothing."""
    at, raws = 0, []
    for number in range(round((to_s - from_s) / SAMPLE_S) + 1):
        moment_s = from_s + number * SAMPLE_S
        while at + 1 < len(readings) and readings[at + 1][0] <= moment_s:
            at += 1
        raws.append(readings[at][1])
    return tuple(raws)
