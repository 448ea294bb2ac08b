"""The process of a rehearsal over real ports: its clock and its ports, away from the screen that shows it.

The interpreter of a process that paints holds messages up for 10 to 30 ms, which is more than a player hears between
two beats; here nothing paints.
"""

import gc
import json
import os
import queue
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

from showrunner.book.problems import BookError
from showrunner.book.read import read_book
from showrunner.live import pipes
from showrunner.live.faults import Faults
from showrunner.live.freeze import from_json, to_json
from showrunner.live.holding import HeldError, holding, rehearsal_on
from showrunner.live.picture import What
from showrunner.live.ports import PortError, System
from showrunner.live.process import SWITCH_S, take_priority
from showrunner.live.rehearsal_picture import RehearsalPicture, Watching
from showrunner.live.rehearsing import Rehearsal
from showrunner.live.room import Room, by_take, played
from showrunner.live.staging import Staged
from showrunner.model.visible import shown
from showrunner.planning.rehearsals import Plan, RehearsalError, Wanted, plan_of
from showrunner.state.events import Asked
from showrunner.takes.smf import TakeError, read_take
from showrunner.takes.take import Take

REPORTS_EVERY_S = 1 / 30


class Process:
    """Plays one rehearsal, tells the screen how it stands, and does what it asks for."""

    def __init__(self, orders: dict[str, Any], parent: int) -> None:
        self._orders = orders
        self._waiting: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()
        self._room: Room | None = None
        self._staged: Staged | None = None
        self._watching = Watching(led=orders["player"] is not None)
        self._looked_s, self._trouble, self._held = 0.0, "", ""
        self._newest: RehearsalPicture | None = None
        self._painted = threading.Event()
        self._up = pipes.own(parent, self._waiting.put)

    def run(self, system_of: Callable[[], System]) -> None:
        """Play to the end, or until the screen says so or is gone; why it can't be is told."""
        threading.Thread(target=self._report, daemon=True).start()
        try:
            self._play(system_of())
        except (BookError, RehearsalError, PortError, TakeError, HeldError, KeyError) as error:
            self._up.send({"failed": str(error)})
        except OSError as error:
            self._up.send({"failed": f"the take can't be written: {error.strerror or error}"})

    def _play(self, system: System) -> None:
        orders = self._orders
        wanted, player = from_json(Wanted, orders["wanted"]), orders["player"]
        root = Path(orders["root"])
        book = read_book(root).book
        plan = plan_of(book, wanted)
        with holding(rehearsal_on(plan.script.rig, wanted.title(book), root)) as hold:
            self._held = hold.trouble
            self._over_ports(plan, wanted, None if player is None else read_take(Path(player)), system)

    def _over_ports(self, plan: Plan, wanted: Wanted, take: Take | None, system: System) -> None:
        room = self._room = Room(plan.script, system, self._say)
        playing = plan if take is None else by_take(plan, take)
        staged = self._staged = Staged(playing, wanted, Path(self._orders["takes"]), room.send, self._watching.tell)
        self._up.send({"take": str(staged.path)})
        gc.collect()
        gc.freeze()
        try:
            room.run(staged.rehearsal, played(plan.script, take) if take is not None else (), self._each)
        finally:
            path = staged.close()
        self._up.send({"ended": str(path), "trouble": staged.trouble or self._trouble})

    def _say(self, trouble: str) -> None:
        self._trouble = trouble

    def _each(self) -> None:
        """Between two things that fall due: take what the screen asks for, and let it have a picture."""
        assert self._room is not None
        assert self._staged is not None
        while not self._waiting.empty():
            self._heard(self._room, self._waiting.get())
        if self._up.broken:
            self._room.do(Rehearsal.end)
        now_s = self._room.now_s
        if now_s - self._looked_s >= REPORTS_EVERY_S:
            self._looked_s = now_s
            self._staged.rehearsal.faults.write()
            self._newest = self._watching.look(self._staged.rehearsal, now_s, self._troubles(), time.time())
            self._painted.set()

    def _troubles(self) -> dict[str, str]:
        troubles = dict(self._room.troubles) if self._room is not None else {}
        troubles |= self._staged.troubles if self._staged is not None else {}
        troubles |= {"lock": self._held} if self._held else {}
        return troubles | ({"ports": self._trouble} if self._trouble else {})

    def _heard(self, room: Room, message: dict[str, Any]) -> None:
        match message:
            case {"ask": str(what)} if what in get_args(What):
                room.do(lambda rehearsal, at_s: rehearsal.ask(Asked(at_s, what)))  # type: ignore[arg-type]
            case {"again": True}:
                room.do(Rehearsal.again)
            case {"stop": True}:
                room.do(Rehearsal.end)

    def _report(self) -> None:
        """Send the newest picture; a thread of its own, since a pipe may be full."""
        faults = Faults()
        while self._painted.wait():
            self._painted.clear()
            with faults.written():
                self._up.send({"picture": to_json(self._newest)})


def main(arguments: list[str]) -> None:
    """`python -m showrunner.live.rehearsal_process ORDERS SCREEN`: play what the orders, JSON, say."""
    process = Process(json.loads(arguments[0]), int(arguments[-1]))
    take_priority()
    sys.setswitchinterval(SWITCH_S)
    process.run(_system)
    os._exit(0)  # the system closes the ports; closing one while it hears can crash its binding


def _system() -> System:
    from showrunner.live.binding import RtMidiSystem

    return RtMidiSystem()


if __name__ == "__main__":
    sys.stderr = shown(sys.stderr)
    main(sys.argv[1:])
