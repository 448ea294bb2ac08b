"""The soundcheck: few moments that let everything of the show be heard, in an order that saves changeovers."""

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning import handwork
from showrunner.planning.spots import LOUDEST, QUIETEST, TAIL, Spot, getting_to_s, hands, spots

PASSES = 4
LESS_S = 1e-6

WEIGHTS = (
    (LOUDEST, 40),
    (QUIETEST, 40),
    ("guitar ", 30),
    ("tuning ", 20),
    (TAIL, 15),
    ("control ", 10),
    ("target ", 5),
    ("curves ", 2),
)
"""What counts how much where time is short, by how its name begins; our own figures, no source."""

DRIVER_WEIGHT = 15

Plan = tuple[int, ...]
"""Spots to play, by their number among the candidates; song one's beginning last."""


class Step(NamedTuple):
    """A spot of the plan, the seconds it takes to get to it, and what hands and feet do before it."""

    getting_s: float
    spot: Spot
    hands: tuple[handwork.Step, ...]


class Soundcheck(NamedTuple):
    """What to play in order, the seconds it all takes, and what stays unheard, the most important first."""

    steps: tuple[Step, ...]
    total_s: float
    uncovered: tuple[str, ...]


class Ground(NamedTuple):
    """What a plan is chosen from: the candidates, and the seconds from the end of each to the start of each other.

    `ready_s` are the seconds before each if it comes first. What it really takes to get to a spot depends on all those
    before it (`played`), where a song names no guitar or a control has no rest.
    """

    spots: tuple[Spot, ...]
    apart_s: tuple[tuple[float, ...], ...]
    ready_s: tuple[float, ...]

    def total_s(self, plan: Plan) -> float:
        """Seconds of a plan, with what comes before its spots."""
        return math.fsum(self.spots[at].seconds for at in plan) + math.fsum(self.getting_s(plan))

    def getting_s(self, plan: Plan) -> list[float]:
        """Seconds that it takes to get to each spot of a plan."""
        return [self.ready_s[at] for at in plan[:1]] + [self.apart_s[a][b] for a, b in pairwise(plan)]

    def covered(self, plan: Iterable[int]) -> frozenset[str]:
        """Everything that a plan lets be heard."""
        return frozenset().union(*(self.spots[at].covers for at in plan))

    @property
    def everything(self) -> frozenset[str]:
        """All that any candidate lets be heard."""
        return self.covered(range(len(self.spots)))

    def put_in(self, plan: Plan, spot: int) -> Plan:
        """The plan with a spot where it costs least, before the last."""
        costs = [self._detour_s(plan, at, spot) for at in range(len(plan))]
        at = costs.index(min(costs))
        return (*plan[:at], spot, *plan[at:])

    def _detour_s(self, plan: Plan, at: int, spot: int) -> float:
        before = self.ready_s if at == 0 else self.apart_s[plan[at - 1]]
        return before[spot] + self.apart_s[spot][plan[at]] - before[plan[at]]


def soundcheck(book: Book, show: Show, rig: Rig, budget_s: float | None = None) -> Soundcheck:
    """A plan that ends as song one begins: it covers everything, or within `budget_s` what matters most."""
    ground = ground_of(book, show, rig)
    if not ground.spots:
        return Soundcheck((), 0.0, ())
    plan = best(ground)
    steps, allowed_s = played(ground, plan), budget_s
    while budget_s is not None and allowed_s is not None and (over_s := _total_s(steps) - budget_s) > LESS_S:
        plan = best_within(ground, allowed_s)
        steps, allowed_s = played(ground, plan), allowed_s - over_s
    unheard = sorted(ground.everything - ground.covered(plan), key=lambda name: (-weight(name), name))
    return Soundcheck(steps, _total_s(steps), tuple(unheard))


def played(ground: Ground, plan: Plan) -> tuple[Step, ...]:
    """A plan's spots one after another, with all that the spots before each have left behind."""
    now = [ground.spots[at] for at in plan]
    befores: list[Spot | None] = [None, *now]
    return tuple(
        Step(getting_to_s(before, spot, todo), spot, todo)
        for before, spot, todo in zip(befores, now, hands(now), strict=False)
    )


def _total_s(steps: Iterable[Step]) -> float:
    return math.fsum(step.getting_s + step.spot.seconds for step in steps)


def ground_of(book: Book, show: Show, rig: Rig) -> Ground:
    """The candidates of a show on a rig, in the show's order, how far apart they are, and how far from nothing."""
    candidates = spots(book, show, rig)
    return Ground(
        candidates,
        tuple(tuple(getting_to_s(a, b) for b in candidates) for a in candidates),
        tuple(getting_to_s(None, a) for a in candidates),
    )


