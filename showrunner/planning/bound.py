"""What no order can cost less than: the cheapest tree from the start, pulled towards a line.

Held and Karp's bound (1970) for costs that depend on direction: the minimum spanning arborescence, by Chu and Liu's
and Edmonds' algorithm, with a price on each item that is raised where more than one item follows it.
"""

from collections.abc import Callable, Mapping, Sequence
from math import ceil, inf
from typing import NamedTuple

from showrunner.planning.task import Task

ROUNDS = 120

ROUNDING = 1e-9
"""What floats may add to the bound, as a share of the cost; taken off, so that it stays a bound."""


class Bound(NamedTuple):
    """A whole-number cost that no order undercuts, and the steps that an order cheaper than `upper` may take.

    `may[a][b]`: from a to b; the row after the last is the start, the column after the last the end.
    """

    value: int
    may: list[list[bool]]


def lower_bound(task: Task, upper: int, expired: Callable[[], bool]) -> Bound:
    """The bound after some rounds of pulling; `upper` is the cost of an order already found."""
    size = task.size
    root, rows = size, [[float(value) for value in row] for row in (*_place_aware(task), task.start)]
    prices, best, best_prices, step = [0.0] * (size + 1), -inf, [0.0] * (size + 1), 1.0
    rounding = ROUNDING * max(1.0, abs(upper))
    for _ in range(ROUNDS):
        priced = [[value + price for value in row] for row, price in zip(rows, prices, strict=True)]
        leave = [end + price for end, price in zip(task.end, prices, strict=False)]
        parents = arborescence(priced, root)
        last = min(range(size), key=leave.__getitem__)
        value = sum(priced[parents[b]][b] for b in range(size)) + leave[last] - sum(prices)
        if value > best:
            best, best_prices = value, prices
        else:
            step *= 0.93
        off = [-1] * (size + 1)
        for b in (*parents[:size], last):
            off[b] += 1
        square = sum(d * d for d in off)
        if square == 0 or best > upper - 1 + rounding or expired():
            break
        scale = step * max(upper - value, 1e-3) / square
        prices = [price + scale * d for price, d in zip(prices, off, strict=True)]
    priced = [[value + price for value in row] for row, price in zip(rows, best_prices, strict=True)]
    leave = [end + price for end, price in zip(task.end, best_prices, strict=False)]
    room = upper - 1 - best + rounding
    may = [[spare <= room for spare in row] for row in spare_costs(priced, root)]
    may = [[*row, end - min(leave) <= room] for row, end in zip(may, (*leave, inf), strict=True)]
    return Bound(min(upper, ceil(best - rounding)), may)


def _place_aware(task: Task) -> list[list[int]]:
    """The costs without the steps that fixed places rule out."""
    rows = [list(row) for row in task.cost]
    place_of = {item: place for place, item in task.fixed.items()}
    for a in range(task.size):
        for b in range(task.size):
            if a in place_of and task.fixed.get(place_of[a] + 1, b) != b:
                rows[a][b] = task.never
            if b in place_of and task.fixed.get(place_of[b] - 1, a) != a:
                rows[a][b] = task.never
            if a in place_of and b in place_of and place_of[b] != place_of[a] + 1:
                rows[a][b] = task.never
    return rows


def arborescence(cost: Sequence[Sequence[float]], root: int) -> list[int]:
    """Each node's parent in the cheapest tree from `root`; the root's own is itself. `cost[a][b]` is from a to b."""
    size = len(cost)
    parents = [root] * size
    for b in range(size):
        if b != root:
            parents[b] = min((a for a in range(size) if a != b), key=lambda a: cost[a][b] if b < len(cost[a]) else inf)
    cycle = _cycle_of(dict(enumerate(parents)), root)
    if not cycle:
        return parents
    inside = set(cycle)
    outside = [node for node in range(size) if node not in inside]
    index = {node: i for i, node in enumerate(outside)}
    merged = len(outside)
    small = [[cost[a][b] if b < len(cost[a]) else inf for b in outside] + [inf] for a in outside]
    small.append([inf] * (merged + 1))
    enters, leaves = {}, {}
    for a in outside:
        b = min(inside, key=lambda b: cost[a][b] - cost[parents[b]][b])
        enters[a] = b
        small[index[a]][merged] = cost[a][b] - cost[parents[b]][b]
    for b in outside:
        if b != root:
            a = min(inside, key=lambda a: cost[a][b])
            leaves[b] = a
            small[merged][index[b]] = cost[a][b]
    for i, parent in enumerate(arborescence(small, index[root])):
        if i == merged:
            entry = outside[parent]
            parents[enters[entry]] = entry
        elif outside[i] != root:
            parents[outside[i]] = leaves[outside[i]] if parent == merged else outside[parent]
    return parents


def _cycle_of(parent: Mapping[int, int], root: int) -> list[int]:
    """The nodes of a cycle on the way to the root, none if every way ends there."""
    seen = {root: root}
    for start in parent:
        node = start
        while node not in seen:
            seen[node] = start
            node = parent[node]
        if seen[node] == start and node != root:
            cycle = [node]
            while parent[cycle[-1]] != node:
                cycle.append(parent[cycle[-1]])
            return cycle
    return []


def spare_costs(cost: Sequence[Sequence[float]], root: int) -> list[list[float]]:
    """How much dearer than the cheapest tree one with the step a to b is at least: the dual's reduced costs.

    Every group of nodes that the algorithm contracts takes off what the cheapest step into it costs.
    """
    size = len(cost)
    spare = [[inf if a == b else cost[a][b] for b in range(root)] for a in range(size)]
    group = list(range(size))
    while True:
        parent: dict[int, int] = {}
        for into in sorted(set(group) - {group[root]}):
            heads = [b for b in range(root) if group[b] == into]
            steps = [(spare[a][b], a, b) for b in heads for a in range(size) if group[a] != into]
            least, a, _ = min(steps)
            parent[into] = group[a]
            for _, a, b in steps:
                spare[a][b] -= least
        cycle = _cycle_of(parent, group[root])
        if not cycle:
            return spare
        group = [cycle[0] if g in cycle else g for g in group]
