"""How long the cheapest order takes to prove, by number of songs: `python tests/bench/bench_order.py [SIZE …]`.

Three makes of costs: as changeovers have them, small whole numbers with many zeros, and any.
"""

import statistics
import sys
from time import perf_counter

import numpy as np

from showrunner.planning.order import search

CASES = 8


def changeovers(size: int, seed: int) -> list[list[float]]:
    """Guitars, tunings and switches between songs whose ends and starts differ."""
    chance = np.random.default_rng(seed)
    guitar, tuned = chance.integers(3, size=size), chance.integers(3, size=size)
    starts, ends = chance.integers(3, size=(size, 4)), chance.integers(3, size=(size, 4))
    switches = (ends[:, None] != starts).sum(axis=2)
    away = np.where(guitar[:, None] != guitar, 30 + 8 * tuned, 8 * abs(tuned[:, None] - tuned))
    return (away + switches).astype(float).tolist()


def few(size: int, seed: int) -> list[list[float]]:
    """0, 1 or 2."""
    return np.random.default_rng(seed).choice([0, 0, 1, 2], size=(size, size)).astype(float).tolist()


def any_costs(size: int, seed: int) -> list[list[float]]:
    """Anything up to a minute."""
    return np.random.default_rng(seed).uniform(0, 60, size=(size, size)).round(1).tolist()


def main(sizes: list[int]) -> None:
    search([[0.0] * 20] * 20)
    print(f"{'songs':>5}  {'costs':<12} {'median s':>9} {'longest s':>9} {'proved':>7}")
    for size in sizes:
        for make in (changeovers, few, any_costs):
            took, proved = [], 0
            for seed in range(CASES):
                cost, began = make(size, seed), perf_counter()
                proved += search(cost).proved
                took.append(perf_counter() - began)
            print(f"{size:5}  {make.__name__:<12} {statistics.median(took):9.2f} {max(took):9.2f} {proved:>4}/{CASES}")


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [8, 12, 15, 17, 20, 25, 30])
