"""The engine's process: plays one run's show over real ports; started by the watcher, and starts one if it is gone."""

import gc
import os
import queue
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any

from showrunner.live import pipes, runclock
from showrunner.live.fake import FakeSystem
from showrunner.live.faults import Faults
from showrunner.live.folder import ENDED, ERRORS, PORTS, read_json, write_json
from showrunner.live.freeze import to_json
from showrunner.live.holding import HeldError, Hold, Holder, show_of, take
from showrunner.live.night import Night, read_night
from showrunner.live.orders import KEPT, is_order
from showrunner.live.player import Player
from showrunner.live.ports import System
from showrunner.live.saved import where_it_stood
from showrunner.model.visible import shown
from showrunner.state.events import Withhold
from showrunner.state.values import State

LOOKS_EVERY_S = 0.25
REPORTS_EVERY_S = 1 / 30
"""While anything moves; a show that has stood still for `STILL_AFTER_S` is looked at every `STILL_EVERY_S`."""
STILL_AFTER_S, STILL_EVERY_S = 1.0, 0.1
SWITCH_S = 0.0005
"""How long a thread of ours may keep the interpreter from the one that hears."""
PRIORITY = 20
RESTARTED_FOR_S = 10.0
HOLDS_AGAIN_S = 2.0
GUARDS_FOR_S = 1.0
FREED_WITHIN_S = 2.0
"""How long what an engine of the same run had may stay locked after that was killed."""
SERVER_GONE = 3
"""Exit code: the sound server ended; a new process can reach the next one."""


class Process:
    """Threads around a player: `main` keeps its time, others look at ports, report and take orders."""

    def __init__(self, folder: Path, up: pipes.Pipes, system: System, player: Player, done: Iterable[str] = ()) -> None:
        self._folder, self._system, self._player = folder, system, player
        self._ended = threading.Event()
        self._ordering, self._done = threading.Lock(), deque(done, maxlen=KEPT)
        self._sent_to: pipes.Pipes | None = None
        self._number, self._name = 0, int.from_bytes(os.urandom(6), "big")  # an id comes again, after a restart soon
        self._last = dict(player.patch.last)
        self._faults, self._up = Faults(), up

    def run(self) -> None:
        """Play until the show is ended."""
        works = (self._guard, self._ports, self._reports)
        threads = [threading.Thread(target=work, name=work.__name__, daemon=True) for work in works]
        for thread in threads:
            thread.start()
        engine = self._player.engine
        while not self._ended.is_set():
            engine.woken(engine.beat())
        threads[0].join(GUARDS_FOR_S)  # a watcher that is being started is told as well
        self._up.send({"ended": True})
        os._exit(0)  # the system closes the ports; closing one while it hears can crash its binding

    def _ports(self) -> None:
        restarted_s = time.perf_counter()
        while not self._ended.wait(LOOKS_EVERY_S):
            if not self._system.alive():
                os._exit(SERVER_GONE)
            with self._faults.written():
                self._player.look()
                self._player.compile_ahead()
            self._player.engine.faults.write()
            if time.perf_counter() - restarted_s > RESTARTED_FOR_S:
                self._player.patch.troubles.pop("place", None)
                if self._player.health == "restarted":
                    self._player.health = "playing"
            last = dict(self._player.patch.last)
            if self._last != last:
                with suppress(OSError):
                    write_json(self._folder / PORTS, last)
                    self._last = last

    def _reports(self) -> None:
        while True:
            with self._faults.written():
                self._report()
            self._up.send({"beat": True})  # the show plays, though nobody can be told how it stands

    def _report(self) -> None:
        """Send a picture whenever there is something new in it, and now and then without."""
        shown: State | None = None
        sent_s = moved_s = 0.0
        while True:
            still = time.perf_counter() - moved_s > STILL_AFTER_S
            woken = self._player.changed.wait(STILL_EVERY_S if still else REPORTS_EVERY_S)
            self._player.changed.clear()
            up = self._up
            with self._ordering:
                picture, done = self._player.picture(time.time()), list(self._done)
            if up is not self._sent_to:
                self._sent_to, self._number, shown = up, 0, None
            said = [of for of in self._player.unwritten() if of.number > self._number]
            now_s = time.perf_counter()
            moved_s = now_s if woken or picture.state is not shown else moved_s
            if woken or said or picture.state is not shown or now_s - sent_s >= pipes.BEAT_S:
                told = {"picture": to_json(picture), "said": to_json(said), "engine": self._name, "done": done}
                if up.send(told):
                    shown, sent_s = picture.state, now_s
                    self._number = said[-1].number if said else self._number
                if woken:
                    time.sleep(REPORTS_EVERY_S)

    def _guard(self) -> None:
        while not self._ended.wait(LOOKS_EVERY_S):
            if self._up.dead:
                self._up.kill()
                arguments = [str(self._folder), "--adopt"]
                with suppress(OSError):
                    self._up = pipes.start("showrunner.live.watcher", arguments, self._folder / ERRORS, self.heard)

    def heard(self, message: dict[str, Any]) -> None:
        """Take in what the watcher says, or an order that it passes on.

        An order that was done before is not done again; one and its name are in the same picture or in none.
        """
        if not is_order(message):
            self._told(message)
            return
        name = message.get("id")
        with self._ordering:
            if name is None or name not in self._done:
                self._done.extend(() if name is None else (name,))
                try:
                    self._order(message)
                except Exception as error:
                    self._player.fault(error)

    def _order(self, message: dict[str, Any]) -> None:
        match message:
            case {"ask": what}:
                self._player.ask(what)
            case {"jump": [song, moment]}:
                self._player.jump(song, moment)
            case {"move": [control, raw]}:
                self._player.move(control, raw)
            case {"trim": [name, value]}:
                self._player.trim(name, value)
            case {"withhold": control}:
                self._player.do(Withhold(self._player.clock(), control))
            case {"end": _}:
                self._ended.set()

    def _told(self, message: dict[str, Any]) -> None:
        """What the log has of the notices, and what can't be written."""
        match message:
            case {"logged": int(number)}:
                self._player.written(number)
            case {"trouble": [str(name), str(what)]}:
                self._player.patch.troubles[name] = what
            case {"trouble": [str(name), None]}:
                self._player.patch.troubles.pop(name, None)


