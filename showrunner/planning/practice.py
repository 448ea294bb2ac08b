"""What went wrong in a take, and over takes what fails most and is to be practised next."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from types import MappingProxyType
from typing import NamedTuple

from showrunner.state.events import Out
from showrunner.state.hands import to_set
from showrunner.state.moments import Moment, Piece
from showrunner.state.rehearsal import led_from_s, length_s
from showrunner.state.script import Script
from showrunner.state.values import State

ON_TIME_S = 1.0
"""A cue within a second of its place is on time; our own figure, no source."""
THERE_PCT = 10.0
"""A pedal within a tenth of its travel of where it should be is there (common practice, no source)."""
OVER_S = 5.0
"""A changeover may be so much longer than planned; our own figure, no source."""
RECENT = 5
"""So many of the latest takes say what to practise next; our own figure, no source."""

NEXT = 3
"""So many places are named as what to practise next."""

NOTHING: Mapping[float, float | None] = MappingProxyType({})
NO_PAUSES: Mapping[tuple[str, str], float] = MappingProxyType({})


class Pedal(NamedTuple):
    """Where a control should have been on arriving, and where it was, travel in %; None if it was never heard."""

    control: str
    should: float
    was: float | None

    @property
    def there(self) -> bool | None:
        """Whether it was where it should be, None where that can't be seen."""
        return None if self.was is None else abs(self.was - self.should) <= THERE_PCT


class Arrival(NamedTuple):
    """A moment as it was reached: seconds after its place, None where nothing says when it should have been.

    `by_hand` was for the hands to set, which nothing can see. `lead` is a moment only put there to lead up to what is
    rehearsed. `held` counts notes heard to sound on past their stop, `too_soon` presses that came inside the guard
    between this moment and the next.
    """

    at_s: float
    song: str
    cue: str
    late_s: float | None
    pedals: tuple[Pedal, ...] = ()
    by_hand: tuple[tuple[str, str], ...] = ()
    too_soon: int = 0
    back: bool = False
    lead: bool = False
    held: int = 0

    @property
    def faults(self) -> tuple[str, ...]:
        """What was wrong, in few words; the same fault in the same words each time."""
        found = []
        if self.late_s is not None and abs(self.late_s) > ON_TIME_S:
            found.append("late" if self.late_s > 0 else "early")
        found += [f"{pedal.control} not there" for pedal in self.pedals if pedal.there is False]
        if self.held:
            found.append("note held on")
        if self.too_soon:
            found.append("pressed too soon")
        if self.back:
            found.append("gone back")
        return tuple(found)


class Change(NamedTuple):
    """A changeover as it was played: seconds it took, and those planned, None where nothing plans it.

    `straight` is one song gone straight into the other, which takes no time; `late_s` is then by how much it came after
    the end of the song before, None where nothing says when that should have been.
    """

    at_s: float
    before: str
    after: str
    took_s: float
    planned_s: float | None
    straight: bool = False
    late_s: float | None = None

    @property
    def faults(self) -> tuple[str, ...]:
        """What was wrong, in few words."""
        if self.late_s is not None and abs(self.late_s) > ON_TIME_S:
            return ("late" if self.late_s > 0 else "early",)
        return ("too long",) if self.planned_s is not None and self.took_s > self.planned_s + OVER_S else ()


class Review(NamedTuple):
    """What one take shows: every moment reached and every changeover, in order.

    One that nobody `played`, where the clock took every step and nothing was heard, says nothing of the player: over
    takes it does not count.
    """

    arrivals: tuple[Arrival, ...]
    changes: tuple[Change, ...]
    played: bool = True

    @property
    def judged(self) -> tuple[Arrival, ...]:
        """The moments that count."""
        return tuple(arrival for arrival in self.arrivals if not arrival.lead)

    @property
    def places(self) -> tuple[tuple[str, ...], ...]:
        """What was wrong at each place that counts, nothing where it was clean."""
        return (*(arrival.faults for arrival in self.judged), *(change.faults for change in self.changes))

    @property
    def clean(self) -> bool:
        """Whether nothing went wrong that could be seen."""
        return not any(self.places)

    def moments_of(self, song: str) -> tuple[tuple[str, ...], ...]:
        """What was wrong at each moment of a song."""
        return tuple(arrival.faults for arrival in self.judged if arrival.song == song)

    def changes_of(self, before: str, after: str) -> tuple[tuple[str, ...], ...]:
        """What was wrong each time with a changeover."""
        return tuple(change.faults for change in self.changes if (change.before, change.after) == (before, after))


