"""How near soundcheck plans come to the shortest on small shows: `python tests/bench/bench_soundcheck.py [SHOWS]`.

The shortest is found by trying every choice and order of spots that covers everything and ends as song one begins.
"""

import sys
from itertools import combinations, permutations
from random import Random
from statistics import mean

from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.planning.soundcheck import Ground, best, greedy
from showrunner.planning.spots import Spot
from showrunner.state.moments import prepare

SPOTS = 8
SONG = Song.model_validate({"format": 1, "title": "Low Water", "duration": "4:00"})
PIECE = prepare("low-water", SONG, Rig.model_validate({"format": 1, "title": "Bench rig"}))
THINGS = [f"target {letter}" for letter in "abcdefghij"]


def show(chance: Random) -> Ground:
    """A few spots on two guitars that cover two to four of ten things each, a change of guitars between some."""
    spots = tuple(
        Spot(
            song=f"song {number // 2}",
            number=number % 2,
            name=str(number),
            to="end",
            seconds=float(chance.randint(8, 15)),
            whole=False,
            covers=frozenset(chance.sample(THINGS, chance.randint(2, 4))),
            guitar=chance.choice(["baritone", "tenor"]),
            tuning="low",
            capo=0,
            piece=PIECE,
        )
        for number in range(SPOTS)
    )
    return Ground(
        spots, tuple(tuple(2.0 + 30.0 * (a.guitar != b.guitar) for b in spots) for a in spots), (30.0,) * len(spots)
    )


def shortest_s(ground: Ground) -> float:
    """Seconds of the shortest plan there is."""
    least = float("inf")
    for size in range(SPOTS):
        for chosen in combinations(range(1, SPOTS), size):
            if ground.covered((*chosen, 0)) == ground.everything:
                least = min(least, *(ground.total_s((*order, 0)) for order in permutations(chosen)))
    return least


def main(shows: int) -> None:
    chance, ratios, plain = Random(6), [], []
    for _ in range(shows):
        ground = show(chance)
        shortest, first = shortest_s(ground), greedy(ground)
        ratios.append(ground.total_s(best(ground)) / shortest)
        plain.append(ground.total_s(first) / shortest)
    print(f"{shows} shows of {SPOTS} moments, length against the shortest")
    for name, of in (("plan", ratios), ("plain greedy", plain)):
        exact = sum(ratio < 1 + 1e-9 for ratio in of)
        print(f"{name:<13} mean {mean(of):.3f}  worst {max(of):.3f}  shortest in {exact}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
