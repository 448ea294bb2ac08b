"""A show played over a system of ports: the engine, its patch, and what was said, in one process."""

import math
import threading
from collections import deque
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import replace
from typing import Literal, NamedTuple

from showrunner.live.engine import Engine
from showrunner.live.patching import Last, Patch
from showrunner.live.picture import Health, Picture
from showrunner.live.ports import PortError, System
from showrunner.model.rig import Rig
from showrunner.state import trimming
from showrunner.state.events import Asked, Event, Jump, Moved, Notice, Trimmed
from showrunner.state.machine import open_show
from showrunner.state.script import Script
from showrunner.state.values import State, Trims

SAID = 20
"""Notices that a picture carries."""
UNWRITTEN = 4096
"""Notices kept for the log while nothing takes them."""


class Said(NamedTuple):
    """One notice, with its number in this engine's life and when it was."""

    number: int
    at_s: float
    notice: Notice


class Player:
    """Plays a script over a system; without a `state` to resume, the show is opened at its first song."""

    def __init__(
        self,
        script: Script,
        system: System,
        clock: Callable[[], float],
        *,
        state: State | None = None,
        began_s: float | None = None,
        began_unix_s: float | None = None,
        last: Last | None = None,
    ) -> None:
        self.script, self.system, self.clock = script, system, clock
        self.began_s, self._began_unix_s = began_s, began_unix_s
        self.changed = threading.Event()
        self.health: Health = "playing" if state is None else "restarted"
        self.realtime = False
        self._said: deque[Said] = deque(maxlen=SAID)
        self._unwritten: deque[Said] = deque(maxlen=UNWRITTEN)
        self._count = 0
        self._compiled: tuple[tuple[str, ...], Trims] = ((), ())
        started = resumed(state, script.rig, clock()) if state is not None else State(order=script.order)
        hears: dict[str, Callable[[bytes], object]] = {}
        self.patch = Patch(system, script.rig, lambda port: hears[port], last)
        self.engine = Engine(script, started, self.patch.sends, clock, self._tell)
        hears.update((port, self.engine.hears(port)) for port in script.rig.ports)
        self.compile_ahead()
        self.look()
        for lost in self.patch.losses(self.engine.state.missing, clock()):
            self.engine.do(lost)
        if state is None:
            self._open_show()
        if state is not None:
            self._tell(clock(), [Notice("restarted", self.engine.state.song)])

    def _open_show(self) -> None:
        """Open the show at its first song; where that can't be, it waits to be taken elsewhere, and says so."""
        try:
            opened = open_show(self.script, self.clock(), self.engine.state.missing)
        except Exception as error:
            self.fault(error)
            return
        self.engine.open(*opened)

    def look(self) -> None:
        """See which ports came and went, and bring up those that refused a message.

        A system that does not answer is trouble, and is asked again the next time.
        """
        now_s = self.clock()
        for port, side in self.engine.state.missing - self.patch.missing:
            self.patch.drop(port, side, now_s)
        try:
            events = self.patch.look(now_s)
        except PortError as error:
            self.patch.troubles["ports"] = error.what
            return
        self.patch.troubles.pop("ports", None)
        for event in events:
            self.engine.do(event)

    def compile_ahead(self) -> None:
        """Make the tables of the song that is up and of the one after, with the trims there are; drop all others."""
        state = self.engine.state
        shown = (state.choice.songs[state.choice.shown],) if state.choice is not None else ()
        wanted = (*state.order[state.place : state.place + 2], *shown)
        if (wanted, state.trims) != self._compiled:
            for slug in wanted:
                with suppress(Exception):  # whoever needs a table says why it can't be made
                    self.script.compile(slug, state.trims)
            self._compiled = wanted, state.trims
            self.script.forget(tuple({*wanted, *state.order[max(0, state.place - 1) : state.place]}), state.trims)

    def ask(self, what: str) -> None:
        """Take a step."""
        self.engine.do(Asked(self.clock(), what))  # type: ignore[arg-type]

    def jump(self, song: str, moment: int) -> None:
        """Play from a moment of a song."""
        self.engine.do(Jump(self.clock(), song, moment))

    def move(self, control: str, raw: int) -> None:
        """Move a control as if it had been heard."""
        self.engine.do(Moved(self.clock(), control, raw))

    def trim(self, name: str, value: float) -> None:
        """Put one of tonight's trims somewhere else; what it changes is worked out before anything waits for it."""
        state = self.engine.state
        if state.song is not None and trimming.unit_of(self.script.rig, name) is not None and math.isfinite(value):
            with suppress(Exception):  # the fold says what is wrong
                self.script.compile(state.song, trimming.moved_to(self.script, state.trims, name, value))
        self.engine.do(Trimmed(self.clock(), name, value))

    def do(self, event: Event) -> None:
        """Play any event."""
        self.engine.do(event)

    def picture(self, unix_s: float = 0.0) -> Picture:
        """How the show stands now."""
        state, now_s = self.engine.look(), self.clock()
        if self.began_s is not None and self._began_unix_s is None:
            self._began_unix_s = unix_s - (now_s - self.began_s)
        return Picture(
            at_s=now_s,
            state=state,
            began_s=self.began_s,
            notices=tuple((said.at_s, said.notice) for said in list(self._said)),
            engine=self.health,
            answers=self.engine.answers.at(now_s),
            loops=self.engine.loops.ports,
            plugged=self.patch.names,
            troubles=dict(self.patch.troubles),
            realtime=self.realtime,
            unix_s=unix_s,
            began_unix_s=self._began_unix_s,
        )

    def say(self, kind: Literal["nothing"], what: str) -> None:
        """Show and log something that the machine does not know of."""
        self._tell(self.clock(), [Notice(kind, self.engine.state.song, None, what)])

    def fault(self, error: Exception) -> None:
        """Say that something was refused because of an error in the program, and keep the error for the log."""
        say = self.engine.faults.add(error)
        if say is not None:
            self.say("nothing", say)

    def unwritten(self) -> list[Said]:
        """Notices that the log is not known to have, oldest first."""
        return list(self._unwritten)

    def written(self, number: int) -> None:
        """The log has every notice up to this one."""
        while self._unwritten and self._unwritten[0].number <= number:
            self._unwritten.popleft()

    def _tell(self, at_s: float, notices: Iterable[Notice]) -> None:
        for notice in notices:
            self._count += 1
            said = Said(self._count, at_s, notice)
            self._said.append(said)
            self._unwritten.append(said)
            if self.began_s is None and notice.kind == "song":
                self.began_s = at_s
        self.changed.set()


def resumed(state: State, rig: Rig, at_s: float) -> State:
    """The state to go on from after the engine ended: nothing under way, nothing known of what pedals set.

    Nobody knows how long a program that was settling has had, so that it gets its whole time again; one that was still
    to be sent goes out now.
    """
    followed = {
        name for name, aim in state.aims.items() if aim.control is not None and aim.how not in ("fixed", "stands")
    }
    known = {name: number for name, number in state.known.items() if name not in followed}
    aims = {name: aim._replace(how="follows") if aim.how == "glides" else aim for name, aim in state.aims.items()}
    rested = {name: silence for name, silence in state.silences.items() if silence.from_travel is None}
    return replace(
        state,
        withheld={},
        known=known,
        aims=aims,
        silences=rested,
        presses={},
        halves={},
        settling={port: at_s + rig.ports[port].settle_ms / 1000 for port in state.settling},
        brings_s=None if state.brings_s is None else at_s,
        choice=None,
        stepped_s=None,
    )
