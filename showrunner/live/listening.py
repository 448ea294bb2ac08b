"""What is plugged in and heard of a rig for a command that asks: over the running show, or on ports of its own."""

from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from showrunner.curves.travel import travel_of
from showrunner.live.doubling import Reading, in_show
from showrunner.live.hearing import Hearing
from showrunner.live.kept import real_system
from showrunner.live.link import RemoteShow
from showrunner.live.patterns import choose
from showrunner.live.ports import System
from showrunner.live.under_way import show_under_way
from showrunner.live.verifying import Names
from showrunner.model.rig import Rig


class Found(NamedTuple):
    """The system's name of each side of the rig's ports, how far each control went, and whether the show plays."""

    names: Names | None
    reach: Mapping[str, tuple[float, float]]
    playing: bool


class Listening:
    """Opens the rig's inputs, or joins the show that plays on them; PortError from `look` if the system is silent."""

    def __init__(self, root: Path, show: str, rig: Rig, system: System | None = None) -> None:
        self._rig, self._reach = rig, dict[str, tuple[float, float]]()
        self._raws: dict[str, int] = {}
        self._stood: int | None = None
        self._client: RemoteShow | None = None
        self._system, self._hearing = system, None if system is None else Hearing(rig, system)
        if system is None:
            self._client = show_under_way(root, [show], on_ports=True)

    def look(self, now_s: float) -> Found:
        """What there is now, with everything heard since the last look."""
        if self._client is not None:
            picture = self._client.picture()
            self._heard(picture.state.raws)
            return Found(picture.plugged, self._reach, playing=True)
        if self._hearing is None or self._system is None:
            self._system = real_system()
            self._hearing = Hearing(self._rig, self._system)
        for name, raw in self._hearing.moves(now_s):
            self._heard({name: raw})
        return Found(self._names(self._system), self._reach, playing=False)

    def withhold(self, control: str) -> None:
        """Have the show pass nothing on from a control for a moment; without one nothing is in any case."""
        if self._client is not None:
            self._client.withhold(control)
        self._stood = self._raws.get(control)

    def tried(self, control: str, now_s: float) -> Reading:
        """Whether nothing is passed on from the control now, and whether it has moved since; PortError as for look."""
        self.look(now_s)
        if self._client is not None:
            return in_show(self._client.picture().state, control)
        return Reading(held=True, moved=self._raws.get(control) != self._stood)

    def close(self) -> None:
        """Let go of ports and show."""
        if self._client is not None:
            self._client.close()
        if self._hearing is not None:
            self._hearing.close()

    def _names(self, system: System) -> Names | None:
        if not system.ready():
            return None
        found: dict[str, dict[str, str]] = {}
        for name, port in self._rig.ports.items():
            sides = {"input": (port.input, system.inputs()), "output": (port.output, system.outputs())}
            chosen = {side: choose(pattern, there) for side, (pattern, there) in sides.items() if pattern is not None}
            found[name] = {side: fits for side, fits in chosen.items() if fits is not None}
            if port.virtual is not None:
                found[name]["output"] = f"{port.virtual}, made when the show is played"
        return found

    def _heard(self, raws: Mapping[str, int]) -> None:
        self._raws.update(raws)
        for name, raw in raws.items():
            travel = travel_of(self._rig.controls[name], raw)
            low, high = self._reach.get(name, (travel, travel))
            self._reach[name] = min(low, travel), max(high, travel)
