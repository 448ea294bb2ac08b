"""The way from a screen to a rehearsal in a process of its own, over a pair of pipes."""

import json
import time
from pathlib import Path
from typing import Any

from showrunner.live import pipes
from showrunner.live.freeze import from_json, to_json
from showrunner.live.picture import Picture, What
from showrunner.live.rehearsal_picture import Ended, RehearsalPicture
from showrunner.places import state_folder
from showrunner.planning.rehearsals import Plan, Wanted
from showrunner.state.values import State

MODULE, ERRORS = "showrunner.live.rehearsal_process", "rehearsal.log"


class RemoteRehearsal:
    """A rehearsal over the rig's own ports; it ends by itself, and keeps its take, when its screen is gone."""

    simulated = False

    def __init__(self, root: Path, plan: Plan, wanted: Wanted, takes: Path, player: Path | None = None) -> None:
        self.script, self.led = plan.script, player is not None
        self.ended: Ended | None = None
        state = State(order=plan.script.order)
        self._picture = RehearsalPicture(Picture(0.0, state), 1, plan.times, None, None, None, None, None)
        self._heard_s, self._began = time.perf_counter(), False
        self._take: Path | None = None
        orders = {
            "root": str(root.resolve()),
            "wanted": to_json(wanted),
            "takes": str(takes.resolve()),
            "player": None if player is None else str(player.resolve()),
        }
        folder = state_folder()
        folder.mkdir(parents=True, exist_ok=True)
        self._pipes = pipes.start(MODULE, [json.dumps(orders)], folder / ERRORS, self._heard)

    @property
    def pid(self) -> int:
        """The id of its process."""
        return self._pipes.pid

    def picture(self) -> RehearsalPicture:
        """The newest picture, its time moved on to now; never waits."""
        newest, since_s = self._picture, time.perf_counter() - self._heard_s
        if self.ended is None and self._pipes.dead:
            self._pipes.kill()
            self.ended = Ended(self._take, "the rehearsal's process ended before its time")
        if not self._began or self.ended is not None:
            return newest
        return newest._replace(picture=newest.picture._replace(at_s=newest.picture.at_s + since_s))

    def ask(self, what: What) -> None:
        """Ask for a step."""
        self._send({"ask": what})

    def move(self, control: str, raw: int) -> None:
        """Nothing: the rig's own controls move."""

    def again(self) -> None:
        """Ask to go back to the start of this time through."""
        self._send({"again": True})

    def stop(self) -> None:
        """Ask to end it and keep its take."""
        self._send({"stop": True})

    def close(self) -> None:
        """Nothing of its process is left."""
        self._pipes.kill()

    def _send(self, message: dict[str, Any]) -> None:
        if self.ended is None:
            self._pipes.send(message)

    def _heard(self, message: dict[str, Any]) -> None:
        match message:
            case {"picture": picture}:
                self._picture = from_json(RehearsalPicture, picture)
                self._heard_s, self._began = time.perf_counter(), True
            case {"take": str(take)}:
                self._take = Path(take)
            case {"ended": str(take)}:
                self.ended = Ended(Path(take), str(message.get("trouble", "")))
            case {"failed": str(what)}:
                self.ended = Ended(None, what)
