"""Saves one file whole or not at all, and never over what someone else wrote in the meantime."""

import hashlib
import os
import stat
import sys
import time
from collections.abc import Callable
from pathlib import Path

from showrunner.book.lock import locked
from showrunner.book.problems import BookError

RETRIES = 6 if sys.platform == "win32" else 0
"""How often a rename is tried again: Windows refuses it while a virus scanner or an indexer holds the file open."""

if sys.platform == "darwin":
    import fcntl

    def _to_disk(handle: int) -> None:
        """Waits until the file is on the disk itself; fsync alone leaves it in the drive's cache on macOS."""
        try:
            fcntl.fcntl(handle, fcntl.F_FULLFSYNC)
        except OSError:
            os.fsync(handle)

else:

    def _to_disk(handle: int) -> None:
        """Waits until the file is on the disk itself."""
        os.fsync(handle)


class SaveError(BookError):
    """The file could not be saved; what was there before still is, whole."""


class ChangedError(SaveError):
    """The file changed since it was read."""


def digest(source: bytes) -> str:
    """What tells one state of a file from another: its SHA-256 in hexadecimal."""
    return hashlib.sha256(source).hexdigest()


def save(
    path: Path,
    source: bytes,
    was: str | None,
    *,
    retries: int = RETRIES,
    pause: Callable[[float], object] = time.sleep,
) -> str:
    """Writes `source` to `path` and returns its digest; `was` is the digest of what was read, None for a new file.

    ChangedError where the file isn't what it was, SaveError where it can't be written; then it is left alone.
    """
    path = Path(os.path.realpath(path))
    try:
        with locked(path.parent, pause=pause):
            mode = _mode_if_unchanged(path, was)
            temporary = path.with_name(f".{path.name}.new")
            try:
                _write(temporary, source, mode)
                _rename(temporary, path, retries, pause)
            except BaseException:
                temporary.unlink(missing_ok=True)
                raise
            _sync_folder(path.parent)
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise SaveError(f"{path.name} can't be saved ({reason})", "what was there before is still there") from error
    return digest(source)


def _mode_if_unchanged(path: Path, was: str | None) -> int | None:
    """The file's permissions, None for a new one."""
    try:
        with open(path, "rb") as stream:
            mode = stat.S_IMODE(os.fstat(stream.fileno()).st_mode)
            now = digest(stream.read())
    except FileNotFoundError:
        if was is None:
            return None
        raise ChangedError(f"{path.name} is gone since it was read", "read the book again") from None
    if was is None:
        raise ChangedError(f"{path.name} is there already", "give the new one another name")
    if now != was:
        raise ChangedError(f"{path.name} changed since it was read", "read the book again, then make the change anew")
    if not mode & stat.S_IWUSR:
        raise SaveError(f"{path.name} may only be read", "change the file's permissions first")
    return mode


def _write(path: Path, source: bytes, mode: int | None) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), 0o666)
    try:
        left = memoryview(source)
        while left:
            left = left[os.write(handle, left) :]
        if mode is not None and sys.platform != "win32":
            os.fchmod(handle, mode)
        _to_disk(handle)
    finally:
        os.close(handle)


def _rename(old: Path, new: Path, retries: int, pause: Callable[[float], object]) -> None:
    for attempt in range(retries):
        try:
            os.replace(old, new)
        except PermissionError:
            pause(0.02 * 2**attempt)
        else:
            return
    os.replace(old, new)


def _sync_folder(folder: Path) -> None:
    """Makes a rename last through a power cut; Windows has no such call and needs none."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        _to_disk(handle)
    finally:
        os.close(handle)
