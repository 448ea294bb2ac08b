"""A better order in which songs may move between sets, while each set keeps its length.

The breaks stand in the line as items of their own, so that the order is a task like any other with conditions on top:
local search finds an order that meets them, Held and Karp's bound of the task without them holds for it as well, and
CP-SAT closes the gap if it is installed (extra `order`).
"""

from collections.abc import Callable, Mapping, Sequence
from math import inf
from typing import Any, NamedTuple

from showrunner.planning import exact
from showrunner.planning.bound import lower_bound
from showrunner.planning.nearby import good_order
from showrunner.planning.really import NEVER, cheapest, whole
from showrunner.planning.setparts import Parts
from showrunner.planning.task import NoneFoundError, NoOrderError, Task, make_task

KICKS_BEFORE_PROOF = 2
KICKS = 30
SEED = 1


class Shared(NamedTuple):
    """The songs of each set, what no way to share them out undercuts, and whether the written one is allowed."""

    sets: tuple[tuple[int, ...], ...]
    bound: float
    allowed: bool


class _Line(NamedTuple):
    """Songs, then the breaks between sets, then the encore if there is one: the items of a task.

    `extra` is what a break costs between two songs, by break, over the least that it costs after the first of them.
    """

    parts: Parts
    task: Task
    extra: Mapping[tuple[int, int, int], int]

    @property
    def songs(self) -> int:
        """How many songs there are; the breaks' numbers begin there."""
        return len(self.parts.songs)

    @property
    def breaks(self) -> int:
        """How many breaks there are."""
        return len(self.parts.sets) - 1

    @property
    def written(self) -> list[int]:
        """The items as the show has them."""
        order: list[int] = []
        for number, songs in enumerate(self.parts.written):
            order += [self.songs + number - 1] if number else []
            order += songs
        return order + list(range(len(order), self.task.size))

    def sets(self, order: Sequence[int]) -> list[list[int]] | None:
        """The songs of each set, None if a set is empty or the breaks are not in their order."""
        found: list[list[int]] = [[]]
        for item in order:
            if item < self.songs:
                found[-1].append(item)
            elif item < self.songs + self.breaks:
                if item != self.songs + len(found) - 1:
                    return None
                found.append([])
        return found if all(found) else None

    def total(self, order: Sequence[int]) -> int:
        """All that an order costs; at least `task.never` where it breaks a condition, by how much it does."""
        sets = self.sets(order)
        if sets is None:
            return self.task.total(order) + self.task.never * 10**6
        over = sum(self.extra.get((k, sets[k][-1], sets[k + 1][0]), 0) for k in range(self.breaks))
        return self.task.total(order) + over + self.task.never * self._broken(sets)

    def _broken(self, sets: Sequence[Sequence[int]]) -> int:
        """Seconds by which sets are too long or too short, and ten for each pin that does not hold."""
        parts, broken = self.parts, 0
        for songs, least, most in zip(sets, parts.least_ms, parts.most_ms, strict=True):
            length = parts.length_ms(songs)
            broken += -(-max(0, least - length, length - most) // 1000)
        for song, (number, place) in parts.here.items():
            broken += 10 * (place >= len(sets[number]) or sets[number][place] != song)
        meets = {(sets[k][-1], sets[k + 1][0]) for k in range(self.breaks)}
        return broken + 10 * sum(pair in meets for pair in parts.apart)


def share_out(
    parts: Parts,
    price: Callable[[tuple[float, float]], int],
    seconds: float,
    expired: Callable[[], bool],
    cp_model: Any | None,
) -> Shared:
    """The cheapest order of all songs with every set as long as it has to be; of equals the written one.

    The search is after what the parts cost at least; where the stage carried through makes the order found cost more,
    others are tried by what they really cost, the `price` of their seconds and seconds short. `seconds` limit CP-SAT,
    None where it is not to be had, and `expired`, asked now and then, local search.
    NoOrderError if no order meets the pins and the lengths, or none was found.
    """
    line = _line(parts)
    task = line.task
    order = good_order(task, SEED, expired, KICKS if cp_model is None else KICKS_BEFORE_PROOF, line.total, line.written)
    upper = line.total(order)
    bound, may = lower_bound(task, min(upper, task.never), expired)
    if bound < upper and cp_model is not None:
        better, proved = exact.cheaper(
            task, upper, bound, may, seconds, cp_model, lambda model, steps: _conditions(line, model, steps), line.total
        )
        order, bound = better or order, max(bound, proved)

    def plain_s(total: int) -> float:
        return total / task.scale.numerator * task.scale.denominator + parts.encore_s

    def least(order: Sequence[int]) -> int:
        return whole(plain_s(line.total(order)))

    def really(order: Sequence[int]) -> int:
        sets, total = line.sets(order), line.total(order)
        allowed = sets is not None and total < task.never and task.in_place(order)
        return price(parts.really(sets)) if sets is not None and allowed else NEVER + total

    order = cheapest(task, (line.written, order), least, really, expired)
    sets = line.sets(order)
    if sets is None or really(order) >= NEVER:
        if bound >= task.never:
            raise NoOrderError("no order keeps the sets' lengths and the pins")
        raise NoneFoundError("no order was found that keeps the sets' lengths and the pins")
    return Shared(tuple(map(tuple, sets)), plain_s(bound), really(line.written) < NEVER)


def _line(parts: Parts) -> _Line:
    songs, breaks, encore = len(parts.songs), len(parts.sets) - 1, any(parts.end) or parts.encore_s > 0
    size = songs + breaks + encore
    cost = [[inf] * size for _ in range(size)]
    over: dict[tuple[int, int, int], float] = {}
    for a in range(songs):
        cost[a][:songs] = parts.cost[a]
        for k in range(breaks):
            cost[a][songs + k] = min((s for b, s in enumerate(parts.over[k][a]) if b != a), default=inf)
            more = {(k, a, b): s - cost[a][songs + k] for b, s in enumerate(parts.over[k][a]) if b != a}
            over |= {key: s for key, s in more.items() if s > 0}
        if encore:
            cost[a][-1] = parts.end[a]
    for k in range(breaks):
        cost[songs + k][:songs] = [0.0] * songs
    fixed, after = _ends(parts, {size - 1: size - 1} if encore else {}, size)
    task = make_task(cost, fixed, after, parts.apart, False, also=tuple(over.values()))
    markers = set(range(songs, songs + breaks))
    start = tuple(task.never if item in markers else value for item, value in enumerate(task.start))
    end = tuple(task.never if item in markers else value for item, value in enumerate(task.end))
    extra = {key: round(s * task.scale) for key, s in over.items()}
    return _Line(parts, task._replace(start=start, end=end), extra)


def _ends(parts: Parts, fixed: dict[int, int], size: int) -> tuple[dict[int, int], list[tuple[int, int]]]:
    """What is pinned to the line's ends, and what to a break or the encore; with the segues, as pairs."""
    songs, after = len(parts.songs), list(parts.tied)
    for song, number in parts.opens.items():
        if number:
            after.append((songs + number - 1, song))
        elif fixed.setdefault(0, song) != song:
            raise NoOrderError(f'"{parts.songs[song]}" and "{parts.songs[fixed[0]]}" are pinned to the same place')
    for song, number in parts.closes.items():
        if number < len(parts.sets) - 1:
            after.append((song, songs + number))
        elif size - 1 in fixed and fixed[size - 1] >= songs:
            after.append((song, size - 1))
        elif fixed.setdefault(size - 1, song) != song:
            other = parts.songs[fixed[size - 1]]
            raise NoOrderError(f'"{parts.songs[song]}" and "{other}" are pinned to the same place')
    for k, a, b in parts.tied_over:
        after += [(a, songs + k), (songs + k, b)]
    return fixed, list(dict.fromkeys(after))


def _conditions(line: _Line, model: Any, steps: Mapping[tuple[int, int], Any]) -> Any:
    """Which set each song is in, how long the sets are, and what no single step says; gives what breaks cost on top."""
    parts, songs, last = line.parts, line.songs, line.breaks
    within = [[model.new_bool_var("") for _ in parts.sets] for _ in range(songs)]
    ends: list[list[tuple[int, Any]]] = [[] for _ in parts.sets]
    for in_sets in within:
        model.add_exactly_one(in_sets)
    for (a, b), step in steps.items():
        if a < songs and b < songs:
            for here, there in zip(within[a], within[b], strict=True):
                model.add_bool_or([step.negated(), here.negated(), there])
        elif a < songs:
            number = b - songs if b < songs + last else last
            model.add_implication(step, within[a][number])
            ends[number].append((a, step))
        elif b < songs:
            number = a - songs + 1 if a < songs + last else 0
            model.add_implication(step, within[b][number])
    for number, (least, most) in enumerate(zip(parts.least_ms, parts.most_ms, strict=True)):
        length = sum(parts.lasts_ms[song] * within[song][number] for song in range(songs))
        length -= sum(parts.pause_ms[song] * step for song, step in ends[number])
        model.add_linear_constraint(length, least, most)
    _places(line, model, steps, within)
    return _over_breaks(line, model, steps)


def _places(line: _Line, model: Any, steps: Mapping[tuple[int, int], Any], within: Sequence[Sequence[Any]]) -> None:
    """Places in the sets, needed only where a song is pinned to one."""
    if not line.parts.here:
        return
    songs = line.songs
    places = [model.new_int_var(0, songs - 1, "") for _ in range(songs)]
    for (a, b), step in steps.items():
        if b < songs:
            model.add(places[b] == (places[a] + 1 if a < songs else 0)).only_enforce_if(step)
    for song, (number, place) in line.parts.here.items():
        model.add(places[song] == place)
        model.add(within[song][number] == 1)


def _over_breaks(line: _Line, model: Any, steps: Mapping[tuple[int, int], Any]) -> Any:
    """Keeps apart what a break does not separate, and gives what breaks cost on top."""
    songs, paid = line.songs, []
    for k in range(line.breaks):
        for a, b in line.parts.apart:
            if (a, songs + k) in steps and (songs + k, b) in steps:
                model.add_bool_or([steps[a, songs + k].negated(), steps[songs + k, b].negated()])
    for (k, a, b), cost in line.extra.items():
        if (a, songs + k) in steps and (songs + k, b) in steps:
            both = model.new_bool_var("")
            model.add_bool_or([steps[a, songs + k].negated(), steps[songs + k, b].negated(), both])
            paid.append(cost * both)
    return sum(paid)
