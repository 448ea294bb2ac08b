"""What a screen asks of the show: each with a name of its own, so that it is done once and never twice."""

import math
import os
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Mapping
from typing import Any, NamedTuple, get_args

KEPT = 64
"""Orders a screen waits for at the most, and names that the engine remembers as done."""
TOLD = 16
"""Names that go to the screens with each picture."""
UNSENT_FOR_S = 1.0
"""An order not done is asked for again when the show is back this soon, else dropped: a late step is a wrong one."""

LONGEST = 256
"""Characters of a name in an order."""
MOST = 1 << 53
"""As far as a number in an order may go: a float holds every whole number up to it."""


def is_order(message: Mapping[str, Any]) -> bool:
    """Whether this asks for one thing that can be asked for, in its shape, with its name beside it or without."""
    (what, *more), name = [part for part in message if part != "id"] or [""], message.get("id", "")
    return not more and _name(name) and what in _SHAPES and _SHAPES[what](message[what])


def _step(given: Any) -> bool:
    from showrunner.live.picture import What

    return isinstance(given, str) and given in get_args(What)


def _name(given: Any) -> bool:
    return isinstance(given, str) and len(given) <= LONGEST and given.isprintable()


def _whole(given: Any) -> bool:
    return type(given) is int and abs(given) <= MOST


def _number(given: Any) -> bool:
    return _whole(given) or (type(given) is float and math.isfinite(given) and abs(given) <= MOST)


def _pair(given: Any) -> bool:
    return isinstance(given, list) and len(given) == 2 and _name(given[0])


_SHAPES: dict[str, Callable[[Any], bool]] = {
    "ask": _step,
    "jump": lambda given: _pair(given) and _whole(given[1]),
    "move": lambda given: _pair(given) and _whole(given[1]),
    "trim": lambda given: _pair(given) and _number(given[1]),
    "withhold": _name,
    "end": lambda given: given is True,
}
"""Each thing that can be asked for, and whether what is given for it has its shape."""


class Order(NamedTuple):
    """Something asked for: when, s, and what is sent for it."""

    asked_s: float
    message: dict[str, Any]


class Orders:
    """A screen's orders that the show has not said to be done; any thread may use it."""

    def __init__(self) -> None:
        self._screen, self._count = os.urandom(4).hex(), 0
        self._waiting: deque[Order] = deque(maxlen=KEPT)
        self._lock = threading.Lock()

    def new(self, message: dict[str, Any]) -> dict[str, Any]:
        """The message of a new order, with its name."""
        with self._lock:
            self._count += 1
            named = {**message, "id": f"{self._screen}-{self._count}"}
            self._waiting.append(Order(time.perf_counter(), named))
        return named

    def done(self, names: Iterable[str]) -> None:
        """The show has done these."""
        there = frozenset(names)
        with self._lock:
            if self._waiting:
                left = [order for order in self._waiting if order.message["id"] not in there]
                self._waiting = deque(left, maxlen=KEPT)

    def late(self) -> tuple[list[dict[str, Any]], int]:
        """The show is back: the messages to be sent again, and how many orders are dropped for good."""
        now_s = time.perf_counter()
        with self._lock:
            young = [order for order in self._waiting if now_s - order.asked_s < UNSENT_FOR_S]
            dropped = len(self._waiting) - len(young)
            self._waiting = deque(young, maxlen=KEPT)
        return [order.message for order in young], dropped
