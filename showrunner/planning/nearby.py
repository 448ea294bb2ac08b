"""A good order by exchanging neighbouring runs of items, with kicks that depend on a seed alone; nothing is proved."""

from collections.abc import Callable, Iterator, Sequence

from showrunner.planning.task import Task


def good_order(
    task: Task,
    seed: int,
    expired: Callable[[], bool],
    kicks: int,
    total: Callable[[Sequence[int]], int] | None = None,
    written: Sequence[int] = (),
) -> list[int]:
    """The cheapest order found from the written one; it may break pins, then its cost is at least `task.never`.

    `total` is what an order costs where that is more than its steps, `written` the order to begin from where that is
    not the items' own.
    """
    free_places = [place for place in range(task.size) if place not in task.fixed]
    best = _descend(task, free_places, _with_pins(task, written or range(task.size)), expired, total)
    best_cost, chance = (total or task.total)(best), _chances(seed)
    for _ in range(kicks if len(free_places) > 3 else 0):
        if expired():
            break
        order = _descend(task, free_places, _kicked(best, free_places, chance), expired, total)
        if (cost := (total or task.total)(order)) < best_cost:
            best, best_cost = order, cost
    return best


def _with_pins(task: Task, written: Sequence[int]) -> list[int]:
    """The written order with what is fixed moved to its place."""
    others = iter(item for item in written if item not in task.fixed.values())
    return [task.fixed[place] if place in task.fixed else next(others) for place in range(task.size)]


def _descend(
    task: Task,
    places: Sequence[int],
    order: list[int],
    expired: Callable[[], bool],
    total: Callable[[Sequence[int]], int] | None,
) -> list[int]:
    """The order after neighbouring runs have changed places for as long as that made it cheaper."""
    in_line = total is None and (len(places) == places[-1] - places[0] + 1 if places else True)
    total = total or task.total
    now = total(order)
    better = True
    while better:
        better = False
        for a, b, c in _cuts(len(places)):
            if in_line:
                gain = _gain(task, order, places[0] + a, places[0] + b, places[0] + c)
                changed = None
            else:
                changed = _exchanged(order, places, a, b, c)
                gain = now - total(changed)
            if gain > 0:
                order = changed or _exchanged(order, places, a, b, c)
                now -= gain
                better = True
            if expired():
                return order
    return order


def _cuts(count: int) -> Iterator[tuple[int, int, int]]:
    """Where two neighbouring runs begin, meet and end."""
    for a in range(count - 1):
        for b in range(a + 1, count):
            for c in range(b + 1, count + 1):
                yield a, b, c


def _gain(task: Task, order: Sequence[int], a: int, b: int, c: int) -> int:
    """What is saved when the runs from a to b and from b to c change places."""
    cost, left, start, middle, right = task.cost, order[b - 1], order[a], order[b], order[c - 1]
    gain = cost[left][middle] - cost[right][start]
    gain += cost[order[a - 1]][start] - cost[order[a - 1]][middle] if a else task.start[start] - task.start[middle]
    if c == len(order):
        return gain + task.end[right] - task.end[left]
    return gain + cost[right][order[c]] - cost[left][order[c]]


def _exchanged(order: Sequence[int], places: Sequence[int], a: int, b: int, c: int) -> list[int]:
    items = [order[place] for place in places]
    return _put(order, places, items[:a] + items[b:c] + items[a:b] + items[c:])


def _put(order: Sequence[int], places: Sequence[int], items: Sequence[int]) -> list[int]:
    changed = list(order)
    for place, item in zip(places, items, strict=True):
        changed[place] = item
    return changed


def _kicked(order: Sequence[int], places: Sequence[int], chance: Iterator[int]) -> list[int]:
    """Twice two neighbouring runs change places, which one exchange does not undo."""
    order = list(order)
    for _ in range(2):
        a, b, c = sorted(next(chance) % (len(places) + 1) for _ in range(3))
        order = _exchanged(order, places, a, b, c)
    return order


def _chances(seed: int) -> Iterator[int]:
    """Numbers without a pattern that matters here, the same for the same seed (linear congruential, 2⁶⁴)."""
    state = seed
    while True:
        state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
        yield state >> 33
