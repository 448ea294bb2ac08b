"""A rehearsal as it is played: the clock's dues, what is heard, and the show's machine, in step with each other."""

from collections import deque
from collections.abc import Callable, Iterable
from math import inf
from typing import NamedTuple

from showrunner.live.faults import Faults
from showrunner.planning.practice import Reviewer
from showrunner.planning.rehearsals import Plan
from showrunner.state.events import Asked, Event, Heard, Jump, Notice, PortFound, PortLost, Tick
from showrunner.state.hands import to_set
from showrunner.state.machine import open_show, run, wakes_at
from showrunner.state.rehearsal import Due, anew, answer, led_from_s, places_s, stretch_of
from showrunner.takes.recorder import Recorder
from showrunner.takes.take import BY_CLOCK, TakeAsk, TakeCue, TakeEvent, TakePort, TempoMark

CLOCK, START, STOP = b"\xf8", b"\xfa", b"\xfc"
"""Timing clock, start and stop (MIDI 1.0 Detailed Specification, p. 30; start and stop from memory)."""
ARRIVES = ("changeover", "song", "cue")
"""Notices of a moment that came up."""


class Told(NamedTuple):
    """Something that happened: a notice of the machine, or a thing the clock brought.

    `by_hand` is what hands have to set, control and state, where a moment came up.
    """

    at_s: float
    what: Notice | Due
    by_hand: tuple[tuple[str, str], ...] = ()


