"""The one exchange of two songs that helps most, and the two."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.really import NEVER, whole
from showrunner.planning.rearrange import reordered
from showrunner.planning.setmatrix import matrix_of
from showrunner.planning.setorder import total_s
from showrunner.planning.task import make_task

FIRSTS = 300
"""After how many of the best first exchanges a second one is looked for: all that 25 songs have."""


class Exchange(NamedTuple):
    """Songs that change places, pair after pair, and what the changeovers take then."""

    pairs: tuple[tuple[str, str], ...]
    show: Show
    after_s: float


def best_exchanges(book: Book, show: Show, rig: Rig) -> tuple[Exchange, ...]:
    """The best single exchange and the best two after one another, each only where it saves more than the one before.

    Pins hold. The two are the best of all for up to 25 songs, else of those that begin with a good one.
    """
    matrix = matrix_of(book, show, rig)
    if len(matrix.songs) < 2:
        return ()
    task = make_task(matrix.cost, matrix.fixed, matrix.after, matrix.not_after, False)

    def took(order: Sequence[int]) -> int:
        allowed = task.in_place(order) and task.total(order) < task.never
        return whole(matrix.really(order)[0]) if allowed else NEVER

    written = list(range(task.size))
    held = {item for place, item in matrix.fixed.items() if place == item}
    free = [item for item in written if item not in held]
    ones = sorted((took(order), pair, order) for pair, order in _exchanged(written, free))
    twos = (
        (took(second), (pair, more), second)
        for _, pair, first in ones[:FIRSTS]
        for more, second in _exchanged(first, free)
    )
    found: list[Exchange] = []
    least = whole(matrix.really(written)[0])
    singles = ((cost, (pair,), order) for cost, pair, order in ones)
    for best in (min(singles, default=None), min(twos, default=None)):
        if best is None or best[0] >= min(least, NEVER):
            continue
        least, pairs, order = best
        better = reordered(show, [matrix.songs[item] for item in order])
        songs = tuple((matrix.songs[a], matrix.songs[b]) for a, b in pairs)
        found.append(Exchange(songs, better, total_s(book, better, rig)))
    return tuple(found)


def _exchanged(order: Sequence[int], free: Sequence[int]) -> Iterator[tuple[tuple[int, int], list[int]]]:
    place = {item: index for index, item in enumerate(order)}
    for index, a in enumerate(free):
        for b in free[index + 1 :]:
            changed = list(order)
            changed[place[a]], changed[place[b]] = b, a
            yield (a, b), changed
