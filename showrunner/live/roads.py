"""The fast road in the engine: one look-up per message gives what to send and where that leads."""

from collections.abc import Callable, Mapping

from showrunner.curves.tables import CurveTable, Known
from showrunner.state.lanes import Lane

Sends = Mapping[str, Callable[[bytes], object]]
"""How to send on each of the rig's outputs."""
Step = tuple[tuple[tuple[Callable[[bytes], object], bytes], ...], "Here"]


class Here(dict[int, Step]):
    """What every raw value sends while the receiver has `known`, and where it leads; filled as values come."""

    __slots__ = ("_all", "_sends", "_table", "known")

    def __init__(self, table: CurveTable, known: Known, sends: Sends, all_known: dict[Known, "Here"]) -> None:
        super().__init__()
        self._table, self.known, self._sends, self._all = table, known, sends, all_known

    def __missing__(self, raw: int) -> Step:
        row = self._table.row(raw)
        there = self._all.get(row)
        if there is None:
            there = self._all[row] = Here(self._table, row, self._sends, self._all)
        bound = tuple((self._sends[send.port], send.message) for send in self._table.sends(self.known, raw))
        step = self[raw] = (bound, there)
        return step


class Road:
    """A lane made ready for the input callback, which sets `here`, `raw`, `at_s` and, last, `touched`."""

    __slots__ = ("at_s", "here", "lane", "raw", "touched")

    def __init__(self, lane: Lane, sends: Sends) -> None:
        self.lane = lane
        self.raw, self.at_s, self.touched = lane.raw, 0.0, False
        if lane.table is None:
            stays: dict[int, Step] = _Silent()
            self.here: dict[int, Step] = stays
        else:
            all_known: dict[Known, Here] = {}
            self.here = all_known[lane.known] = Here(lane.table, lane.known, sends, all_known)

    def same(self, lane: Lane) -> bool:
        """Whether the road can stay as it is for a lane made anew."""
        known = self.here.known if isinstance(self.here, Here) else ()
        return self.lane.table is lane.table and known == lane.known and not self.touched

    def take(self) -> Lane:
        """The lane, up to date with what went over the road; the road counts as untouched from here on."""
        self.touched = False
        self.lane.raw = self.raw
        if isinstance(self.here, Here):
            self.lane.known = self.here.known
        return self.lane


class _Silent(dict[int, Step]):
    """A control that nothing follows: no message, and it leads nowhere else."""

    def __missing__(self, raw: int) -> Step:
        return ((), self)  # type: ignore[return-value]
