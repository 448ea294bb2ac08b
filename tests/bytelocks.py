"""Windows' locks of bytes, in their documented manner, over Linux's own locks of a file as it was opened."""

import fcntl
import os
import struct
import sys
from types import SimpleNamespace

import pytest

LK_UNLCK, LK_NBLCK = 0, 2
"""As in the C library's sys/locking.h."""


def locking(handle: int, mode: int, count: int) -> None:
    """Lock bytes from where the file stands on; others can't read or write those, so that no words may be there."""
    begins = os.lseek(handle, 0, os.SEEK_CUR)
    assert begins > os.fstat(handle).st_size
    kind = fcntl.F_UNLCK if mode == LK_UNLCK else fcntl.F_WRLCK
    try:
        fcntl.fcntl(handle, fcntl.F_OFD_SETLK, struct.pack("hhqqi4x", kind, os.SEEK_SET, begins, count, 0))
    except BlockingIOError:
        raise PermissionError(13, "Permission denied") from None


def use(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have the locks taken as on Windows."""
    fake = SimpleNamespace(locking=locking, LK_UNLCK=LK_UNLCK, LK_NBLCK=LK_NBLCK)
    monkeypatch.setitem(sys.modules, "msvcrt", fake)
    monkeypatch.setattr("showrunner.book.lock.sys", SimpleNamespace(platform="win32"))
