"""A show whose machine is treated badly by time: clocks set, sleep, restarts, and the ends of summer time. Linux, cc.

`python tests/stress/clocks.py [--rounds N] [--deeds N] [--seed N]`. Each round plays the demo show without hardware in
a zone and a night of its own, in which the clock may be put forward or back. Between steps the time of day is set by
seconds, hours or years, the machine sleeps, its processes are killed, or all of it is started again. After each deed
place, order, trims, the run's time, the lateness and the finish must be what they were, plus the time that went by;
each run's log, and the lengths read from it, must say the same. Exit 1 at the first that does not.
"""

import argparse
import datetime
import os
import random
import re
import shutil
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from interposed import Clocks, under_the_shim

from showrunner.book.read import read_book
from showrunner.live.folder import run_folder
from showrunner.live.holding import of_run
from showrunner.live.launch import BrokeOffError, attach, end
from showrunner.live.night import night_of
from showrunner.live.nightclock import minutes_of
from showrunner.live.runlog import entries
from showrunner.live.runs import read_run
from showrunner.live.under_way import plan_tonight
from showrunner.places import demo_book
from showrunner.planning.night import Line
from showrunner.planning.night import night_of as night_by
from showrunner.state.events import Asked, Event, Trimmed
from showrunner.state.machine import fold, open_show
from showrunner.state.values import State

HOUR_S, YEAR_S = 3600.0, 365 * 86400.0
SETS_S = (HOUR_S, -HOUR_S, YEAR_S, -YEAR_S, 45.0, -45.0, 2 * HOUR_S)
BERLIN, SYDNEY = "CET-1CEST,M3.5.0,M10.5.0/3", "AEST-10AEDT,M10.1.0,M4.1.0/3"
NIGHTS = (
    (BERLIN, datetime.date(2026, 10, 24)),
    (SYDNEY, datetime.date(2027, 4, 3)),
    (BERLIN, datetime.date(2026, 3, 28)),
    ("<+1030>-10:30<+11>-11,M10.1.0,M4.1.0", datetime.date(2026, 10, 3)),
    ("<-04>4<-03>,M9.1.6/24,M4.1.6/24", datetime.date(2027, 4, 3)),
    ("UTC0", datetime.date(2026, 11, 28)),
)
"""Zones (POSIX.1, 8.3) and nights in which summer time ends or begins, and one in which nothing does."""
SHOW, RIG = "pellmarsh-hall", "full"
PLACES = ("changeover", "song", "cue", "over")
NEAR_S = 3.0
"""So far a busy machine may be behind."""
SAVED_WITHIN_S = 2.6


class FallenError(Exception):
    """What is not as it must be."""


class Stands(NamedTuple):
    """Where a show stands, as far as it is compared."""

    order: tuple[str, ...]
    place: int
    moment: int
    phase: str
    trims: tuple[tuple[str, float], ...]
    choosing: bool


def stands(state: State) -> Stands:
    """The part of a state that is compared."""
    return Stands(state.order, state.place, state.moment, state.phase, state.trims, state.choice is not None)


def until(true: Callable[[], bool], what: Callable[[], str], within_s: float = 30.0) -> None:
    """Wait for something; FallenError where it does not come."""
    began_s = time.perf_counter()
    while not true():
        if time.perf_counter() - began_s > within_s:
            raise FallenError(f"waited in vain for {what()}")
        time.sleep(0.02)


