"""How long the best order over several sets takes to prove: `python tests/bench/bench_across.py [SONGS …]`.

Random songs on three guitars in three tunings with four things set by hand, a pin and a segue in each set, shared out
over two and three sets that keep their length to a minute; with CP-SAT and without.
"""

import statistics
import sys
from time import perf_counter

import numpy as np

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning import setorder
from showrunner.planning.setorder import better_order

CASES = 8
SECONDS = 10.0
STRINGS = {
    "high": ["E2", "A2", "D3", "G3", "B3", "E4"],
    "dropped": ["D2", "A2", "D3", "G3", "B3", "E4"],
    "open": ["D2", "A2", "D3", "F#3", "A3", "D4"],
}
SWITCHES = ("one", "two", "three", "four")
RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Rig",
        "controls": {
            name: {"kind": "selector", "positions": ["a", "b", "c"], "rest": "a", "seconds": 1} for name in SWITCHES
        },
        "instruments": {name: {"tunings": STRINGS} for name in ("red", "blue", "black")},
    }
)


def night(size: int, sets: int, seed: int) -> tuple[Book, Show]:
    """A book of songs, and a show of all of them over as many sets."""
    chance = np.random.default_rng(seed)

    def by_hand() -> dict[str, str]:
        return {name: "abc"[chance.integers(3)] for name in SWITCHES}

    songs = {
        f"s{number}": Song.model_validate(
            {
                "format": 1,
                "title": f"Song {number}",
                "duration": f"{chance.integers(2, 7)}:{chance.integers(60):02}",
                "instrument": ("red", "blue", "black")[chance.integers(3)],
                "tuning": list(STRINGS)[chance.integers(3)],
                "start": {"by_hand": by_hand()},
                "cues": [{"name": "End", "by_hand": by_hand()}],
            }
        )
        for number in range(size)
    }
    slots = [{"song": name} | ({"then": "talk 0:45"} if chance.integers(3) == 0 else {}) for name in songs]
    parts = [list(part) for part in np.array_split(slots, sets)]
    for part in parts:
        part[0]["pin"] = "first"
        part[2]["then"] = "segue"
    show = Show.model_validate({"format": 1, "title": "Night", "sets": [{"songs": part} for part in parts]})
    return Book(rig="rig", songs=songs, rigs={"rig": RIG}, shows={"night": show}), show


def measure(size: int, sets: int, across: bool) -> str:
    """One row: seconds, how many were proved, what was saved, and the largest gap to the bound."""
    took, proved, before, after, gap = [], 0, [], [], 0.0
    for seed in range(CASES):
        book, show = night(size, sets, seed)
        began = perf_counter()
        until = began + SECONDS
        better = better_order(
            book, show, RIG, across_sets=across, seconds=SECONDS, expired=lambda until=until: perf_counter() > until
        )
        took.append(perf_counter() - began)
        proved += better.proved
        before.append(better.before_s)
        after.append(better.after_s)
        gap = max(gap, better.after_s - better.bound_s)
    saved = f"{statistics.mean(before):.0f} → {statistics.mean(after):.0f} s"
    return f"{statistics.median(took):7.2f} {max(took):7.2f} {proved:4}/{CASES} {saved:>14} {gap:6.1f}"


def main(sizes: list[int]) -> None:
    solver = setorder.solver
    print(f"{'songs':>5} {'sets':>4}  {'way':<20} {'median':>7} {'longest':>7} {'proved':>6} {'saved':>14} {'gap':>6}")
    for size in sizes:
        for sets in (2, 3):
            print(f"{size:5} {sets:4}  {'each in its set':<20} {measure(size, sets, False)}")
            print(f"{size:5} {sets:4}  {'across, CP-SAT':<20} {measure(size, sets, True)}")
            setorder.solver = lambda: None
            print(f"{size:5} {sets:4}  {'across, without':<20} {measure(size, sets, True)}", flush=True)
            setorder.solver = solver


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [12, 16, 20, 25])
