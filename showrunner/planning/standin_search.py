"""Stand-ins for a whole show at the least cost, proved: which control does the work of which missing one, song by song.

The cost of a show is the sum of its songs' own costs, and `change` for every further control that does the work of
the same missing one anywhere in the show. Controls that may be used are put in or left out one by one; what is open
stays allowed, so that the songs' own best are a lower bound, and what they use is a solution.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from math import inf
from typing import NamedTuple

Pair = tuple[str, str]
"""A wanted control and the one that does its work."""

MENU_LIMIT = 12
"""Most controls of one missing one for which every set of them is weighed; beyond, only the weaker bound is used."""


class Choices(NamedTuple):
    """One song: for each wanted control what each used one costs, under None what leaving it out costs.

    `clashes` adds a cost where both pairs are chosen. No cost is negative.
    """

    costs: Mapping[str, Mapping[str | None, int]]
    clashes: Mapping[frozenset[Pair], int] = {}


def show_cost(songs: Sequence[Choices], picks: Sequence[Mapping[str, str]], change: int) -> int:
    """What stand-ins cost over the whole show; `picks` has for each song the wanted controls that are played."""
    own = sum(song_cost(song, picked) for song, picked in zip(songs, picks, strict=True))
    pairs = {pair for picked in picks for pair in picked.items()}
    return own + change * (len(pairs) - len({wanted for wanted, _ in pairs}))


def song_cost(song: Choices, picked: Mapping[str, str]) -> int:
    """What stand-ins cost in one song."""
    own = sum(costs[picked.get(wanted)] for wanted, costs in song.costs.items())
    pairs = frozenset(picked.items())
    return own + sum(cost for clash, cost in song.clashes.items() if clash <= pairs)


def assign(songs: Sequence[Choices], change: int) -> tuple[dict[str, str], ...]:
    """For each song the wanted controls with the one that plays each, no control twice in a song; least `show_cost`."""
    return _Search(songs, change).best()


class _Search:
    """Depth first over which pairs may be used: in, out, or still open."""

    def __init__(self, songs: Sequence[Choices], change: int) -> None:
        self._songs, self._change = songs, change
        every = sorted({(w, u) for song in songs for w, costs in song.costs.items() for u in costs if u is not None})
        self._menus = {w: tuple(u for v, u in every if v == w) for w, _ in every}
        self._picked = lru_cache(maxsize=None)(self._in_song)
        self._alone = {wanted: self._by_menu(wanted) for wanted in self._menus if self._few(wanted)}
        self._least, self._found = inf, tuple[dict[str, str], ...]()

    def best(self) -> tuple[dict[str, str], ...]:
        everything = {wanted: (1 << len(used)) - 1 for wanted, used in self._menus.items()}
        self._look(dict.fromkeys(self._menus, 0), everything)
        return self._found

    def _few(self, wanted: str) -> bool:
        return len(self._menus[wanted]) <= MENU_LIMIT

    def _look(self, inside: Mapping[str, int], allowed: Mapping[str, int]) -> None:
        if self._alone_at_least(inside, allowed) >= self._least:
            return
        picks = [
            self._picked(number, tuple(allowed.get(wanted, 0) for wanted in song.costs))
            for number, song in enumerate(self._songs)
        ]
        own = sum(cost for cost, _ in picks)
        if own + self._change * sum(max(0, _size(menu) - 1) for menu in inside.values()) >= self._least:
            return
        found = tuple(picked for _, picked in picks)
        total = show_cost(self._songs, found, self._change)
        if total < self._least:
            self._least, self._found = total, found
        for wanted, bit in self._by_use(found):
            if not inside[wanted] & bit and total > own:
                self._look({**inside, wanted: inside[wanted] | bit}, allowed)
                self._look(inside, {**allowed, wanted: allowed[wanted] & ~bit})
                return

    def _by_use(self, found: Sequence[Mapping[str, str]]) -> Iterator[tuple[str, int]]:
        """The pairs in use, those of wanted controls with several first, and of these the most used."""
        counts: dict[Pair, int] = {}
        several: dict[str, int] = {}
        for picked in found:
            for pair in picked.items():
                several[pair[0]] = several.get(pair[0], 0) + (pair not in counts)
                counts[pair] = counts.get(pair, 0) + 1
        for wanted, used in sorted(counts, key=lambda pair: (several[pair[0]] < 2, -counts[pair], pair)):
            yield wanted, 1 << self._menus[wanted].index(used)

    def _alone_at_least(self, inside: Mapping[str, int], allowed: Mapping[str, int]) -> int:
        """What the wanted controls cost at least, each as if no other wanted the same control in the same song."""
        total = 0
        for wanted, by_menu in self._alone.items():
            least, open_, menu = by_menu[inside[wanted]], allowed[wanted] & ~inside[wanted], 0
            while menu != open_:
                menu = (menu - open_) & open_
                least = min(least, by_menu[inside[wanted] | menu])
            total += least
        return total

    def _by_menu(self, wanted: str) -> list[int]:
        """For every set of controls that may do one wanted control's work, as bits, what it costs over the show."""
        menu, costs = self._menus[wanted], [song.costs[wanted] for song in self._songs if wanted in song.costs]
        totals = [self._change * max(0, _size(bits) - 1) for bits in range(1 << len(menu))]
        for by_used in costs:
            least = [by_used[None]] * len(totals)
            for bits in range(1, len(totals)):
                used = menu[(bits & -bits).bit_length() - 1]
                least[bits] = min(least[bits & (bits - 1)], by_used.get(used, by_used[None]))
                totals[bits] += least[bits]
            totals[0] += by_used[None]
        return totals

    def _in_song(self, number: int, allowed: tuple[int, ...]) -> tuple[int, dict[str, str]]:
        """The best of one song on its own with what is allowed, its cost first."""
        song = self._songs[number]
        options = []
        for (wanted, costs), bits in zip(song.costs.items(), allowed, strict=True):
            menu = self._menus.get(wanted, ())
            may = [(cost, used) for used, cost in costs.items() if used is None or bits >> menu.index(used) & 1]
            options.append((wanted, sorted(may, key=lambda option: (option[0], option[1] is None, option[1] or ""))))
        return _cheapest(options, song.clashes)


def _cheapest(
    options: Sequence[tuple[str, list[tuple[int, str | None]]]], clashes: Mapping[frozenset[Pair], int]
) -> tuple[int, dict[str, str]]:
    """The cheapest choice of one option each, no control twice; options of a wanted control rise in cost."""
    ahead = [sum(may[0][0] for _, may in options[place:]) for place in range(len(options) + 1)]
    best: tuple[float, dict[str, str]] = (inf, {})

    def look(place: int, cost: int, picked: dict[str, str]) -> None:
        nonlocal best
        if place == len(options):
            best = (cost, picked) if cost < best[0] else best
            return
        wanted, may = options[place]
        for more, used in may:
            if cost + more + ahead[place + 1] >= best[0]:
                return
            if used is None:
                look(place + 1, cost + more, picked)
            elif used not in picked.values():
                pair = (wanted, used)
                added = sum(clashes.get(frozenset((pair, other)), 0) for other in picked.items()) if clashes else 0
                look(place + 1, cost + more + added, {**picked, wanted: used})

    look(0, 0, {})
    return int(best[0]), best[1]


def _size(bits: int) -> int:
    return bits.bit_count()