class Evening:
    """One show, what it must be by the machine's own fold, and the time that has gone by since it was begun."""

    def __init__(self, folder: Path, number: int, dice: random.Random, done: Counter[str]) -> None:
        self._dice, self._done, self._clocks = dice, done, Clocks()
        self.zone, self.date = NIGHTS[number % len(NIGHTS)]
        os.environ["TZ"] = self.zone
        time.tzset()
        self._clocks.set_to(datetime.datetime.combine(self.date, datetime.time(22, 30)))
        self._root = folder / f"book{number}"
        shutil.copytree(demo_book(), self._root, ignore=shutil.ignore_patterns(".*", "runs"))
        show = self._root / f"shows/{SHOW}.toml"
        show.write_text(re.sub(r"(?m)^date = .*$", f"date = {self.date}", show.read_text()))
        self._log = self._root / f"runs/{SHOW}/{self.date}.jsonl"
        self._night = night_of(read_book(self._root).book, SHOW, RIG, log=str(self._log), simulated=True)
        self._script, self._plan = self._night.script(), plan_tonight(self._root, self._night)
        self._folder = run_folder(self._root, SHOW)
        self._set_s, self._began, self.deed = 0.0, (0.0, 0.0), ""
        self._lines = [Line(0.0, "changeover", self._script.order[0], "start")]
        self._state, _ = open_show(self._script, 0.0)
        self._since_s = 0.0
        self._show = attach(self._folder, self._night)
        self._since_s = self._show.picture().at_s - self._gone_s()
        self._asleep_s = 0.0

    def _gone_s(self) -> float:
        """Seconds that have gone by: by a clock that nobody moves, and what the machine slept or was off."""
        return time.perf_counter() + getattr(self, "_asleep_s", 0.0)

    @property
    def at_s(self) -> float:
        """What the run's clock must show."""
        return self._since_s + self._gone_s()

    def play(self, deeds: int) -> None:
        """Step, and treat the machine badly, so often; then end it and read its log."""
        ways = (self._step, self._step, self._other_song, self._trim, self._set, self._put_right, self._sleep)
        ways += (self._held_asleep, self._pressed_after_sleep, self._kill, self._restart)
        self._ask("next")
        for _ in range(deeds):
            way = self._dice.choice(ways)
            self.deed += f" {way.__name__.strip('_')}"
            way()
            self._done[way.__name__.strip("_").replace("_", " ")] += 1
            self._look(way.__name__)
        self._end()

    def _do(self, event: Event) -> None:
        """What an event must lead to."""
        self._state, out = fold(self._script, self._state, event)
        for notice in out.shows:
            if notice.kind in PLACES:
                self._lines.append(Line(self.at_s, notice.kind, notice.song, notice.cue))
            if notice.kind == "song" and not self._began[0]:
                self._began = self.at_s, time.time()

    def _ask(self, what: Any) -> None:
        lost = self._lost()
        self._show.ask(what)
        self._do(Asked(self.at_s, what))
        wanted = stands(self._state)
        until(
            lambda: stands(self._show.picture().state) == wanted or lost != self._lost(),
            lambda: f"{wanted}, it is {stands(self._show.picture().state)}",
        )
        if lost != self._lost():  # a screen says so where watcher or engine were away for too long
            self._show.ask(what)
        self._await()

    def _lost(self) -> int:
        """How many keys this screen has said to be dropped."""
        return sum(notice.say.startswith("that key was not taken") for _, notice in self._show.picture().notices)

    def _await(self) -> None:
        wanted = stands(self._state)
        until(
            lambda: stands(self._show.picture().state) == wanted,
            lambda: f"{wanted}, it is {stands(self._show.picture().state)}",
        )

    def _step(self) -> None:
        self._ask(self._dice.choice(["next", "next", "next", "back"]) if self._state.phase != "over" else "back")

    def _other_song(self) -> None:
        self._ask("choose")
        if self._state.choice is not None:
            self._ask("take")

    def _trim(self) -> None:
        value = self._dice.choice([-3.0, -1.5, 0.0, 2.0])
        self._show.trim("interface volume", value)
        self._do(Trimmed(self.at_s, "interface volume", value))
        self._await()

    def _set(self) -> None:
        by_s = self._dice.choice(SETS_S)
        self._set_s += by_s
        self._clocks.set(by_s)

    def _put_right(self) -> None:
        self._clocks.set(-self._set_s)
        self._set_s = 0.0

    def _sleep(self, for_s: float | None = None) -> None:
        slept_s = self._dice.uniform(5, 900) if for_s is None else for_s
        self._clocks.sleep(slept_s)
        self._asleep_s += slept_s

    def _held_asleep(self) -> None:
        """A switch goes down, the machine sleeps, and nobody knows how long it was held."""
        switch = self._script.rig.steps.next if self._script.rig.steps is not None else ""
        self._sleep(3.0)  # past the guard of the step before
        time.sleep(0.1)
        self._show.move(switch, 0)
        began_s = time.perf_counter()
        self._show.move(switch, 127)
        until(lambda: self._is_down(switch), lambda: "the switch to be down")
        self._sleep(self._dice.uniform(5, 600))
        in_time = not self._late(began_s)
        time.sleep(0.3)
        self._show.move(switch, 0)
        time.sleep(0.3)
        if in_time:
            self._await()
        else:  # this machine was too slow for it: it was held
            until(lambda: self._show.picture().state.choice is None, lambda: "the choice to end")

    def _is_down(self, switch: str) -> bool:
        state = self._show.picture().state
        return switch in state.presses or state.choice is not None

    def _late(self, began_s: float) -> bool:
        hold_ms = self._script.rig.steps.hold_ms if self._script.rig.steps is not None else 0
        return time.perf_counter() - began_s > hold_ms / 2000

    def _pressed_after_sleep(self) -> None:
        """The guard of a step is over when the machine has slept for longer."""
        if self._state.phase == "over":
            return
        self._ask("next")
        switch = self._script.rig.steps.next if self._script.rig.steps is not None else ""
        self._sleep(3.0)
        time.sleep(0.1)
        for value in (0, 127):
            self._show.move(switch, value)
        time.sleep(0.1)
        self._show.move(switch, 0)
        self._do(Asked(self.at_s, "next"))
        self._await()

    def _kill(self, parts: tuple[str, ...] | None = None) -> None:
        """Processes are killed; those that are left start the others, and what nobody plays is begun again."""
        wanted = self._dice.choice([("engine",), ("watcher",), ("engine", "watcher")]) if parts is None else parts
        for one in of_run(self._folder):
            if one.part in wanted:
                with suppress(OSError):
                    os.kill(one.pid, signal.SIGKILL)
        if parts is None and len(wanted) == 2:
            self._go_on(asked=False)

    def _restart(self) -> None:
        """The machine goes off, and its time of day may come back set."""
        off_s, set_s = self._dice.uniform(10, 900), self._dice.choice([0.0, 0.0, *SETS_S])
        time.sleep(SAVED_WITHIN_S)  # what is not saved can't be proved by a time of day that is set
        self._kill(("engine", "watcher"))
        until(lambda: not of_run(self._folder), lambda: "everything to end")
        self._clocks.restart(off_s, set_s)
        self._set_s += set_s
        gone_s = off_s + set_s
        proved = 0 <= gone_s <= 12 * HOUR_S  # else nothing counts from what was saved last to the start
        self._asleep_s += gone_s if proved else 0.0
        self._go_on(asked=gone_s > 12 * HOUR_S)
        now_s = self._show.picture().at_s
        if abs(now_s - self.at_s) > (2 if proved else 8) * NEAR_S:
            raise FallenError(
                f"after {off_s:.0f} s off, set by {set_s:.0f} s, the run is at {now_s:.1f}, not {self.at_s:.1f}"
            )
        self._since_s += now_s - self.at_s

    def _go_on(self, *, asked: bool) -> None:
        self._show.close()
        try:
            self._show = attach(self._folder, self._night)
            if asked:
                raise FallenError("a run from more than 12 hours ago was taken without a word")
        except BrokeOffError as error:
            if not asked:
                raise FallenError(f"not gone on with: {error}") from None
            self._show = attach(self._folder, self._night, resumes=True)

    def _look(self, after: str) -> None:
        """Place, time, lateness and finish are what they must be."""
        until(lambda: self._show.picture().engine != "not answering", lambda: f"an engine after {after}")
        self._await()
        time.sleep(0.1)
        picture = self._show.picture()
        near = abs(picture.at_s - self.at_s) < NEAR_S
        if not near or picture.began_s is None or abs(picture.began_s - self._began[0]) > 2 * NEAR_S:
            raise FallenError(
                f"after {after}: {picture.at_s:.1f} for {self.at_s:.1f}, {picture.began_s} for {self._began}"
            )
        self._look_at_sight(after)

    def _look_at_sight(self, after: str) -> None:
        began_min = minutes_of(self.date, self._began[1])
        began_s = self._show.picture().began_s
        wanted = self._plan.ahead_of(self._state, self.at_s, began_s, None, began_min)
        told: Any = None

        def agrees() -> bool:
            nonlocal told
            told = self._show.sight()
            if told is None:
                return False
            late = re.search(r"(LATE|EARLY) (?:(\d+):)?(\d+):(\d\d)", told.aside[0])
            late_s = (
                0.0
                if late is None
                else sum(int(part or 0) * of for part, of in zip(late.groups()[1:], (3600, 60, 1), strict=True))
                * (1 if late[1] == "LATE" else -1)
            )
            ends = re.search(r"ends (\d+):(\d\d)", told.status)
            return abs(late_s - wanted.late_s) < 30 + 2 * NEAR_S and (
                ends is None or self._ends_at(ends, wanted.remaining_s)
            )

        until(
            agrees,
            lambda: f"the lateness after {after}: {told and (told.aside, told.status)}, wanted {wanted.late_s:.0f} s",
        )

    def _ends_at(self, ends: re.Match[str], remaining_s: float) -> bool:
        """Whether a finish is so many seconds from now by the clock on the wall, in this night."""
        if minutes_of(self.date, time.time()) is None:
            return True
        at = datetime.datetime.fromtimestamp(time.time() + remaining_s)
        shown = int(ends[1]) * 60 + int(ends[2])
        apart = abs((at.hour * 60 + at.minute - shown) % (24 * 60))
        return min(apart, 24 * 60 - apart) <= 1

    def _end(self) -> None:
        """The log has every step once, in their order, and its lengths are those that went by."""
        end(self._folder)
        told = [entry for entry in entries(self._log) if entry["kind"] in PLACES]
        steps = [(entry["kind"], entry["song"], entry["cue"]) for entry in told]
        if steps != [(line.kind, line.song, line.cue) for line in self._lines]:
            raise FallenError(f"the log has {steps}, and played was {[line[1:4] for line in self._lines]}")
        times = [entry["at_s"] for entry in told]
        if times != sorted(times):
            raise FallenError(f"the log's times go back: {times}")
        found = night_by(read_run_lines(self._root, self._log), {})
        wanted = night_by([*self._lines, Line(self.at_s, "ended")], {})
        if found is None or wanted is None:
            raise FallenError("the log has no song")
        pairs = list(zip(found.songs, wanted.songs, strict=True)) + list(
            zip(found.changes, wanted.changes, strict=True)
        )
        for mine, theirs in pairs:
            for a, b in zip(mine, theirs, strict=True):
                if a != b and not (isinstance(a, float) and isinstance(b, float) and abs(a - b) < 6 * NEAR_S):
                    raise FallenError(f"read was {mine}, and played {theirs}")

    def close(self) -> None:
        """End what plays on."""
        self._show.close()
        end(self._folder)


