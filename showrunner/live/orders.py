"""What a screen asks of the show: each with a name of its own, so that it is done once and never twice."""

import os
import threading
import time
from collections import deque
from collections.abc import Iterable
from typing import Any, NamedTuple

KEPT = 64
"""Orders a screen waits for at the most, and names that the engine remembers as done."""
TOLD = 16
"""Names that go to the screens with each picture."""
UNSENT_FOR_S = 1.0
"""An order not done is asked for again when the show is back this soon, else dropped: a late step is a wrong one."""


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
