"""The best order by dynamic programming over sets of items (Held and Karp, 1962), exact, in plain Python."""

from collections.abc import Sequence
from itertools import pairwise
from operator import add

from showrunner.planning.task import NoOrderError, Task


def best_order(task: Task) -> list[int]:
    """The cheapest order, of equals the one that comes first in the order of the items; NoOrderError if there is none.

    Time and memory grow as n·2ⁿ in the number of items that are not fixed.
    """
    free = [item for item in range(task.size) if item not in task.fixed.values()]
    runs = _fixed_runs(task)
    entry, layers, leave = _between(task, free, runs)
    if not free:
        order = runs[0]
        if task.total(order) >= task.never:
            raise NoOrderError("what is fixed is not allowed to follow each other")
        return order
    full = (1 << len(free)) - 1
    rest = _remaining_costs(layers, leave, task.never)
    first = list(map(add, entry, [rest[full ^ (1 << i)][i] for i in range(len(free))]))
    total = min(first)
    if total >= task.never:
        raise NoOrderError("no order meets the pins")
    at = first.index(total)
    picked, left = [at], full ^ (1 << at)
    while left:
        layer, goal = layers[len(picked) - 1], rest[left][at]
        at = next(i for i in _bits(left) if layer[at][i] + rest[left ^ (1 << i)][i] == goal)
        left ^= 1 << at
        picked.append(at)
    order = list(runs[0])
    for run, index in zip(runs[1:], picked, strict=True):
        order += [free[index], *run]
    return order


def _remaining_costs(layers: Sequence[Sequence[Sequence[int]]], leave: Sequence[int], never: int) -> list[list[int]]:
    """For each set of items still to come and each item before them, the least cost to the end."""
    count = len(leave)
    rest: list[list[int]] = [list(leave)]
    for left in range(1, 1 << count):
        layer = layers[count - left.bit_count() - 1] if left.bit_count() < count else None
        if layer is None:
            rest.append([])
            continue
        ways = [rest[left ^ (1 << i)][i] if left >> i & 1 else never for i in range(count)]
        rest.append([never if left >> j & 1 else min(map(add, layer[j], ways)) for j in range(count)])
    return rest


def _fixed_runs(task: Task) -> list[list[int]]:
    """The fixed items before the first free place, between each two, and after the last."""
    runs: list[list[int]] = [[]]
    for place in range(task.size):
        if place in task.fixed:
            runs[-1].append(task.fixed[place])
        else:
            runs.append([])
    return runs


def _between(
    task: Task, free: Sequence[int], runs: Sequence[Sequence[int]]
) -> tuple[list[int], list[list[list[int]]], list[int]]:
    """Costs to the first free item, from each free place to the next, and from the last, through the fixed runs."""
    first, *middle, last = runs if len(runs) > 1 else (runs[0], [])
    entry = [_through(task, [*first, i], starts=True) for i in free]
    leave = [_through(task, [i, *last], ends=True) for i in free]
    layers = [[[_through(task, [a, *run, b]) for b in free] for a in free] for run in middle]
    return entry, layers, leave


def _through(task: Task, line: Sequence[int], starts: bool = False, ends: bool = False) -> int:
    cost = sum(task.cost[a][b] for a, b in pairwise(line))
    return cost + (task.start[line[0]] if starts else 0) + (task.end[line[-1]] if ends else 0)


def _bits(mask: int) -> list[int]:
    return [i for i in range(mask.bit_length()) if mask >> i & 1]