def read_run_lines(root: Path, log: Path) -> list[Line]:
    """A simulated run's lines as a real one's are read."""
    text = log.read_text(encoding="utf-8").replace('"simulated": true', '"simulated": false')
    log.write_text(text, encoding="utf-8")
    return list(read_run(root, log).lines)


def main() -> int:
    """Play so many evenings."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=6, help="shows played")
    parser.add_argument("--deeds", type=int, default=30, help="what is done in each, steps and all")
    parser.add_argument("--seed", type=int, default=13)
    parser.add_argument("--keep", action="store_true", help="leave the folder there")
    asked = parser.parse_args()
    under_the_shim()
    done: Counter[str] = Counter()
    folder = Path(os.environ["CLOCKS"])
    try:
        for number in range(asked.rounds):
            evening = Evening(folder, number, random.Random(asked.seed * 1000 + number), done)
            try:
                evening.play(asked.deeds)
            except FallenError as error:
                print(f"round {number}, {evening.zone}, {evening.date}, after {evening.deed}: {error}")
                return 1
            finally:
                evening.close()
    finally:
        if not asked.keep:
            shutil.rmtree(folder, ignore_errors=True)
    print(f"{asked.rounds} shows, {done.total()} deeds, all stood: {', '.join(f'{n} {w}' for w, n in done.items())}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
