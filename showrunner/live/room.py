"""How a rehearsal is run: as fast as it goes, or in its own time over real or no ports."""

import queue
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping

from showrunner.live.patching import Patch
from showrunner.live.ports import Hears, PortError, System
from showrunner.live.rehearsing import Rehearsal
from showrunner.planning.rehearsals import Plan
from showrunner.state.events import Asked, Event, Heard, Jump, PortFound, PortLost
from showrunner.state.rehearsal import Due, Part
from showrunner.state.script import Script
from showrunner.takes.replaying import asked
from showrunner.takes.take import Take, TakeAsk

LOOKS_EVERY_S = 0.25
WAITS_S = 0.02
"""The longest that playing waits at once, so that takes are kept and ports are looked at."""

NEAR_S = 0.002
"""So close before something is due nothing else is begun."""

Played = tuple[float, Heard | Asked | Jump]
"""A second, and what a player did then."""


def run_fast(rehearsal: Rehearsal) -> None:
    """As fast as it goes."""
    while (next_s := rehearsal.next_s) is not None:
        rehearsal.until(next_s)
    rehearsal.end(rehearsal.ends_s)


def run_take(rehearsal: Rehearsal, take: Take) -> None:
    """With a take as the player, as fast as it goes."""
    for at_s, step in played(rehearsal.script, take):
        play_step(rehearsal, at_s, step)
    rehearsal.end(rehearsal.ends_s)


def by_take(plan: Plan, take: Take) -> Plan:
    """The plan with a take as the player: the clock asks for nothing, and it is over when the take is.

    All that is due is where the song's clock was started after a jump.
    """
    went = (_gone(plan.script, ask) for ask in take.asks)
    return plan._replace(part=Part(tuple(due for due in went if due is not None), take.ends_s), times=1)


def _gone(script: Script, ask: TakeAsk) -> Due | None:
    jump = asked(script, ask._replace(what=f"jump {ask.what.removeprefix('go ')}"))
    return (
        Due(ask.at_s, "go", jump.song, jump.moment) if ask.what.startswith("go ") and isinstance(jump, Jump) else None
    )


def played(script: Script, take: Take) -> list[Played]:
    """What a take's player did, in order."""
    return sorted(_played(script, take), key=lambda row: row[0])


def play_step(rehearsal: Rehearsal, at_s: float, step: Heard | Asked | Jump) -> None:
    """One thing that a player did, with all that falls due before it."""
    rehearsal.until(at_s)
    if isinstance(step, Heard):
        rehearsal.heard(*step)
    else:
        rehearsal.ask(step)


def _played(script: Script, take: Take) -> Iterator[Played]:
    for event in take.events:
        if event.direction == "in":
            yield event.at_s, Heard(event.at_s, event.port, event.data)
    for ask in take.asks:
        step: Event | None = asked(script, ask)
        if isinstance(step, Asked | Jump):
            yield ask.at_s, step


class Room:
    """A rehearsal in its own time, over ports as they come and go.

    `say` gets a sentence about trouble with them.
    """

    def __init__(self, script: Script, system: System | None, say: Callable[[str], object] = print) -> None:
        self._waiting: queue.SimpleQueue[tuple[float, Callable[[Rehearsal, float], object]]] = queue.SimpleQueue()
        self._system = system
        self._patch = None if system is None else Patch(system, script.rig, self._hears)
        self._broken: list[PortLost] = []
        self._say, self._said = say, False
        if self._patch is not None:
            self._patch.look(time.perf_counter())
        self._began_s = time.perf_counter()

    def send(self, port: str, message: bytes) -> None:
        """Send to a port of the rig; one that is not there is told when it is looked at.

        A send into a sound server that has ended may never return, so nothing is sent then.
        """
        if self._patch is None or self._system is None:
            return
        if not self._system.alive():
            return
        try:
            self._patch.sends[port](message)
        except PortError:
            self._patch.drop(port, "output", time.perf_counter())
            self._broken.append(PortLost(0.0, port, "output"))

    @property
    def now_s(self) -> float:
        """Seconds since it began."""
        return time.perf_counter() - self._began_s

    def do(self, what: Callable[[Rehearsal, float], object]) -> None:
        """Have something done with the rehearsal at the second it is now; from any thread, never waits."""
        self._waiting.put((time.perf_counter(), what))

    def run(
        self, rehearsal: Rehearsal, player: Iterable[Played] = (), each: Callable[[], object] = lambda: None
    ) -> bool:
        """Play to the end; False where it was broken off by Ctrl-C.

        `player` is what a take's player did; `each` is called many times a second, but not right before a due.
        """
        self._broken += self._patch.losses((), 0.0) if self._patch is not None else ()
        steps, looked_s, whole = deque(player), 0.0, True
        try:
            while (next_s := rehearsal.next_s) is not None:
                while steps and steps[0][0] <= self.now_s:
                    play_step(rehearsal, *steps.popleft())
                rehearsal.until(self.now_s)
                while self._broken:
                    rehearsal.ported(self._broken.pop(0)._replace(at_s=self.now_s))
                if self._patch is not None and self.now_s - looked_s >= LOOKS_EVERY_S:
                    looked_s = self.now_s
                    for event in self._look(self._patch):
                        rehearsal.ported(event._replace(at_s=self.now_s))
                next_s = min(next_s, steps[0][0]) if steps else next_s
                if next_s - self.now_s > NEAR_S:
                    each()
                self._take_in(rehearsal, max(0.0, min(next_s - self.now_s, WAITS_S)))
        except KeyboardInterrupt:
            whole = False
        rehearsal.end(self.now_s)
        return whole

    @property
    def troubles(self) -> Mapping[str, str]:
        """Why a port of the rig can't be opened, by its name."""
        return dict(self._patch.troubles) if self._patch is not None else {}

    def close(self) -> None:
        """Let go of the ports."""
        if self._patch is not None:
            self._patch.close()

    def _look(self, patch: Patch) -> list[PortLost | PortFound]:
        """Which ports came and went; a system that stops answering is said once, and playing goes on."""
        try:
            return patch.look(time.perf_counter())
        except PortError as error:
            if not self._said:
                self._said = True
                self._say(f"{error}; playing goes on without it")
            return []

    def _take_in(self, rehearsal: Rehearsal, wait_s: float) -> None:
        try:
            at_s, what = self._waiting.get(timeout=wait_s) if wait_s > 0 else self._waiting.get_nowait()
        except queue.Empty:
            return
        what(rehearsal, at_s - self._began_s)

    def _hears(self, port: str) -> Hears:
        def hear(message: bytes) -> None:
            data = bytes(message)
            self.do(lambda rehearsal, at_s: rehearsal.heard(at_s, port, data))

        return hear
