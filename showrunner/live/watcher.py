"""The watcher: keeps the engine alive, the run's log on disk, and screens at the end of a link."""

import os
import queue
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from showrunner.live import pipes, runclock
from showrunner.live.door import Door
from showrunner.live.faults import Faults
from showrunner.live.folder import ENDED, ERRORS, LINK, RUN, STATE, read_json, write_json
from showrunner.live.frames import FrameError, Frames, pack
from showrunner.live.holding import HeldError, show_of, take
from showrunner.live.looking import Looker, load
from showrunner.live.night import Night, read_night
from showrunner.live.orders import TOLD, is_order
from showrunner.live.runlog import RunLog, began_entry, kept_entries, stamp, trim_entry
from showrunner.live.saved import to_save
from showrunner.model.visible import shown
from showrunner.state.events import Trim

LOOKS_EVERY_S = 0.1
"""An engine that ends is seen at once."""
LETS_GO_S = 0.05
SAVES_EVERY_S = 2.0
OPENS_EVERY_S = 0.1
"""While there is no way in yet."""
RESTS_S = 0.5
"""Between two starts of an engine that ended at once."""
CLIENTS = 16
ORDER = 4096
"""Bytes of a frame past which it is no order of a screen."""


class Watcher:
    """One run's watcher; `engine` is the living one that started it because the one before had ended."""

    def __init__(self, folder: Path, night: Night, *, engine: int | None) -> None:
        self._folder, self._night = folder, night
        self._clock = runclock.go_on(folder, time.time(), Path(night.log))
        self._screens: set[Screen] = set()
        self._last: dict[str, Any] | None = None
        self._door: Door | None = None
        self._refused = ""
        self._unsaved, self._saving, self._faults = False, threading.Lock(), Faults()
        self._ended = threading.Event()
        self._saved_s = 0.0
        self._log = RunLog(Path(night.log), self._logged, lambda what: self._trouble("log", what))
        self._marked = _marked(Path(night.log))
        self._started_s, self._begins = 0.0, engine is None
        self._engine = self._start() if engine is None else pipes.own(engine, self._heard)

    def run(self) -> None:
        """Watch until the show is ended, or its engine was refused what it has to hold; that ends the process."""
        threading.Thread(target=load, args=(self._night,), name="load", daemon=True).start()
        threading.Thread(target=self._beat, name="beat", daemon=True).start()
        self._save()
        while not self._ended.is_set():
            self._engine.wait(LOOKS_EVERY_S)
            with self._faults.written():
                self._look()
        self._put({"kind": "ended", "at_s": round(self._clock(), 3)})
        self._log.close()
        for name in (STATE, RUN, LINK):  # without a link the run counts as over
            (self._folder / name).unlink(missing_ok=True)
        self._show({"ended": True})
        time.sleep(LETS_GO_S)

    def _look(self) -> None:
        """Start another engine where the one there was has ended or hangs, and save now and then."""
        if self._engine.dead and not self._ended.is_set():  # its last word comes before its end
            self._engine.kill()
            if self._refused:
                sys.exit(self._refused)
            if (self._folder / ENDED).exists():
                self._ended.set()
                return
            self._show({"gone": True})
            self._save()
            if time.perf_counter() - self._started_s < RESTS_S:
                time.sleep(RESTS_S)
            self._engine = self._start()
        every_s = OPENS_EVERY_S if self._door is None else SAVES_EVERY_S
        if time.perf_counter() - self._saved_s >= every_s:
            self._save()

    def _beat(self) -> None:
        """Say that the watcher is there; apart, since an engine that hangs may read nothing and hold up who writes."""
        while not self._ended.wait(pipes.BEAT_S):
            self._engine.send({"beat": True})

    def _start(self) -> pipes.Pipes:
        """Another engine, which is told where the show stood: what is on the disk may be older."""
        self._started_s = time.perf_counter()
        started = pipes.start("showrunner.live.process", [str(self._folder)], self._folder / ERRORS, self._heard)
        started.send({"resume": self._kept()})
        return started

    def _heard(self, message: dict[str, Any]) -> None:
        if "refused" in message and (message["same_run"] or self._last is None):
            self._refused = str(message["refused"])
        if "picture" in message:
            if self._begins:
                self._begins = False
                self._put({**self._began(), "at_s": round(self._clock(), 3)})
            self._last = message
            self._show(self._framed(message))
            engine, said = message["engine"], message["said"]
            for number, at_s, (kind, song, cue, say, trim) in said:
                if number > self._marked.get(engine, 0):
                    told = {"kind": kind, "song": song, "cue": cue, "say": say}
                    told |= trim_entry(Trim(*trim)) if trim is not None else {}
                    self._put({**told, "at_s": at_s, "engine": engine, "number": number}, (engine, number))
            if said:
                self._save()
        if "ended" in message:
            self._ended.set()

    def _began(self) -> dict[str, Any]:
        night = self._night
        return began_entry(night.show, night.rig, simulated=night.simulated, run=self._clock.name)

    def _framed(self, message: dict[str, Any]) -> dict[str, Any]:
        done = message.get("done", [])[-TOLD:]
        told = {"picture": message["picture"], "simulated": self._night.simulated, "done": done}
        return {**told, "zero_s": self._clock.zero_s}

    def _tell(self, screen: "Screen", looker: Looker) -> None:
        """Say to a screen without documents what to show now."""
        if self._last is not None:
            frozen, answers = self._last["picture"], self._engine.speaks
            told = looker.sight(frozen, self._clock(), answers=answers)
            screen.show(pack({"sight": told}))

    def _show(self, message: dict[str, Any]) -> None:
        frame = pack(message)
        for screen in list(self._screens):
            screen.show(frame)

    def _put(self, entry: dict[str, Any], mark: Any = None) -> None:
        self._log.put({**stamp(time.time()), **entry}, mark)

    def _logged(self, mark: Any) -> None:
        if mark is not None:
            engine, number = mark
            self._marked[engine] = number
            self._engine.send({"logged": number})
        self._trouble("log", None)

    def _kept(self) -> dict[str, Any] | None:
        """Where the show stood when the engine last told, as it is saved."""
        if self._last is None:
            return None
        return to_save(self._last["picture"], self._last.get("done", []), self._clock.boot)

    def _save(self) -> None:
        """Save that, and the way in where it is not there; what can't be is said until it can.

        There is a way in once an engine plays the run, so that no other does.
        """
        with self._saving:
            self._saved_s = time.perf_counter()
            kept = self._kept()
            if kept is None or self._ended.is_set():
                return
            failed = [error for error in (self._tried(self._keep, kept), self._tried(self._let_in)) if error]
            if failed:
                self._unsaved = True
                self._trouble("saving", f"where the show stands can't be saved: {failed[0].strerror or failed[0]}")
                return
            if self._unsaved:
                self._unsaved = False
                self._trouble("saving", None)

    def _tried(self, write: Callable[..., None], *of: Any) -> OSError | None:
        """What keeps a file from being written; where one can't be, the other still is."""
        try:
            write(*of)
        except OSError as error:
            return error
        return None

    def _keep(self, kept: Mapping[str, Any]) -> None:
        write_json(self._folder / STATE, kept)

    def _let_in(self) -> None:
        self._door = self._door or Door(self._folder, self._serve)
        if read_json(self._folder / LINK) != self._door.way:
            write_json(self._folder / LINK, self._door.way)

    def _trouble(self, name: str, what: str | None) -> None:
        """Let the engine show what can't be written, or no longer."""
        self._engine.send({"trouble": [name, what]})

    def _serve(self, link: socket.socket) -> None:
        if len(self._screens) >= CLIENTS:
            link.close()
            return
        screen = Screen(link)
        try:
            with self._faults.written(), suppress(OSError, FrameError):
                self._listen_to(link, screen)
        finally:
            self._screens.discard(screen)
            screen.close()

    def _listen_to(self, link: socket.socket, screen: "Screen") -> None:
        """Pass on what a screen asks for, until it is gone; FrameError for what is no order."""
        frames, looker = Frames(ORDER), Looker(self._night)
        self._screens.add(screen)
        gone = {} if self._engine.speaks else {"gone": True}
        screen.show(pack({**(self._framed(self._last) if self._last is not None else {}), **gone}))
        while data := link.recv(1 << 16):
            for message in frames.feed(data):
                with self._faults.written():
                    if "sight" in message:
                        self._tell(screen, looker)
                    elif is_order(message):
                        self._engine.send(message)


