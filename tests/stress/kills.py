"""A show whose processes are killed and stopped at random while it is played by foot. Linux, jackd2, tmux.

`python tests/stress/kills.py [--rounds N] [--seed N]`. Each round plays something of the demo show over a sound server
without hardware: a step by foot or by key, another song chosen by foot, a trim, a pedal nudged. Meanwhile, just after
it was taken, or with nothing under way, the engine, the watcher or the screen is killed, or stopped for up to two
seconds. Then the show must stand where the machine puts it: by all that was taken for sure, and by what was under way
as the process went either done or not, each at most once. The run's log must say as much, each line once. Exit 1 where
it does not.
"""

import argparse
import os
import random
import signal
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from itertools import combinations
from pathlib import Path
from typing import Any, NamedTuple

from played import FLOOR, Played, ends_in_order, until

from showrunner.state.events import Asked, Event, Moved, Trimmed
from showrunner.state.machine import fold
from showrunner.state.script import Script
from showrunner.state.values import State

NEXT, BACK = 80, 81
PLACES = ("changeover", "song", "cue", "over", "taken", "trimmed")
"""Notices that the log has for everything that is compared."""
GUARD_S, HOLD_S, QUIET_S = 1.2, 1.0, 0.4
TRIM = "interface volume"


class Stand(NamedTuple):
    """Where the show stands, as far as it is compared."""

    order: tuple[str, ...]
    place: int
    moment: int
    phase: str
    trims: tuple[tuple[str, float], ...]
    swell: int | None


def stand(state: State) -> Stand:
    """The part of a state that is compared."""
    return Stand(state.order, state.place, state.moment, state.phase, state.trims, state.raws.get("swell"))


class Deed(NamedTuple):
    """Something played: what it is for the machine, and whether a foot does it, which only a living engine hears."""

    name: str
    events: tuple[Event, ...]
    by_foot: bool


def ends(script: Script, state: State, events: tuple[Event, ...]) -> tuple[Stand, tuple[str, ...]]:
    """Where events lead, and which notices they make; a hold with a choice open takes it."""
    said: list[str] = []
    for event in events:
        if isinstance(event, Asked) and event.what == "choose" and state.choice is not None:
            event = event._replace(what="take")
        state, out = fold(script, state, event)
        said += [notice.kind for notice in out.shows if notice.kind in PLACES]
    return stand(state), tuple(said)


def some(events: tuple[Event, ...]) -> Iterator[tuple[Event, ...]]:
    """Every choice of events, in their order."""
    for count in range(len(events) + 1):
        yield from combinations(events, count)


