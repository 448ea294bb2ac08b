"""Errors of the program itself that were caught, so that the show plays on: said once, and kept for a log."""

import sys
import time
import traceback
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

KEPT = 16
"""Tracebacks kept while nothing writes them."""
AGAIN_AFTER_S = 1.0
"""The same error is said and kept again after this long."""


class Faults:
    """What was caught, oldest first, until it is written; adding to it never waits, and reads no file."""

    def __init__(self, clock: Callable[[], float] = time.perf_counter) -> None:
        self._clock = clock
        self._waiting: deque[traceback.TracebackException] = deque(maxlen=KEPT)
        self._said: dict[str, float] = {}

    def add(self, error: BaseException) -> str | None:
        """Keep an error; how a screen says it, None where the same was said just now."""
        name, now_s = type(error).__name__, self._clock()
        if now_s - self._said.get(name, -AGAIN_AFTER_S) < AGAIN_AFTER_S:
            return None
        self._said[name] = now_s
        self._waiting.append(traceback.TracebackException.from_exception(error, lookup_lines=False))
        return f"an error in the program; what was asked for is not done ({name})"

    def take(self) -> list[str]:
        """The tracebacks kept since the last time."""
        taken = []
        while self._waiting:
            taken.append("".join(self._waiting.popleft().format()))
        return taken

    def write(self) -> None:
        """Write what was kept to standard error, which of a process of ours is a file; on a full disk it is lost."""
        for said in self.take():
            with suppress(OSError, ValueError):
                print(f"{time.strftime('%Y-%m-%d %H:%M:%S')} {said}", file=sys.stderr, flush=True)

    @contextmanager
    def written(self) -> Iterator[None]:
        """What fails here is written, and goes no further."""
        try:
            yield
        except Exception as error:
            self.add(error)
        self.write()
