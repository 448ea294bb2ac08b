"""What a function costs, whatever else the machine does: how many functions it calls, ours and the library's."""

import sys
from collections.abc import Callable
from itertools import pairwise


def calls(of: Callable[[], object]) -> int:
    """How many functions are called."""
    count = 0

    def called(_frame: object, event: str, _what: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(called)
    try:
        of()
    finally:
        sys.setprofile(before)
    return count


def assert_linear(taken: list[int]) -> None:
    """What each size adds, of sizes of which each is twice the one before, is some twice what the one before added."""
    added = [more - less for less, more in pairwise(taken)]
    assert added[1] <= 2.5 * max(added[0], 1000), f"{taken} calls"
