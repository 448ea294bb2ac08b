"""The fast road in the engine: one look-up, from where a control was to where it is, gives the messages to send."""

from collections.abc import Callable, Mapping
from itertools import groupby
from typing import Any

from showrunner.curves.tables import CurveTable, Known
from showrunner.state.lanes import Lane

Sends = Mapping[str, Callable[[bytes], object]]
"""How to send on each of the rig's outputs."""
Calls = tuple[Callable[[Any], object], tuple[Any, ...]]
"""A function of one argument and what it is called with in turn: a port's send and messages, or `spread` and more."""
Around = Callable[[int, Calls], Calls]
"""What else a raw value calls besides the sends it is given."""
Row = list[Any]
"""From where a control was: by the next raw value a call, what it is called with and the row there, None where that has
not been worked out; last the raw value that the row is of."""
VALUES = 128
WARMED_AT_ONCE = 16
FILLED = 2048
"""Steps that are kept worked out: from each raw value those to 16 others. Past that they are worked out anew."""
STARTS = 16
"""Receivers that were known otherwise than by the table, past which what was worked out is dropped."""


class Steps:
    """What a control of 7 bits sends under a table, from each raw value to each, as far as it has been worked out.

    `before` is the raw value whose numbers the receiver has, or negative for a receiver that `start` was told of.
    """

    def __init__(self, table: CurveTable | None, sends: Sends, around: Around | None) -> None:
        self._table, self._sends, self._around = table, sends, around
        self._starts: list[Known] = []
        self._messages: dict[bytes, bytes] = {}
        self._same: dict[Calls, Calls] = {}
        self._rows: dict[int, Row] = {}
        self._kept = True
        self._warmed = self._filled = 0

    @property
    def full(self) -> bool:
        """Whether it has begun so often from what no row says that another should take its place."""
        return len(self._starts) >= STARTS

    def start(self, lane: Lane) -> Row:
        """The row to begin with while the receiver has what a lane says."""
        if self._table is None or lane.known == self._table.row(lane.raw):
            return self._row(lane.raw)
        if lane.known not in self._starts:
            self._starts.append(lane.known)
        return self._row(-1 - self._starts.index(lane.known))

    def known(self, before: int) -> Known:
        """What the receiver has, by the table's targets."""
        if before < 0:
            return self._starts[-1 - before]
        return () if self._table is None else self._table.row(before)

    def fill(self, before: int, raw: int) -> bool:
        """Work out one step; False if a control of 7 bits sends no such value or nothing is kept any more."""
        if not 0 <= raw < VALUES or not self._kept:
            return False
        if self._filled >= FILLED:
            self._empty()
        self._row(before)[raw] = (*self._calls(before, raw), self._row(raw))
        self._filled += 1
        return True

    def warm(self) -> bool:
        """Work out some steps to neighbours ahead of need; whether there is more to do."""
        until = min(self._warmed + WARMED_AT_ONCE, VALUES if self._kept else 0)
        for raw in range(self._warmed, until):
            for before in (raw - 1, raw + 1):
                if 0 <= before < VALUES and self._row(before)[raw] is None:
                    self.fill(before, raw)
        self._warmed = max(self._warmed, until)
        return self._kept and until < VALUES

    def drop(self) -> None:
        """Let go of everything; a message under way on another thread takes the slow road instead."""
        self._kept = False
        self._empty()
        self._rows = {}

    def _empty(self) -> None:
        """Forget every step, so that memory stays flat whatever a control does."""
        for row in list(self._rows.values()):
            row[:VALUES] = [None] * VALUES
        self._same.clear()
        self._filled = 0

    def _row(self, before: int) -> Row:
        row = self._rows.get(before)
        return self._rows.setdefault(before, [None] * VALUES + [before]) if row is None else row

    def _calls(self, before: int, raw: int) -> Calls:
        """The calls from one to the other; equal ones are one object, so that they stay near the processor."""
        sends = () if self._table is None else self._table.sends(self.known(before), raw)
        by_port = groupby(sends, lambda send: send.port)
        runs = tuple((self._sends[port], tuple(self._one(send.message) for send in run)) for port, run in by_port)
        calls: Calls = runs[0] if len(runs) == 1 else (spread, runs)
        calls = self._same.setdefault(calls, calls)
        return calls if self._around is None else self._around(raw, calls)

    def _one(self, message: bytes) -> bytes:
        return self._messages.setdefault(message, message)


class CallError(Exception):
    """One of several calls failed; says which."""

    def __init__(self, call: Callable[[Any], object]) -> None:
        super().__init__(call)
        self.call = call


def spread(calls: Calls) -> None:
    """Make calls that are part of others; CallError if one fails."""
    call, given = calls
    try:
        for data in given:
            call(data)
    except Exception as error:
        raise CallError(call) from error


class Road:
    """A lane made ready for the input callback, which takes a step from `row`, sends, and then sets `row` to the next.

    That is one look-up and one store a message; more of either is memory that is far from the processor each time.
    """

    __slots__ = ("_steps", "_was", "lane", "row", "status")

    def __init__(self, lane: Lane, steps: Steps, status: int) -> None:
        self.lane, self._steps, self.status = lane, steps, status
        self.row = steps.start(lane)
        self._was = self.raw

    def fill(self, raw: int) -> bool:
        """Work out the step from where it stands to a raw value; False if there is none."""
        return self._steps.fill(self.raw, raw)

    @property
    def raw(self) -> int:
        """Where the control stands, or what `Steps.start` says of the receiver."""
        return int(self.row[VALUES])

    @property
    def touched(self) -> bool:
        """Whether it stands elsewhere than when it was last taken."""
        return self.raw != self._was

    def same(self, lane: Lane) -> bool:
        """Whether the road can stay as it is for a lane made anew."""
        return self.lane.table is lane.table and self.lane.known == lane.known and not self.touched

    def take(self) -> Lane:
        """The lane, up to date with what went over the road; the road counts as untouched from here on."""
        raw = self._was = self.raw
        if raw >= 0:
            self.lane.raw, self.lane.known = raw, self._steps.known(raw)
        return self.lane
