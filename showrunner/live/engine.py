"""The engine: a script played over open ports; nothing on its message path waits for disk, screen or log."""

import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from showrunner.curves.tables import CurveTable, Send
from showrunner.live.answers import Answers
from showrunner.live.faults import Faults
from showrunner.live.loops import Loops
from showrunner.live.ports import Hears
from showrunner.live.roads import Around, CallError, Calls, Road, Sends, Steps, spread
from showrunner.live.uptime import slept_s
from showrunner.model.midi import lsb_of
from showrunner.state.events import Event, Heard, Moved, Notice, Out, PortFound, PortLost, Tick
from showrunner.state.lanes import Lane, absorb, lanes
from showrunner.state.machine import run, stilled, wakes_at
from showrunner.state.script import Script
from showrunner.state.values import State

LOOK_AGAIN_S = 0.005
"""How soon a road that was taken down, or that something went over, is looked at again."""
IDLE_S = 0.25
"""The longest that nothing is looked at; a strip that may go back by itself is looked at within its own time."""
SLEPT_S = 0.5
"""From here on it counts that the machine has slept."""
STEPS_KEPT = 16
"""Tables whose messages are kept worked out."""
ASKS_AFTER = ("changeover", "song", "cue", "program")
"""Notices after which a host that answers is asked whether it is there."""

Roads = list[Road | None]
"""Roads of one port by controller number; where two channels use the same, the second's control has none."""
CONTROLLERS = 128


