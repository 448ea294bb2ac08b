"""The fast road in the engine: one look-up per message gives what to send and where that leads."""

from collections.abc import Callable, Mapping
from typing import Any

from showrunner.curves.tables import CurveTable, Known
from showrunner.state.lanes import Lane

Sends = Mapping[str, Callable[[bytes], object]]
"""How to send on each of the rig's outputs."""
Call = tuple[Callable[[Any], object], Any]
"""A function of one argument, and what it is called with: most often a port's send and a message."""
Step = tuple[tuple[Call, ...], "Here | Silent"]
Around = Callable[[int, tuple[Call, ...]], tuple[Call, ...]]
"""What else a raw value calls besides the sends it is given."""


class Here(dict[int, Step]):
    """What every raw value sends while the receiver has `known`, and where it leads; filled as values come."""

    __slots__ = ("_all", "_around", "_sends", "_table", "known")

    def __init__(
        self, table: CurveTable, known: Known, sends: Sends, around: Around | None, all_known: "dict[Known, Here]"
    ) -> None:
        super().__init__()
        self._table, self.known, self._sends, self._around, self._all = table, known, sends, around, all_known

    def __missing__(self, raw: int) -> Step:
        row = self._table.row(raw)
        there = self._all.get(row)
        if there is None:
            there = self._all[row] = Here(self._table, row, self._sends, self._around, self._all)
        calls: tuple[Call, ...] = tuple(
            (self._sends[send.port], send.message) for send in self._table.sends(self.known, raw)
        )
        step: Step = (calls if self._around is None else self._around(raw, calls), there)
        self[raw] = step
        return step


class Silent(dict[int, Step]):
    """A control that nothing follows: no message, and it leads nowhere else."""

    __slots__ = ("_around",)
    known: Known = ()

    def __init__(self, around: Around | None) -> None:
        super().__init__()
        self._around = around

    def __missing__(self, raw: int) -> Step:
        step: Step = (() if self._around is None else self._around(raw, ()), self)
        self[raw] = step
        return step


class Road:
    """A lane made ready for the input callback, which sets `here` before it sends and `raw` after.

    `at_s` and `stamped` are set only for controls whose `around` does so, since a strip's release is timed.
    """

    __slots__ = ("_was", "at_s", "here", "lane", "raw", "stamped")

    def __init__(self, lane: Lane, sends: Sends, around: "Callable[[Road], Around | None]") -> None:
        self.lane = lane
        self.raw, self.at_s, self.stamped = lane.raw, 0.0, False
        self.here: Here | Silent
        if lane.table is None:
            self.here = Silent(around(self))
        else:
            all_known: dict[Known, Here] = {}
            self.here = all_known[lane.known] = Here(lane.table, lane.known, sends, around(self), all_known)
        self._was = self.here

    @property
    def touched(self) -> bool:
        """Whether anything went over it since it was last taken."""
        return self.stamped or self.raw != self.lane.raw or self.here is not self._was

    def same(self, lane: Lane) -> bool:
        """Whether the road can stay as it is for a lane made anew."""
        return self.lane.table is lane.table and self.here.known == lane.known and not self.touched

    def take(self) -> Lane:
        """The lane, up to date with what went over the road; the road counts as untouched from here on."""
        self.stamped = False
        self._was = self.here
        self.lane.raw = self.raw
        self.lane.known = self._was.known
        return self.lane
