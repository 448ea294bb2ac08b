"""A lower bound on what stand-ins for a show can cost, from prices on which control does whose work in which song.

Lagrangian decomposition: the songs pay their costs less the prices and know nothing of each other; each wanted control
pays the prices and the changes over the show and knows nothing of the other wanted ones. Whatever the prices, the two
sums together are at most the least cost; where songs and wanted controls disagree, the prices are moved.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache

from showrunner.planning.standin_song import Choices, cheapest

MENU_LIMIT = 10
"""Most controls of one wanted one for which every set of them is weighed; beyond, it pays no prices."""

ROUNDS = 80
"""How often prices are moved at most."""

CostOf = Callable[[Sequence[Mapping[str, str]]], int]
"""What the songs' choices cost over the whole show."""

Menus = Mapping[str, tuple[str, ...]]
"""For each wanted control those that may do its work anywhere in the show; sets of them are bits in this order."""


class Bound:
    """The bound for all of a show and for any part of the choices; `found` are the songs' choices met on the way."""

    def __init__(self, songs: Sequence[Choices], menus: Menus, change: int) -> None:
        self._songs, self._menus, self._change = songs, menus, change
        self._priced = [wanted for wanted, menu in menus.items() if len(menu) <= MENU_LIMIT]
        self._wanting = {w: [n for n, song in enumerate(songs) if w in song.costs] for w in menus}
        self._reset([{w: dict.fromkeys(of, 0.0) for w, of in song.costs.items()} for song in songs])

    def _reset(self, prices: list[dict[str, dict[str | None, float]]]) -> None:
        self._prices = prices
        self._tables = {wanted: self._by_menu(wanted) for wanted in self._priced}
        self._song = lru_cache(maxsize=None)(self._in_song)

    def at_least(self, inside: Mapping[str, int], allowed: Mapping[str, int]) -> float:
        """What the show costs at least with these controls in use for each wanted one, and no others than allowed."""
        total = 0.0
        for number, song in enumerate(self._songs):
            total += self._song(number, tuple(allowed.get(wanted, 0) for wanted in song.costs))[0]
        for wanted in self._menus:
            total += self._least_menu(wanted, inside[wanted], allowed[wanted])[0]
        return total

    def improve(self, everything: Mapping[str, int], cost_of: CostOf) -> tuple[dict[str, str], ...]:
        """Moves the prices until bound and best found meet, or for some rounds; the best choice found on the way."""
        none = dict.fromkeys(self._menus, 0)
        best, found, highest, kept, pace = float("inf"), tuple[dict[str, str], ...](), float("-inf"), self._prices, 1.0
        for _ in range(ROUNDS):
            bound = self.at_least(none, everything)
            picks = tuple(
                self._song(n, tuple(everything.get(w, 0) for w in song.costs))[1] for n, song in enumerate(self._songs)
            )
            cost = cost_of(picks)
            if cost < best:
                best, found = cost, picks
            if bound > highest + 1e-9:
                highest, kept = bound, self._prices
            else:
                pace *= 0.85
            moves = list(self._disagreements(picks, everything))
            if not moves or highest > best - 1 + 1e-6:
                break
            step = pace * max(best - bound, 1.0) / (2 * len(moves))
            prices = [{w: dict(of) for w, of in song.items()} for song in self._prices]
            for number, wanted, song_has, menu_has in moves:
                prices[number][wanted][song_has] -= step
                prices[number][wanted][menu_has] += step
            self._reset(prices)
        self._reset(kept)
        return found

    def _disagreements(
        self, picks: Sequence[Mapping[str, str]], everything: Mapping[str, int]
    ) -> list[tuple[int, str, str | None, str | None]]:
        """Song, wanted control, what the song picked and what the wanted control would rather have."""
        found: list[tuple[int, str, str | None, str | None]] = []
        for wanted in self._priced:
            bits = self._least_menu(wanted, 0, everything[wanted])[1]
            menu = [None, *(used for place, used in enumerate(self._menus[wanted]) if bits >> place & 1)]
            for number in self._wanting[wanted]:
                of = self._prices[number][wanted]
                has = min((used for used in menu if used in of), key=of.__getitem__)
                picked = picks[number].get(wanted)
                if has != picked:
                    found.append((number, wanted, picked, has))
        return found

    def _least_menu(self, wanted: str, inside: int, allowed: int) -> tuple[float, int]:
        """The cheapest set of controls between two for one wanted control, its cost first."""
        if wanted not in self._tables:
            return self._change * max(0, inside.bit_count() - 1), inside
        by_menu, open_, menu = self._tables[wanted], allowed & ~inside, 0
        least, best = by_menu[inside], inside
        while menu != open_:
            menu = (menu - open_) & open_
            if by_menu[inside | menu] < least:
                least, best = by_menu[inside | menu], inside | menu
        return least, best

    def _by_menu(self, wanted: str) -> list[float]:
        """For every set of controls that may do one wanted control's work, what it pays over the show."""
        menu = self._menus[wanted]
        totals = [float(self._change * max(0, bits.bit_count() - 1)) for bits in range(1 << len(menu))]
        for number in self._wanting[wanted]:
            of = self._prices[number][wanted]
            nobody = of[None]
            least = [nobody] * len(totals)
            totals[0] += nobody
            for place, used in enumerate(menu):
                price = of.get(used, nobody)
                for bits in range(1 << place):
                    before = least[bits]
                    now = before if before < price else price
                    least[bits | 1 << place] = now
                    totals[bits | 1 << place] += now
        return totals

    def _in_song(self, number: int, allowed: tuple[int, ...]) -> tuple[float, dict[str, str]]:
        song, prices = self._songs[number], self._prices[number]
        costs = {w: {u: cost - prices[w][u] for u, cost in of.items()} for w, of in song.costs.items()}
        return cheapest(costs, song.clashes, self._menus, allowed)
