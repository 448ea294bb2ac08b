"""A better order with optional songs left out for as long as the show or one of its sets is over its time."""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.order import SECONDS
from showrunner.planning.rearrange import without
from showrunner.planning.setorder import BetterOrder, better_order
from showrunner.planning.timing import NOTHING, RunningTime, running_time


class Fitted(NamedTuple):
    """The order found, the songs left out for it, and the running time then."""

    better: BetterOrder
    left_out: tuple[str, ...]
    time: RunningTime


def fitted(
    book: Book,
    show: Show,
    rig: Rig,
    *,
    across_sets: bool = False,
    in_time: bool = False,
    played: Mapping[str, Sequence[float]] = NOTHING,
    seconds: float = SECONDS,
    expired: Callable[[], bool] = lambda: False,
) -> Fitted:
    """The order of the songs that fit: where the best order is over, what `running_time` says to drop is left out.

    What is left out joins the reserve. Still over its time if no optional song is left to drop.
    """
    left_out: tuple[str, ...] = ()
    while True:
        better = better_order(
            book,
            show,
            rig,
            across_sets=across_sets,
            in_time=in_time,
            played=played,
            seconds=seconds,
            expired=expired,
        )
        time = running_time(book, better.show, played=played, rig=rig)
        if not time.is_over or not time.drop:
            return Fitted(better, left_out, time)
        left_out += time.drop
        show = without(show, time.drop)
