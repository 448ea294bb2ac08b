"""Keeps two programs from one thing at once; a lock ends with the program that holds it, however it ends."""

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from showrunner.book.problems import BookError

PATIENCE_S = 5.0
LOCKED_AT = 1 << 20
"""The byte that is locked where a lock is of bytes: far behind all that is in the file, so that others can read it."""
_PAUSE_S = 0.05
LOCK_FILE = ".lock"
"""What is locked of a folder on Windows, which has no locks of folders."""


class BusyError(BookError):
    """Another program is saving in the folder, and goes on doing so."""


@contextmanager
def locked(
    folder: Path, *, pause: Callable[[float], object] = time.sleep, patience_s: float = PATIENCE_S
) -> Iterator[None]:
    """Holds the folder's lock while the block runs; BusyError if another program keeps it for that long."""
    handle = _open(folder)
    try:
        for _ in range(max(1, round(patience_s / _PAUSE_S))):
            if takes(handle):
                break
            pause(_PAUSE_S)
        else:
            raise BusyError("another program is saving in this folder", "end it, or try again")
        try:
            yield
        finally:
            lets_go(handle)
    finally:
        os.close(handle)


def takes(handle: int) -> bool:
    """Take the lock of an open file; False if somebody has it. Never waits; OSError where there are no locks."""
    try:
        _lock(handle, take=True)
    except (BlockingIOError, PermissionError):
        return False
    return True


def lets_go(handle: int) -> None:
    """Let go of a lock that was taken; a file that is just closed may stay locked for a while on Windows."""
    _lock(handle, take=False)


def _open(folder: Path) -> int:
    if sys.platform == "win32":
        return os.open(folder / LOCK_FILE, os.O_RDWR | os.O_CREAT)
    return os.open(folder, os.O_RDONLY)


def _lock(handle: int, *, take: bool) -> None:
    if sys.platform == "win32":
        import msvcrt

        # It locks from where the file stands; whoever reads or writes there must find it as it was.
        stands = os.lseek(handle, 0, os.SEEK_CUR)
        os.lseek(handle, LOCKED_AT, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK if take else msvcrt.LK_UNLCK, 1)
        finally:
            os.lseek(handle, stands, os.SEEK_SET)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB if take else fcntl.LOCK_UN)