def weight(name: str) -> int:
    """How much it matters that something is heard."""
    return next((count for start, count in WEIGHTS if name.startswith(start)), DRIVER_WEIGHT)


def greedy(ground: Ground) -> Plan:
    """The plain way: next always what lets most be heard for its time, song one's beginning last."""
    wanted = ground.everything - ground.spots[0].covers
    plan: Plan = ()
    while wanted:
        gains = [
            len(spot.covers & wanted) / (spot.seconds + (ground.apart_s[plan[-1]] if plan else ground.ready_s)[at])
            for at, spot in enumerate(ground.spots)
        ]
        plan = (*plan, gains.index(max(gains)))
        wanted -= ground.spots[plan[-1]].covers
    return (*plan, 0)


def best(ground: Ground) -> Plan:
    """The shortest plan found that covers everything: from the plain greedy one, and from one grown around the end."""
    return min((shortened(ground, start) for start in (greedy(ground), best_within(ground))), key=ground.total_s)


def shortened(ground: Ground, plan: Plan) -> Plan:
    """A plan that covers as much in no more time: grouped by guitar, then spots dropped, exchanged and moved."""
    now = min((plan, grouped(ground, plan)), key=ground.total_s)
    for _ in range(PASSES):
        before = ground.total_s(now)
        for neighbours in (_without_one, _with_one_more, _with_one_exchanged, _with_one_moved):
            while True:
                better = min(neighbours(ground, now), key=ground.total_s, default=now)
                if ground.total_s(better) > ground.total_s(now) - LESS_S:
                    break
                now = better
        if ground.total_s(now) > before - LESS_S:
            break
    return now


def grouped(ground: Ground, plan: Plan) -> Plan:
    """The same spots by guitar, tuning, capo and song, song one's at the end; groups as the plan comes to them."""
    last = ground.spots[plan[-1]]
    first: dict[Group, int] = {}
    for place, at in enumerate(plan):
        for group in _groups(ground.spots[at]):
            first.setdefault(group, place)

    def place_of(at: int) -> tuple[tuple[bool, int], ...]:
        spot = ground.spots[at]
        keys = [(group in _groups(last), first[group]) for group in _groups(spot)]
        return (*keys, (False, spot.number))

    return (*sorted(plan[:-1], key=place_of), plan[-1])


Group = tuple[str | int | None, ...]


def _groups(spot: Spot) -> tuple[Group, Group, Group]:
    """What a spot belongs to, from the widest: its guitar, that guitar's setting, its song."""
    setting = (spot.guitar, spot.tuning, spot.capo)
    return (spot.guitar,), setting, (*setting, spot.song)


def best_within(ground: Ground, budget_s: float = math.inf) -> Plan:
    """The plan that greedy choice by weight and time fits into the seconds given; empty where not even its end fits."""
    plan: Plan = (0,)
    if ground.total_s(plan) > budget_s:
        return ()
    while True:
        unheard, now_s = ground.everything - ground.covered(plan), ground.total_s(plan)
        most: tuple[float, Plan] | None = None
        for at, spot in enumerate(ground.spots):
            worth = sum(weight(name) for name in spot.covers & unheard)
            if not worth:
                continue
            longer = ground.put_in(plan, at)
            value = worth / max(ground.total_s(longer) - now_s, 1.0)
            if ground.total_s(longer) <= budget_s and (most is None or value > most[0]):
                most = value, longer
        if most is None:
            return plan
        plan = most[1]


def _without_one(ground: Ground, plan: Plan) -> Iterable[Plan]:
    """Plans without a spot that the others make up for."""
    wanted = ground.covered(plan)
    for at in range(len(plan) - 1):
        rest = (*plan[:at], *plan[at + 1 :])
        if ground.covered(rest) == wanted:
            yield rest


def _with_one_more(ground: Ground, plan: Plan) -> Iterable[Plan]:
    """Plans with a spot put in, and left without all that it makes up for."""
    for other in set(range(len(ground.spots))) - set(plan):
        longer = ground.put_in(plan, other)
        while shorter := list(_without_one(ground, longer)):
            longer = min(shorter, key=ground.total_s)
        yield longer


def _with_one_exchanged(ground: Ground, plan: Plan) -> Iterable[Plan]:
    """Plans with another spot in the place of one, that cover as much."""
    wanted = ground.covered(plan)
    for at in range(len(plan) - 1):
        rest = (*plan[:at], *plan[at + 1 :])
        missing = wanted - ground.covered(rest)
        for other, spot in enumerate(ground.spots):
            if other != plan[at] and spot.covers >= missing:
                yield ground.put_in(rest, other)


def _with_one_moved(ground: Ground, plan: Plan) -> Iterable[Plan]:
    """Plans with a spot where it costs least."""
    for at in range(len(plan) - 1):
        yield ground.put_in((*plan[:at], *plan[at + 1 :]), plan[at])