class Up:
    """What the watcher says: the first of it is the state to go on from, all else waits until somebody hears it."""

    def __init__(self, watcher: int) -> None:
        self._first: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()
        self._hears: Callable[[dict[str, Any]], object] | None = None
        self._playing = threading.Event()
        self.pipes = pipes.own(watcher, self._heard)

    def handed(self) -> dict[str, Any] | None:
        """The state that the watcher kept, None where it has none."""
        with suppress(queue.Empty):
            kept = self._first.get(timeout=pipes.DEAD_AFTER_S).get("resume")
            return kept if isinstance(kept, dict) else None
        return None

    def hear(self, hears: Callable[[dict[str, Any]], object]) -> None:
        """From now on give on what comes."""
        self._hears = hears
        self._playing.set()

    def _heard(self, message: dict[str, Any]) -> None:
        if "resume" in message:
            self._first.put(message)
            return
        self._playing.wait()
        assert self._hears is not None
        self._hears(message)


def main(arguments: list[str]) -> None:
    """`python -m showrunner.live.process FOLDER WATCHER`: play the run in a folder, from its last state if any."""
    folder = Path(arguments[0])
    realtime = take_priority()
    sys.setswitchinterval(SWITCH_S)
    night = read_night(folder)
    up = Up(int(arguments[-1]))
    hold = _held(folder, night, up.pipes)
    script, clock = night.script(), runclock.go_on(folder, time.time(), Path(night.log))
    saved, refused = where_it_stood(folder, script, clock, Path(night.log), up.handed())
    player = Player(
        script,
        _system(night),
        clock,
        state=None if saved is None else saved.state,
        began_s=None if saved is None else saved.began_s,
        began_unix_s=None if saved is None else saved.began_unix_s,
        last=read_json(folder / PORTS) or {},
    )
    if refused:
        player.say("nothing", refused)
        player.patch.troubles["place"] = refused
    if hold.trouble:
        player.patch.troubles["lock"] = hold.trouble
        threading.Thread(target=_hold_again, args=(player, show_of(night, folder, "engine")), daemon=True).start()
    player.realtime = realtime
    process = Process(folder, up.pipes, player.system, player, () if saved is None else saved.done)
    up.hear(process.heard)
    gc.collect()
    gc.freeze()
    gc.disable()
    process.run()


def _held(folder: Path, night: Night, up: pipes.Pipes) -> Hold:
    """The run and its ports, for as long as this process lives; it ends at once where it can't have them."""
    try:
        hold = take(show_of(night, folder, "engine"), patience_s=FREED_WITHIN_S)
    except HeldError as error:
        up.send({"refused": str(error), "same_run": error.same_run})
        sys.exit(str(error))
    if (folder / ENDED).exists():
        sys.exit("the run was ended")
    return hold


def _hold_again(player: Player, wants: Holder) -> None:
    """Hold what could not be kept as soon as the state folder can be written again."""
    while "lock" in player.patch.troubles:
        time.sleep(HOLDS_AGAIN_S)
        try:
            trouble = take(wants).trouble
        except HeldError as error:
            trouble = str(error)
        if trouble:
            player.patch.troubles["lock"] = trouble
        else:
            player.patch.troubles.pop("lock", None)


def take_priority() -> bool:
    """Ask for real-time priority; whether the system granted it."""
    if not hasattr(os, "sched_setscheduler"):
        return False
    try:
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(PRIORITY))
    except OSError:
        return False
    return True


def _system(night: Night) -> System:
    if night.simulated:
        return FakeSystem.simulated(night.book.rigs[night.rig])
    from showrunner.live.binding import RtMidiSystem

    return RtMidiSystem()


if __name__ == "__main__":
    sys.stderr = shown(sys.stderr)
    main(sys.argv[1:])