class Screen:
    """One connection: the newest frame is sent when the last one is gone, so that a slow screen holds nobody up."""

    def __init__(self, link: socket.socket) -> None:
        self._link = link
        self._frames: queue.Queue[bytes | None] = queue.Queue(maxsize=4)
        threading.Thread(target=self._send, daemon=True).start()

    def show(self, frame: bytes | None) -> None:
        """Send a frame soon; older ones give way where the screen does not keep up."""
        while True:
            try:
                self._frames.put_nowait(frame)
                return
            except queue.Full:
                with suppress(queue.Empty):
                    self._frames.get_nowait()

    def close(self) -> None:
        """Let go of the connection."""
        self.show(None)
        self._link.close()

    def _send(self) -> None:
        with suppress(OSError):
            while (frame := self._frames.get()) is not None:
                self._link.sendall(frame)


def _marked(log: Path) -> dict[int, int]:
    """The last notice of each engine that a log has; they are written in order."""
    marked: dict[int, int] = {}
    for entry in kept_entries(log):
        engine, number = entry.get("engine"), entry.get("number")
        if isinstance(engine, int) and isinstance(number, int):
            marked[engine] = max(number, marked.get(engine, 0))
    return marked


def main(arguments: list[str]) -> None:
    """`python -m showrunner.live.watcher FOLDER [--adopt ENGINE]`."""
    for name in ("SIGINT", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    if hasattr(os, "sched_setscheduler"):
        with suppress(OSError):
            os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))
    folder, engine = Path(arguments[0]), int(arguments[-1]) if "--adopt" in arguments else None
    night = read_night(folder)
    try:
        take(show_of(night, folder, "watcher"))
    except HeldError as error:
        if engine is None:  # one that plays already is not left alone
            sys.exit(str(error))
    Watcher(folder, night, engine=engine).run()


if __name__ == "__main__":
    sys.stderr = shown(sys.stderr)
    main(sys.argv[1:])