class Kills:
    """The rounds, and what fell in them."""

    def __init__(self, played: Played, seed: int) -> None:
        self.played, self.rnd = played, random.Random(seed)
        self.did: Counter[str] = Counter()
        self.fallen: list[str] = []
        self.lines = self.lost = 0

    def round(self, number: int) -> None:
        """One round: play, kill, wait, compare."""
        if not self.played.alive("screen"):
            self.fallen.append(f"before round {number} the screen had ended:\n{self.played.text()}")
            print(self.fallen[-1], flush=True)
            self.played.open_screen()
        before = self.quiet()
        deed = self.deed(before)
        target = self.rnd.choice(("engine", "engine", "watcher", "screen"))
        how = self.rnd.choice(("kill", "kill", "stop"))
        when = self.rnd.choice(("under way", "under way", "taken", "nothing"))
        events = deed.events if when != "nothing" else ()
        what = f"round {number}: {target} {how}, {deed.name} {when}"
        self.did[f"{target} {how}"] += 1
        whole, taken = ends(self.played.show.script, before, events), True
        if when == "under way":
            playing = threading.Thread(target=self.do, args=(deed,))
            playing.start()
            time.sleep(self.rnd.uniform(0.0, 0.12 if len(events) < 2 else 3.5))
            self.end(target, how)
            playing.join()
        else:
            taken = when != "taken" or self.take(deed, whole[0])
            self.end(target, how)
        self.back(target)
        sure = taken and (when != "under way" or (target == "screen" and not deed.by_foot))
        allowed = {whole} if sure else {ends(self.played.show.script, before, part) for part in some(events)}
        self.compare(what, allowed)

    def quiet(self) -> State:
        """The state once nothing is under way; from the top where the show is over."""
        show = self.played.show
        if show.picture().state.phase == "over":
            show.jump(show.script.order[0], 0)
            until(lambda: show.picture().state.phase == "song", "the show from the top")
        if show.picture().state.choice is not None:
            show.ask("cancel")
        until(lambda: show.picture().state.choice is None, "no choice")
        time.sleep(GUARD_S)
        self.lines = len(self.told())
        return show.picture().state

    def deed(self, state: State) -> Deed:
        """What is played in a round."""
        now_s = time.perf_counter()
        name = self.rnd.choice(("next by foot",) * 4 + ("next by key", "back by foot", "choose", "trim", "nudge"))
        if name == "choose" and len(state.order) - state.place > 3:
            return Deed(name, (Asked(now_s, "choose"), Asked(now_s, "next"), Asked(now_s, "choose")), True)
        if name == "trim":
            db = self.rnd.choice([db for db in (-2.0, -1.0, 0.0, 0.5) if (TRIM, db) not in state.trims])
            return Deed(name, (Trimmed(now_s, TRIM, db),), False)
        if name == "nudge":
            raw = self.rnd.choice([raw for raw in range(128) if raw != state.raws.get("swell")])
            return Deed(name, (Moved(now_s, "swell", raw),), False)
        if name == "back by foot" and (state.place, state.moment) > (0, 0):
            return Deed(name, (Asked(now_s, "back"),), True)
        name = "next by key" if name == "next by key" else "next by foot"
        return Deed(name, (Asked(now_s, "next"),), "foot" in name)

    def do(self, deed: Deed) -> None:
        """Play it."""
        played, (first, *_) = self.played, deed.events
        if deed.name == "choose":
            played.foot(NEXT, down_s=HOLD_S)
            time.sleep(0.2)
            played.foot(NEXT)
            time.sleep(0.2)
            played.foot(NEXT, down_s=HOLD_S)
        elif isinstance(first, Trimmed):
            played.show.trim(first.trim, first.value)
        elif isinstance(first, Moved):
            played.show.move(first.control, first.raw)
        elif isinstance(first, Asked) and not deed.by_foot:
            played.show.ask(first.what)
        else:
            played.foot(BACK if deed.name.startswith("back") else NEXT, port=FLOOR)

    def take(self, deed: Deed, to: Stand) -> bool:
        """Play it until it is taken: a server that did not wait for a process may have lost a press before."""
        before = stand(self.played.show.picture().state)
        for _ in range(3):
            self.do(deed)
            end_s = time.perf_counter() + 3.0
            while time.perf_counter() < end_s:
                if stand(self.played.show.picture().state) == to:
                    return True
                time.sleep(0.02)
            self.lost += 1
            if stand(self.played.show.picture().state) != before or len(deed.events) > 1:
                break
        return False

    def end(self, target: str, how: str) -> None:
        """Kill a part, or stop it for a while."""
        pid = until(lambda: self.played.pid(target), f"the {target}")
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL if how == "kill" else signal.SIGSTOP)
            if how == "stop":
                time.sleep(self.rnd.uniform(0.1, 2.0))
                os.kill(pid, signal.SIGCONT)
        if how == "kill" and target == "screen":
            until(lambda: not self.played.alive("screen"), "the end of the screen")
        elif how == "kill":
            until(lambda: self.played.pid(target) not in (0, pid), f"another {target}")

    def back(self, target: str) -> None:
        """Wait until all is there again; a screen that was killed is opened again."""
        played = self.played
        if target == "screen" and not played.alive("screen"):
            played.open_screen()
        until(lambda: played.pid("engine") and played.pid("watcher"), "both processes")
        until(lambda: played.show.picture().engine in ("playing", "restarted"), "an answer")
        until(lambda: not played.show.picture().state.missing, "the ports")
        time.sleep(QUIET_S)

    def told(self) -> list[dict[str, Any]]:
        """What the log says of places; each line of it by an engine and its number once."""
        lines = self.played.logged()
        marks = Counter((line["engine"], line["number"]) for line in lines if "engine" in line)
        if any(count > 1 for count in marks.values()):
            self.fallen.append(f"lines of the log twice: {[mark for mark, count in marks.items() if count > 1]}")
        return [line for line in lines if line["kind"] in PLACES]

    def compare(self, what: str, allowed: set[tuple[Stand, tuple[str, ...]]]) -> None:
        """The show stands at an end that is allowed, and the log says how it got there."""
        found: Any = None
        end_s = time.perf_counter() + 3.0
        while time.perf_counter() < end_s:
            said = tuple(line["kind"] for line in self.told()[self.lines :])
            found = stand(self.played.show.picture().state), said
            if found in allowed:
                return
            time.sleep(0.1)
        wanted = "\n  or ".join(map(str, allowed))
        self.fallen.append(f"{what}:\n  is {found}\n  not {wanted}")
        print(self.fallen[-1], flush=True)


def main() -> None:
    """Play the rounds and say what fell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=13)
    given = parser.parse_args()
    ends_in_order()
    began_s = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="stress-") as name:
        played = Played(Path(name))
        kills = Kills(played, given.seed)
        try:
            for number in range(given.rounds):
                kills.round(number)
                if number % 20 == 19:
                    print(f"{number + 1} rounds, {len(kills.fallen)} fell", flush=True)
            errors = (played.run / "engine.log").read_text() if (played.run / "engine.log").exists() else ""
        finally:
            played.close()
    if "Traceback" in errors:
        kills.fallen.append(f"engine.log:\n{errors}")
        print(errors)
    did = ", ".join(f"{what} {count}" for what, count in sorted(kills.did.items()))
    took = f"{given.rounds} rounds in {(time.perf_counter() - began_s) / 60:.1f} min ({did})"
    print(f"{took}, {kills.lost} deeds not heard at once: {len(kills.fallen)} fell")
    sys.exit(1 if kills.fallen else 0)


if __name__ == "__main__":
    main()
