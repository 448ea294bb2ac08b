"""One song's choice of stand-ins: what each costs, and the cheapest of what is allowed."""

from collections.abc import Mapping, Sequence
from math import inf
from typing import NamedTuple

Pair = tuple[str, str]
"""A wanted control and the one that does its work."""


class Choices(NamedTuple):
    """One song: for each wanted control what each used one costs, under None what leaving it out costs.

    `clashes` adds a cost where both pairs are chosen. No cost is negative.
    """

    costs: Mapping[str, Mapping[str | None, int]]
    clashes: Mapping[frozenset[Pair], int] = {}


def song_cost(song: Choices, picked: Mapping[str, str]) -> int:
    """What stand-ins cost in one song."""
    own = sum(costs[picked.get(wanted)] for wanted, costs in song.costs.items())
    if not song.clashes:
        return own
    pairs = frozenset(picked.items())
    return own + sum(cost for clash, cost in song.clashes.items() if clash <= pairs)


def cheapest(
    costs: Mapping[str, Mapping[str | None, float]],
    clashes: Mapping[frozenset[Pair], int],
    menus: Mapping[str, tuple[str, ...]],
    allowed: Sequence[int],
) -> tuple[float, dict[str, str]]:
    """The least cost of one option for each wanted control, no control twice, and the options but None.

    `allowed` has for each wanted control the bits of its menu that may be taken; None always may.
    """
    options = []
    for (wanted, of), bits in zip(costs.items(), allowed, strict=True):
        menu = menus.get(wanted, ())
        may = [(of[used], used) for place, used in enumerate(menu) if bits >> place & 1 and used in of]
        options.append((wanted, sorted(may, key=lambda option: option[0]), of[None]))
    least = [min(of_none, may[0][0]) if may else of_none for _, may, of_none in options]
    ahead = [sum(least[place:]) for place in range(len(options) + 1)]
    best: tuple[float, dict[str, str]] = (inf, {})

    def look(place: int, cost: float, picked: dict[str, str]) -> None:
        nonlocal best
        if cost + ahead[place] >= best[0]:
            return
        if place == len(options):
            best = (cost, picked)
            return
        wanted, may, of_none = options[place]
        taken = picked.values()
        for more, used in may:
            if cost + more + ahead[place + 1] >= best[0]:
                break
            if used not in taken:
                pair = (wanted, used)
                added = sum(clashes.get(frozenset((pair, other)), 0) for other in picked.items()) if clashes else 0
                look(place + 1, cost + more + added, {**picked, wanted: used})
        look(place + 1, cost + of_none, picked)

    look(0, 0, {})
    return best
