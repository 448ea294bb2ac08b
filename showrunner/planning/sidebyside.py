"""The least time for things to do that share two hands and two feet, some waiting for others."""

from collections.abc import Sequence
from typing import NamedTuple

MANY = 12
TRIES = 20_000
"""More jobs than this, or tries, and the best order found so far is taken; a changeover needs a few."""


class Job(NamedTuple):
    """One thing to do: how long, with which limbs all at once, and the indices of those it waits for."""

    seconds: float
    limbs: tuple[str, ...]
    waits_for: tuple[int, ...] = ()


def least_time_s(jobs: Sequence[Job]) -> float:
    """Seconds until all are done in the best order, each begun as early as its limbs and what it waits for allow.

    Exact for what one changeover has to do. `waits_for` must not go round in a circle.
    """
    return _Search(jobs).best_s if jobs else 0.0


def no_less_s(jobs: Sequence[Job]) -> float:
    """Seconds that no order undercuts, whether or not the best one could be found; those of the best where it was."""
    search = _Search(jobs) if jobs else None
    return 0.0 if search is None else search.best_s if search.exact else search.least_s


class _Search:
    """Begins jobs in every order that could do better than the best found, longest chains first."""

    def __init__(self, jobs: Sequence[Job]) -> None:
        self.jobs, self.tries = jobs, TRIES
        self.tails = [0.0] * len(jobs)
        for index in _last_first(jobs):
            after = (self.tails[i] for i, job in enumerate(jobs) if index in job.waits_for)
            self.tails[index] = jobs[index].seconds + max(after, default=0.0)
        self.limbs = sorted({limb for job in jobs for limb in job.limbs})
        self.least_s = self._least({}, {})
        self.best_s = self._straight_on()
        if self.best_s > self.least_s and len(jobs) <= MANY:
            self._try_all({}, {})

    @property
    def exact(self) -> bool:
        """Whether no order can end sooner than the best found."""
        return self.best_s <= self.least_s or (len(self.jobs) <= MANY and self.tries > 0)

    def _straight_on(self) -> float:
        """The first order that comes to mind: what can begin soonest, of that what most waits for."""
        free: dict[str, float] = {}
        ends: dict[int, float] = {}
        while len(ends) < len(self.jobs):
            i = self._ready(free, ends)[0]
            ends[i] = self._begins(i, free, ends) + self.jobs[i].seconds
            free |= dict.fromkeys(self.jobs[i].limbs, ends[i])
        return max(ends.values())

    def _try_all(self, free: dict[str, float], ends: dict[int, float]) -> None:
        if len(ends) == len(self.jobs):
            self.best_s = min(self.best_s, max(ends.values()))
            return
        for i in self._ready(free, ends):
            if self.best_s <= self.least_s or self.tries <= 0:
                return
            self.tries -= 1
            done_s = self._begins(i, free, ends) + self.jobs[i].seconds
            now_free, now_ends = free | dict.fromkeys(self.jobs[i].limbs, done_s), ends | {i: done_s}
            if self._least(now_free, now_ends) < self.best_s:
                self._try_all(now_free, now_ends)

    def _ready(self, free: dict[str, float], ends: dict[int, float]) -> list[int]:
        ready = [
            i for i, job in enumerate(self.jobs) if i not in ends and all(before in ends for before in job.waits_for)
        ]
        return sorted(ready, key=lambda i: (self._begins(i, free, ends), -self.tails[i], i))

    def _begins(self, index: int, free: dict[str, float], ends: dict[int, float]) -> float:
        job = self.jobs[index]
        limbs, before = (free.get(limb, 0.0) for limb in job.limbs), (ends.get(i, 0.0) for i in job.waits_for)
        return max([0.0, *limbs, *before])

    def _least(self, free: dict[str, float], ends: dict[int, float]) -> float:
        """No order of what is left ends sooner than its busiest limb or its longest chain."""
        left = [i for i in range(len(self.jobs)) if i not in ends]
        loads = (
            free.get(limb, 0.0) + sum(self.jobs[i].seconds for i in left if limb in self.jobs[i].limbs)
            for limb in self.limbs
        )
        return max([*loads, *(self._begins(i, free, ends) + self.tails[i] for i in left), *ends.values()])


def _last_first(jobs: Sequence[Job]) -> list[int]:
    """Indices so that every job comes after those that wait for it."""
    placed: list[int] = []
    while len(placed) < len(jobs):
        placed += [i for i, job in enumerate(jobs) if i not in placed and set(job.waits_for) <= set(placed)]
    return placed[::-1]
