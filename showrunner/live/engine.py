"""The engine: a script played over open ports; nothing on its message path waits for disk, screen or log."""

import threading
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import replace

from showrunner.live.ports import Hears, PortError
from showrunner.live.roads import Road, Sends
from showrunner.state.events import Event, Heard, Moved, Notice, PortLost, Tick
from showrunner.state.lanes import absorb, lanes
from showrunner.state.machine import run, wakes_at
from showrunner.state.script import Script
from showrunner.state.values import State

LOOK_AGAIN_S = 0.005
"""How soon a road that was taken down is looked at again, and how often a strip under a finger is."""
IDLE_S = 0.05

Roads = dict[int, dict[int, Road]]
"""Roads of one port by status byte, then controller number."""


class Engine:
    """Plays: `hears(port)` is each input's callback, `do` takes every other event, `beat` keeps time.

    `sends` has one function for each output of the rig; one that raises PortError loses its port. `tell` gets
    notices as they happen; it must not block.
    """

    def __init__(
        self,
        script: Script,
        state: State,
        sends: Sends,
        clock: Callable[[], float],
        tell: Callable[[Iterable[Notice]], object],
    ) -> None:
        self.script, self.state = script, state
        self._sends, self._clock, self._tell = sends, clock, tell
        self._lock = threading.Lock()
        self._roads: dict[str, Roads] = {port: {} for port in script.rig.ports}
        self._built: dict[str, Road] = {}
        self._retired: list[tuple[Road, float]] = []
        self._broken: deque[str] = deque()
        self._wake = threading.Event()
        with self._lock:
            self._build()

    def hears(self, port: str) -> Hears:
        """The callback for whole messages on an input port."""
        roads, clock, slow = self._roads[port], self._clock, self._slow

        def hear(message: bytes) -> None:
            try:
                status, cc, value = message
                road = roads[status][cc]
                sends, road.here = road.here[value]
                for send, data in sends:
                    send(data)
            except (ValueError, KeyError):
                slow(port, bytes(message))
                return
            except PortError as error:
                self._failed(error)
            road.raw = value
            road.at_s = clock()
            road.touched = True

        return hear

    def do(self, event: Event) -> None:
        """Fold any event but a message from a port."""
        with self._lock:
            self._fold(event)

    def beat(self) -> float:
        """Do what has fallen due; seconds until it should be called again, sooner where `woken` says so."""
        with self._lock:
            now_s = self._clock()
            self._take_in(now_s)
            while self._broken:
                self._fold(PortLost(now_s, self._broken.popleft()))
            due_s = wakes_at(self.script, self.state)
            if due_s is not None and due_s <= now_s:
                self._fold(Tick(now_s))
                due_s = wakes_at(self.script, self.state)
            soon = bool(self._retired) or any(
                road.touched or self.script.rig.controls[name].on_release is not None
                for name, road in self._built.items()
            )
            wait_s = LOOK_AGAIN_S if soon else IDLE_S
            return wait_s if due_s is None else max(0.0, min(wait_s, due_s - now_s))

    def woken(self, wait_s: float) -> None:
        """Wait until something may have fallen due earlier than `beat` said, or the time is over."""
        self._wake.wait(wait_s)
        self._wake.clear()

    def look(self) -> State:
        """The state as it is now, with what went over the fast road."""
        with self._lock:
            self._take_in(self._clock())
            return self.state

    def _slow(self, port: str, message: bytes) -> None:
        with self._lock:
            self._fold(Heard(self._clock(), port, message))

    def _fold(self, event: Event) -> None:
        """Fold one event and the ticks due before it, send, and lay the roads anew; the lock is held."""
        self._take_in(event.at_s)
        for _, state, out in run(self.script, self.state, [event]):
            self.state = state
            for port, message in out.sends:
                try:
                    self._sends[port](message)
                except PortError as error:
                    self._failed(error)
            if out.shows:
                self._tell(out.shows)
        self._build()
        self._wake.set()

    def _take_in(self, now_s: float) -> None:
        """Bring the state up to what went over roads, those taken down meanwhile included."""
        for road in self._built.values():
            if road.touched:
                self.state = absorb(self.script, self.state, road.take(), road.at_s)
        strays = [road for road, _ in self._retired if road.touched]
        self._retired = [(road, until_s) for road, until_s in self._retired if now_s < until_s]
        for road in strays:
            lane = road.take()
            targets = () if lane.table is None else lane.table.targets
            known = {name: number for name, number in self.state.known.items() if name not in targets}
            self.state = replace(self.state, known=known)
            self._fold(Moved(now_s, lane.control, lane.raw))

    def _build(self) -> None:
        """Lay a road for each control that can take one; those that stay as they were are kept."""
        built: dict[str, Road] = {}
        for name, lane in lanes(self.script, self.state).items():
            old = self._built.get(name)
            built[name] = old if old is not None and old.same(lane) else Road(lane, self._sends)
        gone = [road for name, road in self._built.items() if built.get(name) is not road]
        if not gone and len(built) == len(self._built):
            return
        for roads in self._roads.values():
            roads.clear()
        self._built = built
        self._retired += [(road, self._clock() + LOOK_AGAIN_S) for road in gone]
        for name, road in built.items():
            control = self.script.rig.controls[name]
            if control.port is not None and control.channel is not None and control.cc is not None:
                by_status = self._roads[control.port].setdefault(0xB0 | control.channel - 1, {})
                by_status[control.cc] = road

    def _failed(self, error: PortError) -> None:
        """A port that can't be sent to is lost; the next beat folds that, since the caller may hold the lock."""
        self._broken.append(error.port)
        self._wake.set()
