"""Keeps two programs from saving in one folder at once; a lock ends with the program that holds it, however it ends."""

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from showrunner.book.problems import BookError

PATIENCE_S = 5.0
_PAUSE_S = 0.05

if sys.platform == "win32":
    import msvcrt

    def _open(folder: Path) -> int:
        return os.open(folder / ".lock", os.O_RDWR | os.O_CREAT)

    def _lock(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _open(folder: Path) -> int:
        return os.open(folder, os.O_RDONLY)

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


class BusyError(BookError):
    """Another program is saving in the folder, and goes on doing so."""


@contextmanager
def locked(folder: Path, *, pause: Callable[[float], object] = time.sleep) -> Iterator[None]:
    """Holds the folder's lock while the block runs; BusyError if another program keeps it for five seconds."""
    handle = _open(folder)
    try:
        for _ in range(round(PATIENCE_S / _PAUSE_S)):
            with suppress(BlockingIOError, PermissionError):
                _lock(handle)
                break
            pause(_PAUSE_S)
        else:
            raise BusyError("another program is saving in this folder", "end it, or try again")
        yield
    finally:
        os.close(handle)
