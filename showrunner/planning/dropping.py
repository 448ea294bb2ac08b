"""Which optional songs to leave out so that a show and its sets end in time: the fewest that are enough."""

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Literal, NamedTuple

TRIES = 20_000
"""More ways to leave songs out are not tried; eight optional songs have 255 in all."""

Reaches = Literal["early", "in time", "too little"]
"""What leaving songs out comes to: an end with the margin before the limit, one within the limit, or neither."""


class Droppable(NamedTuple):
    """A song that may be left out, and its set's number.

    `lasts_s` is how long it and the pause after it are, `wins_s` the most that the show can get shorter without it.
    """

    song: str
    part: int
    lasts_s: float
    wins_s: float


class Left(NamedTuple):
    """Seconds over the limit and over the margin before it, None without a limit, and those of each set with a slot."""

    over_s: float | None
    early_s: float | None
    sets: Mapping[int, float]


class Drop(NamedTuple):
    """The songs to leave out, in the order they were given in, and what that comes to."""

    songs: tuple[str, ...]
    reaches: Reaches


def what_to_drop(optional: Sequence[Droppable], left: Callable[[Collection[str]], Left], tries: int = TRIES) -> Drop:
    """The fewest songs to leave out, of those the ones that take least time, of equals the later in the show.

    `left` says how far over the show and its sets are without some songs. Wanted is the margin before the limit; where
    not even all optional songs win that, the limit; where not that either, all of them go. So do all of a set that
    stays over its own slot without them.
    """
    now = left(())
    if _within(now.early_s) and all(map(_within, now.sets.values())):
        return Drop((), "early")
    bare = left([one.song for one in optional])
    hopeless = {part for part, over_s in bare.sets.items() if not _within(over_s)}
    reaches: Reaches = "early" if _within(bare.early_s) else "in time" if _within(bare.over_s) else "too little"
    gone = frozenset(one.song for one in optional if reaches == "too little" or one.part in hopeless)

    def over_s(songs: Collection[str]) -> float | None:
        then = left(gone.union(songs))
        ends_s = then.early_s if reaches == "early" else then.over_s if reaches == "in time" else None
        sets = [over_s for part, over_s in then.sets.items() if part not in hopeless]
        return max(sets if ends_s is None else [ends_s, *sets], default=None)

    may_go = [one for one in optional if one.song not in gone]
    gone |= frozenset(fewest(may_go, over_s, tries))
    return Drop(tuple(one.song for one in optional if one.song in gone), reaches)


def fewest(
    optional: Sequence[Droppable], over_s: Callable[[Collection[str]], float | None], tries: int = TRIES
) -> tuple[str, ...]:
    """The fewest songs without which nothing is over, of those the ones that take least time; all if none do.

    `over_s` are the seconds that are too many without some songs. Of equals, the later in the show go. Past so many
    tries the longest songs go until it is enough.
    """
    search = _Search(optional, over_s, tries)
    for count in range(len(optional) + 1):
        if (found := search.of(count)) is not None:
            return found
    longest = [one.song for one in sorted(optional, key=lambda one: -one.lasts_s)]
    counts = range(len(longest)) if search.tries <= 0 else ()
    return tuple(longest[: next((count for count in counts if _within(over_s(longest[:count]))), len(longest))])


class _Search:
    """Tries every way to leave out so many songs that could be enough and better than the best so far."""

    def __init__(
        self, optional: Sequence[Droppable], over_s: Callable[[Collection[str]], float | None], tries: int
    ) -> None:
        self.later_first, self.over_s, self.tries = list(reversed(optional)), over_s, tries
        self.needed_s = over_s(()) or 0.0

    def of(self, count: int) -> tuple[str, ...] | None:
        """The songs that last least together of so many that are enough; None if no so many are."""
        self.best: tuple[int, tuple[str, ...]] | None = None
        self._go_on((), 0, count)
        return self.best[1] if self.best is not None else None

    def _go_on(self, chosen: tuple[Droppable, ...], at: int, more: int) -> None:
        lasts_ms = sum(round(1000 * one.lasts_s) for one in chosen)
        rest = self.later_first[at:]
        shortest = sorted(round(1000 * one.lasts_s) for one in rest)[:more]
        most_s = sum(sorted((one.wins_s for one in rest), reverse=True)[:more])
        if self.best is not None and lasts_ms + sum(shortest) >= self.best[0]:
            return
        if len(rest) < more or sum(one.wins_s for one in chosen) + most_s < self.needed_s or self.tries <= 0:
            return
        if not more:
            self.tries -= 1
            names = tuple(one.song for one in chosen)
            if _within(self.over_s(names)):
                self.best = lasts_ms, names
            return
        for index in range(at, len(self.later_first)):
            self._go_on((*chosen, self.later_first[index]), index + 1, more - 1)


def _within(over_s: float | None) -> bool:
    return over_s is None or over_s <= 0
