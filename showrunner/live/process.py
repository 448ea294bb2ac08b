"""The engine's process: plays one run's show over real ports; started by the watcher, and starts one if it is gone."""

import gc
import os
import sys
import threading
import time
from collections import deque
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any, get_args

from showrunner.live import pipes
from showrunner.live.fake import FakeSystem
from showrunner.live.folder import ERRORS, PORTS, STATE, read_json, write_json
from showrunner.live.freeze import from_json, to_json
from showrunner.live.night import Night, read_night
from showrunner.live.orders import KEPT
from showrunner.live.picture import What
from showrunner.live.player import Player
from showrunner.live.ports import System
from showrunner.state.events import Withhold
from showrunner.state.values import State

LOOKS_EVERY_S = 0.1
REPORTS_EVERY_S = 1 / 30
SWITCH_S = 0.0005
"""How long a thread of ours may keep the interpreter from the one that hears."""
PRIORITY = 20
RESTARTED_FOR_S = 10.0
GUARDS_FOR_S = 1.0
REFUSED = "where the show stood can't be read; it begins at its first song"
SERVER_GONE = 3
"""Exit code: the sound server ended; a new process can reach the next one."""


class Process:
    """Threads around a player: `main` keeps its time, others look at ports, report and take orders."""

    def __init__(self, folder: Path, watcher: int, system: System, player: Player, done: Iterable[str] = ()) -> None:
        self._folder, self._system, self._player = folder, system, player
        self._ended = threading.Event()
        self._ordering, self._done = threading.Lock(), deque(done, maxlen=KEPT)
        self._sent_to: pipes.Pipes | None = None
        self._last = dict(player.patch.last)
        self._up = pipes.own(watcher, self._heard)

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
            self._player.look()
            self._player.compile_ahead()
            if self._player.health == "restarted" and time.perf_counter() - restarted_s > RESTARTED_FOR_S:
                self._player.health = "playing"
            last = dict(self._player.patch.last)
            if self._last != last:
                with suppress(OSError):
                    write_json(self._folder / PORTS, last)
                    self._last = last

    def _reports(self) -> None:
        shown: Any = None
        sent_s, number = 0.0, 0
        while True:
            woken = self._player.changed.wait(REPORTS_EVERY_S)
            self._player.changed.clear()
            up = self._up
            with self._ordering:
                picture, done = self._player.picture(time.time()), list(self._done)
            if up is not self._sent_to:
                self._sent_to, number, shown = up, 0, None
            said = [of for of in self._player.unwritten() if of.number > number]
            now_s = time.perf_counter()
            if woken or said or picture.state is not shown or now_s - sent_s >= pipes.BEAT_S:
                told = {"picture": to_json(picture), "said": to_json(said), "engine": os.getpid(), "done": done}
                if up.send(told):
                    shown, sent_s = picture.state, now_s
                    number = said[-1].number if said else number
                if woken:
                    time.sleep(REPORTS_EVERY_S)

    def _guard(self) -> None:
        while not self._ended.wait(LOOKS_EVERY_S):
            if self._up.dead:
                self._up.kill()
                arguments = [str(self._folder), "--adopt"]
                with suppress(OSError):
                    self._up = pipes.start("showrunner.live.watcher", arguments, self._folder / ERRORS, self._heard)

    def _heard(self, message: dict[str, Any]) -> None:
        """An order that was done before is not done again; one and its name are in the same picture or in none."""
        name = message.get("id")
        if not isinstance(name, str):
            self._order(message)
            return
        with self._ordering:
            if name not in self._done:
                self._order(message)
                self._done.append(name)

    def _order(self, message: dict[str, Any]) -> None:
        match message:
            case {"ask": str(what)} if what in get_args(What):
                self._player.ask(what)
            case {"jump": [str(song), int(moment)]}:
                self._player.jump(song, moment)
            case {"move": [str(control), int(raw)]}:
                self._player.move(control, raw)
            case {"trim": [str(name), int(value) | float(value)]}:
                self._player.trim(name, value)
            case {"withhold": str(control)}:
                self._player.do(Withhold(self._player.clock(), control))
            case {"logged": int(number)}:
                self._player.written(number)
                self._player.patch.troubles.pop("log", None)
            case {"trouble": str(what)}:
                self._player.patch.troubles["log"] = what
            case {"end": True}:
                self._ended.set()


def main(arguments: list[str]) -> None:
    """`python -m showrunner.live.process FOLDER WATCHER`: play the run in a folder, from its last state if any."""
    folder = Path(arguments[0])
    realtime = take_priority()
    sys.setswitchinterval(SWITCH_S)
    night = read_night(folder)
    script = night.script()
    saved, refused = _saved(folder)
    state, began_s, done = saved if saved is not None else (None, None, ())
    system = _system(night)
    player = Player(
        script, system, time.perf_counter, state=state, began_s=began_s, last=read_json(folder / PORTS) or {}
    )
    if refused:
        player.say("nothing", REFUSED)
    player.realtime = realtime
    process = Process(folder, int(arguments[-1]), system, player, done)
    gc.collect()
    gc.freeze()
    gc.disable()
    process.run()


def _saved(folder: Path) -> tuple[tuple[State, float | None, Iterable[str]] | None, bool]:
    """The last state with when the show began and the orders done, and whether what is there can't be read.

    That is set aside, so that it is refused but once.
    """
    saved = read_json(folder / STATE)
    if saved is None:
        return None, False
    try:
        return (from_json(State, saved["state"]), saved["began_s"], saved.get("done", ())), False
    except (ValueError, KeyError):
        (folder / STATE).replace(folder / f"{STATE}.refused")
        return None, True


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
    main(sys.argv[1:])