class Engine:
    """Plays: `hears(port)` is each input's callback, `do` takes every other event, `beat` keeps time.

    `sends` has one function for each output of the rig; one that raises loses its port. `tell` gets notices with
    their time as they happen; it must not block. `slept` says how long the machine has slept, s. An error while
    something is folded refuses that, whatever it is: the show stands as before, says so, and `faults` has the
    traceback.
    """

    def __init__(
        self,
        script: Script,
        state: State,
        sends: Sends,
        clock: Callable[[], float],
        tell: Callable[[float, Iterable[Notice]], object],
        slept: Callable[[], float] = slept_s,
    ) -> None:
        self.script, self.state = script, state
        self._sends, self._clock, self._tell = sends, clock, tell
        self._slept, self._slept_s = slept, slept()
        self._lock = threading.Lock()
        self._roads: dict[str, Roads] = {port: [None] * CONTROLLERS for port in script.rig.ports}
        self._built: dict[str, Road] = {}
        self._steps: dict[tuple[str, CurveTable | None], Steps] = {}
        self._stamps: dict[str, float] = {}
        self._retired: list[tuple[Road, float]] = []
        self._broken: deque[str] = deque()
        self._wake = threading.Event()
        self.loops, self.answers, self.faults = Loops(), Answers(script.rig), Faults(clock)
        self._own = {
            (0xB0 | target.channel - 1, cc)
            for target in script.rig.targets.values()
            for cc in (target.cc, lsb_of(target.cc) if target.bits == 14 else None)
        }
        with self._safely():
            self._build()

    def hears(self, port: str) -> Hears:
        """The callback for whole messages on an input port, bytes or a list of numbers."""
        roads, slow, failed = self._roads[port], self._slow, self._failed

        def hear(message: bytes) -> None:
            try:
                status, cc, value = message
                road: Any = roads[cc]
                call, given, row = road.row[value]
                if status != road.status:
                    raise LookupError
            except (ValueError, LookupError, AttributeError, TypeError):  # no road, or a step not worked out yet
                if self._fills(roads, message):
                    hear(message)
                else:
                    slow(port, bytes(message))
                return
            try:
                for data in given:
                    call(data)
            except Exception as error:
                failed(error.call if isinstance(error, CallError) else call)
            road.row = row

        return hear

    def open(self, state: State, out: Out) -> None:
        """Go on from a state, sending what opening the show gave."""
        with self._safely():
            self.state = state
            self._emit(out, self._clock())
            self._build()
            self._wake.set()

    def do(self, event: Event) -> None:
        """Fold any event but a message from a port."""
        with self._safely():
            self._fold(event)

    def beat(self) -> float:
        """Do what has fallen due; seconds until it should be called again, sooner where `woken` says so."""
        with self._safely():
            return self._beat()
        with self._lock:  # what falls due would fail again and again
            self.state = stilled(self.state)
            self._take_down()
            return LOOK_AGAIN_S

    def _beat(self) -> float:
        now_s = self._clock()
        self._take_in(now_s)
        while self._broken:
            self._fold(PortLost(now_s, self._broken.popleft(), "output"))
        due_s = wakes_at(self.script, self.state)
        if due_s is not None and due_s <= now_s:
            self._fold(Tick(now_s))
            due_s = wakes_at(self.script, self.state)
        soon = bool(self._retired) or any(road.touched for road in self._built.values())
        cold = next((steps for steps in self._steps.values() if steps.warm()), None)
        releases = (self.script.rig.controls[name].on_release for name in self._built)
        idle_s = min((release.after_ms / 1000 for release in releases if release is not None), default=IDLE_S)
        wait_s = LOOK_AGAIN_S if soon or cold is not None else max(LOOK_AGAIN_S, min(IDLE_S, idle_s))
        return wait_s if due_s is None else max(0.0, min(wait_s, due_s - now_s))

    def woken(self, wait_s: float) -> None:
        """Wait until something may have fallen due earlier than `beat` said, or the time is over."""
        self._wake.wait(wait_s)
        self._wake.clear()

    def look(self) -> State:
        """The state as it is now, with what went over the fast road."""
        with self._safely():
            self._take_in(self._clock())
        return self.state

    @contextmanager
    def _safely(self) -> Iterator[None]:
        """The lock held; an error is a fault and goes no further."""
        with self._lock:
            try:
                yield
            except Exception as error:
                self._fault(error)

    def _fault(self, error: Exception) -> None:
        """Say that something was refused because of an error; what sends, shows or writes it does not wait."""
        say = self.faults.add(error)
        if say is not None:
            self._tell(self._clock(), [Notice("nothing", self.state.song, None, say)])

    def _slow(self, port: str, message: bytes) -> None:
        with self._safely():
            now_s = self._clock()
            if self.answers.heard(port, message):
                return
            if self._looped(port, message):
                return
            self._fold(Heard(now_s, port, message))

    def _fold(self, event: Event) -> None:
        """Fold one event and the ticks due before it, send, and lay the roads anew; the lock is held."""
        self._take_in(event.at_s)
        if isinstance(event, PortLost | PortFound):
            self._forget_steps(())
        for happened, state, out in run(self.script, self.state, [event], lambda _event, error: self._fault(error)):
            self.state = state
            self._emit(out, happened.at_s)
        self._build()
        self._wake.set()

    def _emit(self, out: Out, at_s: float) -> None:
        asks = [Send(*ask) for ask in self.answers.asks(at_s)] if _stepped(out) else []
        for port, message in (*out.sends, *asks):
            send = self._sends[port]
            try:
                send(message)
            except Exception:
                self._failed(send)
                continue
            self.loops.sent(message, at_s)
            self.answers.sent(port)
        if out.shows:
            self._tell(at_s, out.shows)

    def _take_in(self, now_s: float) -> None:
        """Bring the state up to what went over roads, those taken down meanwhile included.

        What was under way on a road as it was taken down is older than what the control's next road took.
        """
        self._wake_up()
        newer: dict[str, int] = {}
        for name, road in self._built.items():
            stamp_s = self._stamps.pop(name, None)
            if road.touched or stamp_s is not None:
                lane = road.take()
                self.state = absorb(self.script, self.state, lane, now_s if stamp_s is None else stamp_s)
                newer[name] = lane.raw
        strays = [road for road, _ in self._retired if road.touched]
        self._retired = [(road, until_s) for road, until_s in self._retired if now_s < until_s]
        for road in strays:
            lane = road.take()
            targets = () if lane.table is None else lane.table.targets
            known = {name: number for name, number in self.state.known.items() if name not in targets}
            self.state = replace(self.state, known=known)
            self._fold(Moved(now_s, lane.control, newer.get(lane.control, lane.raw)))

    def _wake_up(self) -> None:
        """Where the machine has slept since, nobody knows how long a switch was held: what was held is let go."""
        slept = self._slept()
        if slept - self._slept_s > SLEPT_S:
            raws = {name: raw for name, raw in self.state.raws.items() if name not in self.state.presses}
            self.state = replace(self.state, presses={}, raws=raws)
            self._slept_s = slept

    def _build(self) -> None:
        """Lay a road for each control that can take one; those that stay as they were are kept."""
        try:
            self._lay()
        except Exception as error:  # no road may lead by the state as it was before
            self._fault(error)
            self._take_down()

    def _take_down(self) -> None:
        """No road: every message is folded."""
        for roads in self._roads.values():
            roads[:] = [None] * CONTROLLERS
        self._built = {}
        self._stamps.clear()

    def _lay(self) -> None:
        built: dict[str, Road] = {}
        for name, lane in lanes(self.script, self.state).items():
            old = self._built.get(name)
            built[name] = old if old is not None and old.same(lane) else self._road(lane)
        gone = [road for name, road in self._built.items() if built.get(name) is not road]
        if not gone and len(built) == len(self._built):
            return
        for roads in self._roads.values():
            roads[:] = [None] * CONTROLLERS
        self._built = built
        self._retired += [(road, self._clock() + LOOK_AGAIN_S) for road in gone]
        for name, road in built.items():
            control = self.script.rig.controls[name]
            if control.port is not None and control.cc is not None and self._roads[control.port][control.cc] is None:
                self._roads[control.port][control.cc] = road

    def _road(self, lane: Lane) -> Road:
        return Road(lane, self._steps_of(lane), 0xB0 | (self.script.rig.controls[lane.control].channel or 1) - 1)

    def _steps_of(self, lane: Lane) -> Steps:
        key = lane.control, lane.table
        old = self._steps.get(key)
        if old is not None and old.full:
            self._steps.pop(key).drop()
        if key not in self._steps:
            if len(self._steps) >= STEPS_KEPT:
                self._forget_steps(road.lane for road in self._built.values())
            self._steps[key] = Steps(lane.table, self._sends, self._around(lane.control))
        return self._steps[key]

    def _forget_steps(self, but: Iterable[Lane]) -> None:
        """Drop what was worked out for tables no longer in use, or bound to a port as it was."""
        used = {(lane.control, lane.table) for lane in but}
        for key in [key for key in self._steps if key not in used]:
            self._steps.pop(key).drop()

    def _around(self, name: str) -> Around | None:
        """What a road does besides sending: the time for a strip, the look-out for loops where it could hear itself."""
        control = self.script.rig.controls[name]
        status, cc, port = 0xB0 | (control.channel or 1) - 1, control.cc or 0, control.port or ""
        timed, could_loop = control.on_release is not None, (status, cc) in self._own
        if not timed and not could_loop:
            return None

        def stamp(control: str) -> None:
            self._stamps[control] = self._clock()

        def around(raw: int, calls: Calls) -> Calls:
            if could_loop:
                guarded = calls, port, bytes((status, cc, raw))
                calls = self._guard, (guarded,)
            return (spread, ((stamp, (name,)), calls)) if timed else calls

        return around

    def _guard(self, guarded: tuple[Calls, str, bytes]) -> None:
        """Make the calls of a message that could be our own come back, unless it is."""
        calls, port, message = guarded
        if self._looped(port, message):
            return
        now_s = self._clock()
        for call, given in calls[1] if calls[0] is spread else (calls,):
            for data in given:
                try:
                    call(data)
                except Exception:
                    self._failed(call)
                self.loops.sent(data, now_s)

    def _looped(self, port: str, message: bytes) -> bool:
        now_s, stopped = self._clock(), len(self.loops.stopped)
        looped = self.loops.heard(port, message, now_s)
        if len(self.loops.stopped) > stopped:
            self._tell(now_s, [Notice("loop", self.state.song, None, port)])
        return looped

    def _fills(self, roads: Roads, message: bytes) -> bool:
        """Whether a message takes a road after all, now that its step is worked out."""
        try:
            road = roads[message[1]] if len(message) == 3 and message[1] < CONTROLLERS else None
            return road is not None and road.status == message[0] and road.fill(message[2])
        except Exception as error:
            self._fault(error)
            return False

    def _failed(self, send: Callable[[Any], object]) -> None:
        """An output that can't be sent to is lost; the next beat folds that, since the caller may hold the lock."""
        self._broken.extend(port for port, mine in self._sends.items() if mine == send)
        self._wake.set()


def _stepped(out: Out) -> bool:
    return any(notice.kind in ASKS_AFTER for notice in out.shows)
