"""Stand-ins for a whole show at the least cost, proved: which control does the work of which missing one, song by song.

The cost of a show is the sum of its songs' own costs, and `change` for every further control that does the work of
the same missing one anywhere in the show. Controls that may be used are put in or left out one by one; what is open
stays allowed, and a part of the choices is left alone once its lower bound reaches the best that was found.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from showrunner.planning.standin_bound import Bound
from showrunner.planning.standin_song import Choices, Pair, cheapest, song_cost

ROUNDING = 1e-6
"""How much of a bound may be rounding; costs are whole numbers, so that less than one says nothing."""


def show_cost(songs: Sequence[Choices], picks: Sequence[Mapping[str, str]], change: int) -> int:
    """What stand-ins cost over the whole show; `picks` has for each song the wanted controls that are played."""
    own = sum(song_cost(song, picked) for song, picked in zip(songs, picks, strict=True))
    pairs = {pair for picked in picks for pair in picked.items()}
    return own + change * (len(pairs) - len({wanted for wanted, _ in pairs}))


def assign(songs: Sequence[Choices], change: int) -> tuple[dict[str, str], ...]:
    """For each song the wanted controls with the one that plays each, no control twice in a song; least `show_cost`."""
    return _Search(songs, change).best()


class _Search:
    """Depth first over which pairs may be used: in, out, or still open."""

    def __init__(self, songs: Sequence[Choices], change: int) -> None:
        self._songs, self._change = songs, change
        pairs = sorted({(w, u) for song in songs for w, costs in song.costs.items() for u in costs if u is not None})
        self._menus = {wanted: tuple(u for w, u in pairs if w == wanted) for wanted, _ in pairs}
        self._picked = lru_cache(maxsize=None)(self._in_song)
        self._bound = Bound(songs, self._menus, change)
        self._everything = {wanted: (1 << len(menu)) - 1 for wanted, menu in self._menus.items()}

    def best(self) -> tuple[dict[str, str], ...]:
        """The cheapest choice of all."""
        self._found = self._picks(self._everything)
        self._least = self._cost(self._found)
        self._take(self._bound.improve(self._everything, self._cost))
        self._look(dict.fromkeys(self._menus, 0), self._everything)
        return self._found

    def _cost(self, picks: Sequence[Mapping[str, str]]) -> int:
        return show_cost(self._songs, picks, self._change)

    def _picks(self, allowed: Mapping[str, int]) -> tuple[dict[str, str], ...]:
        """Every song's own best with what is allowed."""
        return tuple(
            self._picked(number, tuple(allowed.get(wanted, 0) for wanted in song.costs))
            for number, song in enumerate(self._songs)
        )

    def _take(self, found: tuple[dict[str, str], ...]) -> int:
        """Keeps a choice if it is the best so far; its cost."""
        total = self._cost(found)
        if total < self._least:
            self._least, self._found = total, found
        return total

    def _look(self, inside: Mapping[str, int], allowed: Mapping[str, int]) -> None:
        if self._bound.at_least(inside, allowed) > self._least - 1 + ROUNDING:
            return
        found = self._picks(allowed)
        self._take(found)
        for wanted, bit in self._by_use(found):
            if not inside[wanted] & bit:
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

    def _in_song(self, number: int, allowed: tuple[int, ...]) -> dict[str, str]:
        song = self._songs[number]
        return cheapest(song.costs, song.clashes, self._menus, allowed)[1]
