"""Reads files: plain ones, whole, up to a size; what would never end or never begin is refused at once."""

import errno
import os
import stat
from pathlib import Path

LARGEST = 64 << 20
"""Bytes of a file of ours that is read whole: a take, a log, a record, a template."""
_HOW = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)


class NotPlainError(OSError):
    """It is there, and is no plain file: a folder, a pipe, a device, a socket."""


class TooLargeError(OSError):
    """It is larger than what may be read of it."""


def check_plain(path: Path) -> os.stat_result:
    """What the system says of a plain file, links followed; NotPlainError for anything else, OSError for none."""
    found = path.stat()
    if not stat.S_ISREG(found.st_mode):
        what = "this is a folder" if stat.S_ISDIR(found.st_mode) else "this is no plain file"
        raise NotPlainError(errno.EISDIR if stat.S_ISDIR(found.st_mode) else errno.EINVAL, what, str(path))
    return found


def read_file(path: Path, most: int = LARGEST) -> bytes:
    """A plain file's bytes; NotPlainError or TooLargeError where it is something else or larger, else OSError.

    It never waits: a pipe that nobody writes to is looked at, and not opened.
    """
    check_plain(path)
    handle = os.open(path, _HOW)
    with open(handle, "rb", buffering=0) as file:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise NotPlainError(errno.EINVAL, "this is no plain file", str(path))
        source = file.read(most + 1) if os.fstat(handle).st_size <= most else None
        while source is not None and len(source) <= most and (more := file.read(most + 1 - len(source))):
            source += more
    if source is None or len(source) > most:
        raise TooLargeError(errno.EFBIG, f"this is larger than {most >> 20} MiB", str(path))
    return source


def listed(folder: Path) -> list[Path]:
    """What is in a folder, by name, none where it is not there; OSError where it can't be listed."""
    try:
        return sorted(folder / name for name in os.listdir(folder))
    except FileNotFoundError:
        return []
