"""How long stand-ins for a show take: `python tests/bench/bench_standins.py [SONGS …]`.

A full rig of five pedals, a strip and six switches against small ones; songs want up to three controls, or up to six.
"""

import random
import statistics
import sys
from itertools import product
from time import perf_counter
from typing import Any

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning.standins import stand_ins

CASES = 10
LIMBS = ("right foot", "left foot")
TARGETS = tuple(f"target {number}" for number in range(8))
PEDALS = {f"pedal {n}": {"kind": "pedal", "limb": LIMBS[n % 2], "bits": (7, 14)[n % 2], "cc": n} for n in range(5)}
STRIP = {"strip": {"kind": "strip", "limb": "picking hand", "cc": 16, "on_release": {"to": 0}}}
SWITCHES = {
    f"switch {n}": {"kind": "switch", "limb": LIMBS[n % 2], "cc": 80 + n, "sends": ("latching", "momentary")[n % 2]}
    for n in range(6)
}
FULL = PEDALS | STRIP | SWITCHES
RIGS = {
    "one pedal": ("pedal 0", "switch 0", "switch 1", "switch 2", "switch 3"),
    "two pedals": ("pedal 0", "pedal 1", "switch 0", "switch 1", "switch 2", "switch 3"),
    "three and a strip": ("pedal 0", "pedal 1", "pedal 2", "strip", "switch 0", "switch 1"),
    "switches": ("switch 0", "switch 1", "switch 2", "switch 3", "switch 4", "switch 5"),
    "others": ("wah", "roll", "tilt", "switch 0", "switch 1", "switch 2", "switch 3", "switch 4"),
}
OTHERS = {name: {"kind": "pedal", "limb": LIMBS[n % 2], "cc": 20 + n} for n, name in enumerate(("wah", "roll", "tilt"))}


def rig(names: tuple[str, ...]) -> Rig:
    """A rig of these controls."""
    port = {"port": "floor", "channel": 1}
    return Rig.model_validate(
        {
            "format": 1,
            "title": "Rig",
            "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}},
            "controls": {name: (FULL | OTHERS)[name] | port for name in names},
            "targets": {
                t: {"port": "host", "channel": 1, "cc": 40 + n, "range": [0, 1]} for n, t in enumerate(TARGETS)
            },
        }
    )


def song(chance: random.Random, most: int) -> Song:
    """A song with up to two curve sets and six cues."""
    wanted = chance.sample(tuple(FULL), chance.randint(1, most))
    sets: dict[str, Any] = {}
    for name in ("verse", "lead")[: chance.randint(1, 2)]:
        sets[name] = {
            control: {"travel": [0, 100], "moves": {t: [0, 1] for t in chance.sample(TARGETS, chance.randint(1, 4))}}
            for control in chance.sample(wanted, chance.randint(1, len(wanted)))
        }
    cues: list[dict[str, Any]] = []
    for number in range(6):
        placed = {chance.choice(wanted): chance.choice((0, 50, 100))}
        stop = {"stop": {"by": "picking hand"}} if chance.random() < 0.3 else {}
        cues.append({"name": f"Cue {number}", "curves": chance.choice(tuple(sets)), "controls": placed, **stop})
    return Song.model_validate({"format": 1, "title": "Song", "duration": "4:00", "curves": sets, "cues": cues})


def main(sizes: list[int]) -> None:
    print(f"{'songs':>5} {'wanted':>6}  {'rig':<18} {'median s':>9} {'longest s':>9}")
    for size, most in product(sizes, (3, 6)):
        for name, controls in RIGS.items():
            took = []
            for seed in range(CASES):
                chance = random.Random(seed)
                songs = {f"song-{number}": song(chance, most) for number in range(size)}
                show = Show.model_validate({"format": 1, "title": "Show", "reserve": list(songs)})
                small = rig(controls)
                book = Book(rig="full", songs=songs, rigs={"full": rig(tuple(FULL)), "small": small})
                began = perf_counter()
                stand_ins(book, show, small)
                took.append(perf_counter() - began)
            print(f"{size:5} {most:6}  {name:<18} {statistics.median(took):9.3f} {max(took):9.3f}", flush=True)


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [10, 25])