def review(
    script: Script,
    played: Iterable[tuple[float, State, Out]],
    goes: Mapping[float, float | None] = NOTHING,
    pauses_s: Mapping[tuple[str, str], float] = NO_PAUSES,
) -> Review:
    """What a take shows, from the machine's answers in order.

    `goes` has the time of every jump that no foot made, and when the song's clock was started after it: until then
    the player may get there. None where it was but to lead up to what is rehearsed, which is not judged then.
    `pauses_s` are the planned seconds between two songs.
    """
    reviewer = Reviewer(script, goes, pauses_s)
    for answer in played:
        reviewer.feed(*answer)
    return reviewer.review


class Reviewer:
    """Walks through a take's answers as they come; `goes` and `pauses_s` as for `review`, and may grow meanwhile."""

    def __init__(
        self, script: Script, goes: Mapping[float, float | None], pauses_s: Mapping[tuple[str, str], float]
    ) -> None:
        self._script, self._goes, self._pauses_s = script, goes, pauses_s
        self.arrivals: list[Arrival] = []
        self.changes: list[Change] = []
        self._starts: tuple[float, float] | None = None
        self._moment = 0
        self._left: tuple[float, str] | None = None
        self._song: str | None = None
        self._ready_s: float | None = None
        self._before: State | None = None

    @property
    def review(self) -> Review:
        """What was shown, now that it is over."""
        if self._before is not None and self._ready_s is not None:
            self._get_ready(self._before)
        return Review(tuple(self.arrivals), tuple(self.changes))

    def feed(self, at_s: float, state: State, out: Out) -> None:
        """The machine's next answer."""
        if self._before is not None and self._ready_s is not None and at_s > self._ready_s:
            self._get_ready(self._before)
        self._before = state
        for notice in out.shows:
            if notice.kind == "changeover" and self._song is not None:
                self._left = (at_s, self._song)
            elif notice.kind in ("song", "cue") and state.song is not None:
                self._arrive(at_s, state, began=notice.kind == "song")
            elif notice.kind == "too soon" and self.arrivals:
                last = self.arrivals[-1]
                self.arrivals[-1] = last._replace(too_soon=last.too_soon + 1)

    def _arrive(self, at_s: float, state: State, *, began: bool) -> None:
        song = state.song or ""
        piece = self._script.pieces[song]
        moment = piece.moments[state.moment]
        if began and self._left is not None and self._left[1] != song:
            left_s, before = self._left
            self.changes.append(Change(left_s, before, song, at_s - left_s, self._pauses_s.get((before, song))))
        elif began and self._song not in (None, song):
            late_s = self._late_s(at_s, length_s(self._script.pieces[self._song or ""]))
            self.changes.append(Change(at_s, self._song or "", song, 0.0, 0.0, straight=True, late_s=late_s))
        put = not began and at_s in self._goes
        jumped = put or (not began and (song != self._song or state.moment != self._moment + 1))
        go_s = self._goes[at_s] if put else None
        lead = put and go_s is None
        back = jumped and not put and song == self._song and self._fell_back(piece, state.moment)
        late_s = None if began or jumped else self._late_s(at_s, moment.at_s)
        if lead:
            self._starts = (at_s, led_from_s(piece)) if moment.number + 1 == len(piece.moments) else None
        elif began or jumped:
            start_s = at_s if began else go_s
            self._starts = None if start_s is None or moment.at_s is None else (start_s, moment.at_s)
        by_hand = tuple((name, to) for (_, name), to in to_set(state.hands, piece, state.moment).items())
        pedals = () if put else _pedals(piece, moment, state)
        self.arrivals.append(Arrival(at_s, song, moment.name, late_s, pedals, by_hand, back=back, lead=lead))
        self._ready_s = go_s
        if moment.cue is not None and moment.cue.open:
            self._starts = None
        self._left, self._song, self._moment = None, song, state.moment

    def _get_ready(self, state: State) -> None:
        """The song's clock starts where it was jumped to: the pedals should be there by now."""
        self._ready_s = None
        if state.song is not None and state.song == self._song and state.moment == self._moment:
            piece = self._script.pieces[state.song]
            last = self.arrivals[-1]
            self.arrivals[-1] = last._replace(pedals=_pedals(piece, piece.moments[state.moment], state))

    def _fell_back(self, piece: Piece, to: int) -> bool:
        """Whether a step led back that is none of those an open cue is meant to take; also out of a changeover."""
        cue = piece.moments[self._moment].cue
        return to <= self._moment and not (cue is not None and cue.open and cue.back_to == piece.moments[to].name)

    def _late_s(self, at_s: float, due_s: float | None) -> float | None:
        if self._starts is None or due_s is None:
            return None
        started_s, place_s = self._starts
        return at_s - started_s - (due_s - place_s)