class Rehearsal:
    """Plays a plan; all times are seconds from its start and must not go back.

    `send` gets the rig's name of a port and a message. With `by_foot` the clock asks for no step but jumps. `clock_to`
    names the port that gets timing clocks and start and stop. `reviewer` judges what is played as it goes. What can't
    be folded is refused and told; `faults` has the traceback.
    """

    def __init__(
        self,
        plan: Plan,
        send: Callable[[str, bytes], object],
        tell: Callable[[Told], object],
        *,
        recorder: Recorder | None = None,
        by_foot: bool = False,
        clock_to: str | None = None,
    ) -> None:
        self.script, self.part, self.times = plan.script, plan.part, plan.times
        self._send, self._tell, self._recorder = send, tell, recorder
        self._by_foot, self._clock_to, self._runs = by_foot, clock_to, False
        self._folded_s = 0.0
        self._tempo: TempoMark | None = None
        self._goes: dict[float, float | None] = {}
        self._jumped: Jump | None = None
        self.faults = Faults()
        self.reviewer = Reviewer(plan.script, self._goes, plan.pauses_s)
        self.round, self._starts_s, self._over = 0, 0.0, False
        self._ended = False
        self.dues: deque[Due] = deque()
        self.state, out = open_show(plan.script, 0.0)
        self.reviewer.feed(0.0, self.state, out)
        self._mark(0.0, next((due for due in self.part.dues if due.what in ("count", "beat")), None))
        self._answered(0.0, out.sends, out.shows)
        self._start(0.0)

    @property
    def next_s(self) -> float | None:
        """When something falls due, None when it is over."""
        if self._over:
            return None
        due_s = self.dues[0].at_s if self.dues else self._round_ends_s
        wakes_s = wakes_at(self.script, self.state)
        return due_s if wakes_s is None else min(due_s, max(wakes_s, self._folded_s))

    @property
    def _round_ends_s(self) -> float:
        return self._starts_s + self.part.ends_s

    @property
    def ends_s(self) -> float:
        """When it is over, with all the times through that are left; infinite where it goes round and round."""
        left = inf if self.times is None else self.times - self.round + 1
        return self._starts_s + left * self.part.ends_s

    def place_s(self, at_s: float) -> float | None:
        """Where the song is on its own clock, s from its first beat; None where none is under way."""
        clock, jump = self.state.clock, self._jumped
        if self.state.phase != "song" or clock is None:
            return None
        if jump is None or jump.at_s != clock.began_s:
            return clock.elapsed_s(at_s)
        go_s, piece = self._goes[jump.at_s], self.script.pieces[jump.song]
        if go_s is None:
            return led_from_s(piece) + at_s - jump.at_s
        if at_s < go_s:
            return None
        since_s = max(0.0, clock.elapsed_s(at_s) - (go_s - clock.began_s))
        return places_s(piece)[jump.moment] + since_s

    def until(self, at_s: float) -> None:
        """Everything that falls due up to a time."""
        while (due_s := self.next_s) is not None and due_s <= at_s:
            if not self.dues and self._round_ends_s <= due_s:
                self._over = self.times is not None and self.round >= self.times
                if not self._over:
                    self._start(self._round_ends_s)
            elif self.dues and self.dues[0].at_s <= due_s:
                self._bring(self.dues.popleft())
            else:
                self._fold(Tick(due_s))
        if self._recorder is not None:
            self._recorder.keep(at_s)

    def again(self, at_s: float) -> None:
        """Go back to the start of this time through, now."""
        if self._ended or not self.part.dues:
            return
        self._run(False, at_s)
        self.round, self._over = self.round - 1, False
        self.part = anew(self.part)
        self._start(max(at_s, self._folded_s))

    def heard(self, at_s: float, port: str, message: bytes) -> None:
        """A message came in."""
        at_s = self._stamp(at_s)
        if self._recorder is not None:
            self._recorder.event(TakeEvent(at_s, port, "in", message))
        self._fold(Heard(at_s, port, message))

    def ported(self, event: PortLost | PortFound) -> None:
        """A port went or came."""
        event = event._replace(at_s=self._stamp(event.at_s))
        if self._recorder is not None:
            self._recorder.port(TakePort(event.at_s, event.port, isinstance(event, PortFound), event.side))
        self._fold(event)

    def ask(self, event: Asked | Jump, by: str = "") -> None:
        """A step asked for by other means than a message: a key or a take, or where `by` says so the clock."""
        event = event._replace(at_s=self._stamp(event.at_s))
        if self._recorder is not None:
            name = f"jump {self._place(event.song, event.moment)}" if isinstance(event, Jump) else f"{event.what}{by}"
            self._recorder.ask(TakeAsk(event.at_s, name))
        if isinstance(event, Jump):
            self._goes[event.at_s], self._jumped = self._goes_s(event), event
        self._fold(event)

    def end(self, at_s: float) -> None:
        """Stop here, for good."""
        if self._ended:
            return
        self._ended = True
        at_s = self._stamp(at_s)
        self.dues.clear()
        self._over = True
        self._fold(Tick(at_s))
        self._run(False, at_s)
        if self._recorder is not None:
            self._recorder.ask(TakeAsk(at_s, "end"))

    def _bring(self, due: Due) -> None:
        if due.what == "pulse":
            self._clocked(due.at_s, CLOCK)
        if due.what == "start":
            self._run(True, due.at_s)
        if due.what in ("round", "end", "stop"):
            self._run(False, due.at_s)
        if due.what in ("pulse", "start", "stop"):
            return
        if due.what in ("count", "beat"):
            self._mark(due.at_s, due)
        self._tell(Told(due.at_s, due))
        if due.what == "go" and self._recorder is not None:
            self._recorder.ask(TakeAsk(self._stamp(due.at_s), f"go {self._place(due.song, due.moment)}"))
        if self._by_foot and due.what != "jump":
            return
        event = answer(self.state, due, self.script.pieces[due.song])
        if event is not None:
            self.ask(event, BY_CLOCK)

    def _start(self, at_s: float) -> None:
        """The next time through starts at a time."""
        self.round, self._starts_s = self.round + 1, at_s
        self.dues = deque(due._replace(at_s=at_s + due.at_s) for due in self.part.dues)
        if self.times != 1 and self.dues:
            self.dues.appendleft(self.dues[0]._replace(at_s=at_s, what="round", bar=self.round))

    def _goes_s(self, jump: Jump) -> float | None:
        """When the song's clock is started after a jump; None where it is but led up to."""
        then = next((due for due in self.dues if due.what in ("go", "jump", "end")), None)
        return then.at_s if then is not None and then[1:4] == ("go", *jump[1:]) else None

    def _place(self, song: str, moment: int) -> str:
        return f"{song} / {self.script.pieces[song].moments[moment].name}"

    def _fold(self, event: Event) -> None:
        for folded, state, out in run(self.script, self.state, [event], self._refuse):
            self.state, self._folded_s = state, folded.at_s
            try:
                self.reviewer.feed(folded.at_s, state, out)
            except Exception as error:
                self._refuse(folded, error)
            self._answered(folded.at_s, out.sends, out.shows)

    def _refuse(self, event: Event, error: Exception) -> None:
        """An event that can't be folded changes nothing, and that is told."""
        say = self.faults.add(error)
        if say is not None:
            self._tell(Told(event.at_s, Notice("nothing", self.state.song, None, say)))

    def _answered(self, at_s: float, sends: Iterable[tuple[str, bytes]], shows: Iterable[Notice]) -> None:
        for port, message in sends:
            self._send(port, message)
            if self._recorder is not None:
                self._recorder.event(TakeEvent(at_s, port, "out", message))
        for notice in shows:
            self._tell(Told(at_s, notice, self._by_hand() if notice.kind in ARRIVES else ()))
            if self._recorder is not None and notice.kind in ("song", "cue") and notice.song and notice.cue:
                self._recorder.cue(TakeCue(at_s, notice.song, notice.cue))

    def _by_hand(self) -> tuple[tuple[str, str], ...]:
        if self.state.song is None or self.state.ready:
            return ()
        left = to_set(self.state.hands, self.script.pieces[self.state.song], self.state.moment)
        return tuple((name, to) for (_, name), to in left.items())

    def _stamp(self, at_s: float) -> float:
        """The time that the machine is told: whole ticks of the take, after all that has been folded."""
        at_s = max(at_s, self._folded_s)
        if self._recorder is None:
            return at_s
        while (stamped_s := self._recorder.stamp(at_s)) < self._folded_s:
            pass
        return stamped_s

    def _mark(self, at_s: float, due: Due | None) -> None:
        """The tempo and meter of a beat go to the take where they change."""
        if due is None or self._recorder is None:
            return
        stretch = stretch_of(self.script.pieces[due.song], due)
        if stretch is not None:
            mark = TempoMark(0.0, round(60_000_000 / stretch.tempo_bpm), stretch.meter)
            if self._tempo != mark:
                self._tempo = mark
                self._recorder.tempo(mark._replace(at_s=at_s))

    def _run(self, on: bool, at_s: float) -> None:
        if on != self._runs:
            self._clocked(at_s, START if on else STOP)
        self._runs = on

    def _clocked(self, at_s: float, message: bytes) -> None:
        """Send a message of the clock, which the machine knows nothing of."""
        if self._clock_to is not None:
            self._send(self._clock_to, message)
            if self._recorder is not None:
                self._recorder.event(TakeEvent(max(at_s, self._folded_s), self._clock_to, "out", message))
