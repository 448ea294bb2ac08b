"""A DIN output's own thread: messages leave as the wire can carry them, and giving it one never waits."""

import threading
import time
from collections.abc import Callable, Collection

from showrunner.live.din import DinQueue

Pair = tuple[int, int]
"""Status byte and controller number of an MSB whose LSB always follows."""


class DinWire:
    """`send` queues a message; `fails` is told, once, when the port refuses one."""

    def __init__(
        self, send: Callable[[bytes], object], pairs: Collection[Pair], fails: Callable[[Exception], object]
    ) -> None:
        self._send, self._pairs, self._fails = send, frozenset(pairs), fails
        self._queue = DinQueue()
        self._half: bytes | None = None
        self._changed = threading.Condition()
        self._open = True
        self._thread = threading.Thread(target=self._carry, name="din", daemon=True)
        self._thread.start()

    def send(self, message: bytes) -> None:
        """Queue one message; an MSB waits for its LSB, so that the two are replaced as a pair."""
        with self._changed:
            half, self._half = self._half, None
            if half is not None and message[:1] == half[:1] and message[1] == half[1] + 32:
                self._queue.put((half, message))
            else:
                if half is not None:
                    self._queue.put((half,))
                if message[:2] and tuple(message[:2]) in self._pairs:
                    self._half = message
                    return
                self._queue.put((message,))
            self._changed.notify()

    def close(self) -> None:
        """Drop what waits and end the thread."""
        with self._changed:
            self._open = False
            self._changed.notify()
        if threading.current_thread() is not self._thread:
            self._thread.join(1.0)

    def _carry(self) -> None:
        while True:
            with self._changed:
                due_s = self._queue.due_s()
                now_s = time.perf_counter()
                if not self._open:
                    return
                if due_s is None or due_s > now_s:
                    self._changed.wait(None if due_s is None else due_s - now_s)
                    continue
                messages = self._queue.take(now_s)
            try:
                for message in messages:
                    self._send(message)
            except Exception as error:
                self._fails(error)
                return
