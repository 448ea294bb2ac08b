"""A take: everything that came in and went out, each cue, and the tempo it was played to."""

from bisect import bisect_right
from collections.abc import Iterable
from fractions import Fraction
from typing import Literal, NamedTuple

from showrunner.model.rig import Side
from showrunner.model.units import Meter

Direction = Literal["in", "out"]

DIVISION = 9600
"""Ticks a quarter note."""
LONGEST_TICK_S = 60 / 10 / DIVISION
"""A tick at 10 bpm, the slowest a song may be: 0.625 ms."""

DEFAULT_US_PER_QUARTER = 500_000
"""120 bpm, which a Standard MIDI File means when it states no tempo (SMF 1.0)."""


class TakeEvent(NamedTuple):
    """A message on a port: seconds from the take's start, the rig's name for the port, and the bytes on the wire."""

    at_s: float
    port: str
    direction: Direction
    data: bytes


class TakeCue(NamedTuple):
    """A moment that was arrived at: seconds from the take's start, the song's slug, the cue's name."""

    at_s: float
    song: str
    cue: str


BY_CLOCK = " by the clock"
"""Stands after a step that a rehearsal's clock took."""
NOBODYS = ("jump ", "go ", "end")
"""How what is no step of anybody's begins."""


class TakeAsk(NamedTuple):
    """A step that no message led to: a key's "next", the clock's "next by the clock", or "jump SONG / CUE".

    "go SONG / CUE" says that the song's clock starts there, "end" that the take stops.
    """

    at_s: float
    what: str


class TakePort(NamedTuple):
    """A port that went away or came back: seconds from the take's start, the rig's name for it, whether it is there.

    `side` where only one of the port's was meant.
    """

    at_s: float
    port: str
    there: bool
    side: Side | None = None


class TempoMark(NamedTuple):
    """From here on, so many microseconds a quarter note, in this meter; no meter leaves it as it is."""

    at_s: float
    us_per_quarter: int
    meter: Meter | None = None


class Take(NamedTuple):
    """A performance from its first second, each kind in time order, and the slugs of what it is of."""

    events: tuple[TakeEvent, ...] = ()
    cues: tuple[TakeCue, ...] = ()
    show: str | None = None
    rig: str | None = None
    song: str | None = None
    tempos: tuple[TempoMark, ...] = ()
    asks: tuple[TakeAsk, ...] = ()
    ports: tuple[TakePort, ...] = ()

    @property
    def played(self) -> bool:
        """Whether anybody played, as far as it says: a message came in, or a key took a step."""
        heard = any(event.direction == "in" for event in self.events)
        keyed = any(not ask.what.endswith(BY_CLOCK) and not ask.what.startswith(NOBODYS) for ask in self.asks)
        return heard or keyed or not self.asks

    @property
    def ends_s(self) -> float:
        """Seconds to the last thing in it."""
        return max((row.at_s for rows in (self.events, self.cues, self.asks, self.ports) for row in rows), default=0.0)


class TempoMap:
    """Ticks to seconds and back, exactly, through tempo changes given as (tick, microseconds a quarter note)."""

    def __init__(self, division: int, changes: Iterable[tuple[int, int]] = ()) -> None:
        self._division = division
        self._ticks, self._us, self._at = [0], [DEFAULT_US_PER_QUARTER], [Fraction(0)]
        for tick, us_per_quarter in changes:
            self._add(tick, us_per_quarter)

    def add_at(self, at_s: float, us_per_quarter: int) -> int:
        """Change the tempo at a time after all changes so far; the tick it falls on."""
        tick = max(self.tick(at_s), self._ticks[-1])
        self._add(tick, us_per_quarter)
        return tick

    def tick(self, at_s: float) -> int:
        """The tick nearest to a time in seconds."""
        index = bisect_right(self._at, at_s) - 1
        ticks = (Fraction(at_s) - self._at[index]) * self._division * 1_000_000 / self._us[index]
        return self._ticks[index] + round(ticks)

    def seconds(self, tick: int) -> float:
        """When a tick falls, in seconds."""
        index = bisect_right(self._ticks, tick) - 1
        return float(self._at[index] + self._length(tick - self._ticks[index], index))

    def _length(self, ticks: int, index: int) -> Fraction:
        return Fraction(ticks * self._us[index], self._division * 1_000_000)

    def _add(self, tick: int, us_per_quarter: int) -> None:
        if tick == self._ticks[-1]:
            self._us[-1] = us_per_quarter
            return
        self._at.append(self._at[-1] + self._length(tick - self._ticks[-1], -1))
        self._ticks.append(tick)
        self._us.append(us_per_quarter)