def _pedals(piece: Piece, moment: Moment, state: State) -> tuple[Pedal, ...]:
    """The controls whose place this very moment names."""
    named = piece.song.start.controls if moment.cue is None else moment.cue.controls
    if moment.cue is not None and moment.number == piece.first:
        named = {**piece.song.start.controls, **named}
    return tuple(
        Pedal(name, should, state.travels.get(name))
        for name, should in named.items()
        if name in piece.rig.controls and not piece.rig.controls[name].by_hand
    )


class Go(NamedTuple):
    """One take of a thing: how many of its places went clean, of how many."""

    clean: int
    total: int

    @property
    def all_clean(self) -> bool:
        """Whether every place went clean."""
        return self.clean == self.total


def go_of(places: Collection[tuple[str, ...]]) -> Go:
    """How places went, by what was wrong at each."""
    return Go(sum(not faults for faults in places), len(places))


def goes_of(reviews: Iterable[Review], song: str) -> list[Go]:
    """How a song's moments went in each take that has any, in the takes' order."""
    found = (review.moments_of(song) for review in reviews if review.played)
    return [go_of(places) for places in found if places]


class Spot(NamedTuple):
    """One place over takes, oldest first: a cue of a song, or the changeover from one song to another.

    `goes` has each time it was played, what was wrong then in few words, nothing where it was clean.
    """

    song: str
    cue: str | None
    before: str | None
    goes: tuple[tuple[str, ...], ...]

    @property
    def clean(self) -> int:
        """How many times it went clean."""
        return sum(not faults for faults in self.goes)

    @property
    def worst(self) -> float:
        """Share of the latest times that did not go clean."""
        latest = self.goes[-RECENT:]
        return sum(bool(faults) for faults in latest) / len(latest)

    @property
    def faults(self) -> tuple[tuple[str, int], ...]:
        """What went wrong and how often, the most frequent first."""
        return tuple(Counter(fault for faults in self.goes for fault in faults).most_common())


def spots(reviews: Iterable[Review]) -> tuple[Spot, ...]:
    """Every place that takes went through, what is to be practised next first; of equals the one played most."""
    found: dict[tuple[str, str | None, str | None], list[tuple[str, ...]]] = {}
    for one in (review for review in reviews if review.played):
        for arrival in one.judged:
            found.setdefault((arrival.song, arrival.cue, None), []).append(arrival.faults)
        for change in one.changes:
            found.setdefault((change.after, None, change.before), []).append(change.faults)
    rows = (Spot(*place, tuple(goes)) for place, goes in found.items())
    return tuple(sorted(rows, key=lambda spot: (-spot.worst, -len(spot.goes))))


def to_practise(found: Iterable[Spot]) -> tuple[Spot, ...]:
    """The few places that are to be practised next, the one that fails most first."""
    return tuple(spot for spot in found if spot.worst > 0)[:NEXT]
