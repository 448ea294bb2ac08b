"""What the set's screen says of an order that was looked for."""

import pytest

from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.planning.setorder import BetterOrder
from showrunner.tui.set_words import order_words

NOTHING = Book(rig="", songs={}, rigs={})


def a_better(before_s: float, after_s: float, bound_s: float, as_pinned: bool = True) -> BetterOrder:
    """An order of no songs, with what it saves."""
    show = Show(format=1, title="Friday")
    return BetterOrder((), show, before_s, after_s, after_s <= bound_s, bound_s, as_pinned=as_pinned)


@pytest.mark.parametrize(
    ("better", "said"),
    [
        (a_better(60, 60, 60), "no order of these songs takes less time between them"),
        (a_better(60, 60, 20), "no order was found that takes less than 1:00 between songs; none takes less than 0:20"),
        (a_better(60, 60, 59.7), "none takes less than 0:59.7"),
        (a_better(60, 90, 90, as_pinned=False), "the order as written does not meet its pins, and none that does"),
        (a_better(60, 30, 30), "between songs 0:30 instead of 1:00, the least there is"),
        (a_better(60, 30, 20), "between songs 0:30 instead of 1:00, the least found"),
    ],
)
def test_an_order_is_called_the_least_only_where_that_is_proved(better: BetterOrder, said: str) -> None:
    assert said in order_words(NOTHING, better)
