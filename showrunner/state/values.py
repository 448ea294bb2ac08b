"""The machine's state: a frozen value, and the workbench on which one event changes it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, Self

from showrunner.model.rig import Side
from showrunner.state.events import Notice, Out
from showrunner.state.hands import UNKNOWN, Hands

if TYPE_CHECKING:
    from showrunner.curves.tables import CurveTable, Send
    from showrunner.state.moments import Moment, Piece
    from showrunner.state.script import Script

Phase = Literal["changeover", "song", "over"]
Trims = tuple[tuple[str, float], ...]
"""Tonight's trims as they were moved while the show runs, by name and in order of names."""


class Aim(NamedTuple):
    """What governs a target now.

    `fixed`: a named value or the rig's rest. `stands`: a named value until its control moves. `follows`: its
    control's curve. `waits`: the value in force until the curve meets it. `glides`: from a value to the curve's.
    """

    how: Literal["fixed", "stands", "follows", "waits", "glides"]
    value: float
    control: str | None = None
    since_s: float = 0.0
    moved_s: float = 0.0
    at_travel: float | None = None


class Press(NamedTuple):
    """A switch held down: since when, whether it has acted already, and when it was let go if it was just now."""

    at_s: float
    held: bool = False
    released_s: float | None = None


class Silence(NamedTuple):
    """A strip with a release: when it was last heard, and where its return to rest started once it did."""

    heard_s: float
    from_travel: float | None = None


class Withheld(NamedTuple):
    """A control of which nothing is passed on: until when, and since when it moves; None while it doesn't."""

    until_s: float
    moved_s: float | None = None


class Choice(NamedTuple):
    """Choosing another song by foot: the candidates, the one shown, and when it was last touched."""

    songs: tuple[str, ...]
    shown: int
    touched_s: float


class Clock(NamedTuple):
    """A song's clock: when it began, how long open cues have held it, and since when one does."""

    began_s: float
    waited_s: float = 0.0
    waiting_since_s: float | None = None

    def elapsed_s(self, at_s: float) -> float:
        """Seconds of the song that have passed, open cues left out."""
        until = at_s if self.waiting_since_s is None else self.waiting_since_s
        return until - self.began_s - self.waited_s


Program = tuple[int | None, int | None, int]


@dataclass(frozen=True, slots=True)
class State:
    """Where the show stands. Equal states send the same bytes on the same events.

    `hands` is how everything set by hand was left when this moment came up; `ready` says that the song was begun from
    its changeover and is still where it began, so that hands have done what that asked. `brings_s` is when the
    song of a changeover that was just opened is brought to the receiver; until then nothing of it is sent.
    """

    order: tuple[str, ...] = ()
    place: int = 0
    moment: int = 0
    phase: Phase = "changeover"
    muted: bool = False
    segued: bool = False
    clock: Clock | None = None
    choice: Choice | None = None
    stepped_s: float | None = None
    guard_s: float = 0.0
    aims: Mapping[str, Aim] = field(default_factory=dict)
    raws: Mapping[str, int] = field(default_factory=dict)
    travels: Mapping[str, float] = field(default_factory=dict)
    moved_s: Mapping[str, float] = field(default_factory=dict)
    known: Mapping[str, int] = field(default_factory=dict)
    programs: Mapping[tuple[str, int], Program] = field(default_factory=dict)
    owed: frozenset[str] = frozenset()
    settling: Mapping[str, float] = field(default_factory=dict)
    missing: frozenset[tuple[str, Side]] = frozenset()
    presses: Mapping[str, Press] = field(default_factory=dict)
    silences: Mapping[str, Silence] = field(default_factory=dict)
    halves: Mapping[str, tuple[int, float | None]] = field(default_factory=dict)
    glided_s: float = 0.0
    trims: Trims = ()
    withheld: Mapping[str, Withheld] = field(default_factory=dict)
    hands: Hands = UNKNOWN
    ready: bool = False
    brings_s: float | None = None

    @property
    def lost(self) -> frozenset[str]:
        """Ports of which a side is missing."""
        return frozenset(port for port, _ in self.missing)

    @property
    def song(self) -> str | None:
        """Slug of the song that is up, None in a show without songs."""
        return self.order[self.place] if self.order else None

    @property
    def sound(self) -> Literal["muted", "sounding"]:
        """Whether the output is muted or sounding, in the words that are said of it everywhere."""
        return "muted" if self.muted else "sounding"


@dataclass(slots=True)
class Work:
    """One event's workbench: a state being changed, and what goes out meanwhile."""

    script: "Script"
    at_s: float
    order: tuple[str, ...]
    place: int
    moment: int
    phase: Phase
    muted: bool
    segued: bool
    clock: Clock | None
    choice: Choice | None
    stepped_s: float | None
    guard_s: float
    aims: dict[str, Aim]
    raws: dict[str, int]
    travels: dict[str, float]
    moved_s: dict[str, float]
    known: dict[str, int]
    programs: dict[tuple[str, int], Program]
    owed: frozenset[str]
    settling: dict[str, float]
    missing: frozenset[tuple[str, Side]]
    presses: dict[str, Press]
    silences: dict[str, Silence]
    halves: dict[str, tuple[int, float | None]]
    glided_s: float
    trims: Trims
    withheld: dict[str, Withheld]
    hands: Hands
    ready: bool
    brings_s: float | None
    sends: "list[Send]" = field(default_factory=list)
    shows: list[Notice] = field(default_factory=list)

    @classmethod
    def on(cls, script: "Script", state: State, at_s: float) -> Self:
        """The workbench with a copy of the state on it."""
        copies: dict[str, Any] = {name: getattr(state, name) for name in _FIELDS}
        copies |= {name: dict(copies[name]) for name in _MAPPINGS}
        return cls(script, at_s, **copies)

    def done(self) -> tuple[State, Out]:
        """The state as it is now, and what went out."""
        return State(**{name: getattr(self, name) for name in _FIELDS}), Out(tuple(self.sends), tuple(self.shows))

    @property
    def piece(self) -> "Piece":
        """The song that is up."""
        return self.script.piece(self.order[self.place], self.trims)

    def table(self, control: str) -> "CurveTable | None":
        """The compiled curve in force of a control; None where it has none."""
        return self.script.table(self.order[self.place], self.now.curves, control, self.trims)

    @property
    def now(self) -> "Moment":
        """The moment it stands at."""
        return self.piece.moments[self.moment]

    def show(self, kind: str, say: str = "") -> None:
        """Note something to show, with the song and cue it belongs to."""
        song = self.order[self.place] if self.order else None
        cue = self.now.name if self.order else None
        self.shows.append(Notice(kind, song, cue, say))  # type: ignore[arg-type]


_FIELDS = tuple(part.name for part in fields(State))
_MAPPINGS = tuple(part.name for part in fields(State) if part.default_factory is dict)
