"""A good order by moving runs of items and swapping, with kicks that depend on a seed alone; nothing is proved."""

from collections.abc import Callable, Iterator, Sequence

from showrunner.planning.task import Task

LONGEST_RUN = 4


def good_order(task: Task, seed: int, expired: Callable[[], bool], kicks: int) -> list[int]:
    """The cheapest order found from the written one; it may break pins, then its cost is at least `task.never`."""
    free_places = [place for place in range(task.size) if place not in task.fixed]
    best = _descend(task, free_places, _with_pins(task), expired)
    best_cost, chance = task.total(best), _chances(seed)
    for _ in range(kicks if len(free_places) > 3 else 0):
        if expired():
            break
        order = _descend(task, free_places, _kicked(best, free_places, chance), expired)
        if (cost := task.total(order)) < best_cost:
            best, best_cost = order, cost
    return best


def _with_pins(task: Task) -> list[int]:
    """The written order with what is fixed moved to its place."""
    others = iter(item for item in range(task.size) if item not in task.fixed.values())
    return [task.fixed[place] if place in task.fixed else next(others) for place in range(task.size)]


def _descend(task: Task, places: Sequence[int], order: list[int], expired: Callable[[], bool]) -> list[int]:
    cost, better = task.total(order), True
    while better:
        better = False
        for changed in _neighbours(order, places):
            if (changed_cost := task.total(changed)) < cost:
                order, cost, better = changed, changed_cost, True
                break
            if expired():
                return order
    return order


def _neighbours(order: Sequence[int], places: Sequence[int]) -> Iterator[list[int]]:
    """Every order with one run moved, two items swapped or one run turned round, fixed places left alone."""
    items = [order[place] for place in places]
    count = len(items)
    for length in range(1, min(LONGEST_RUN, count - 1) + 1):
        for start in range(count - length + 1):
            run, others = items[start : start + length], items[:start] + items[start + length :]
            for to in range(len(others) + 1):
                if to != start:
                    yield _put(order, places, others[:to] + run + others[to:])
    for a in range(count):
        for b in range(a + 2, count):
            swapped = list(items)
            swapped[a], swapped[b] = items[b], items[a]
            yield _put(order, places, swapped)
            yield _put(order, places, items[:a] + items[a : b + 1][::-1] + items[b + 1 :])


def _put(order: Sequence[int], places: Sequence[int], items: Sequence[int]) -> list[int]:
    changed = list(order)
    for place, item in zip(places, items, strict=True):
        changed[place] = item
    return changed


def _kicked(order: Sequence[int], places: Sequence[int], chance: Iterator[int]) -> list[int]:
    """The two middle parts of three cuts change places, which moves of single runs do not undo."""
    items = [order[place] for place in places]
    a, b, c = sorted(next(chance) % (len(items) + 1) for _ in range(3))
    return _put(order, places, items[:a] + items[b:c] + items[a:b] + items[c:])


def _chances(seed: int) -> Iterator[int]:
    """Numbers without a pattern that matters here, the same for the same seed (linear congruential, 2⁶⁴)."""
    state = seed
    while True:
        state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
        yield state >> 33
