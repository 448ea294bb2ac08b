"""Saves one file whole or not at all, and never over what someone else wrote in the meantime."""

import errno
import hashlib
import os
import re
import stat
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from showrunner.book.lock import LOCK_FILE, locked
from showrunner.book.problems import BookError

RETRIES = 6 if sys.platform == "win32" else 0
"""How often a rename is tried again: Windows refuses it while a virus scanner or an indexer holds the file open."""
_TEMPORARY = re.compile(r"\.showrunner-[0-9a-f]{16}\.new")

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

    ChangedError where the file isn't what it was, SaveError where it can't be written; then it is left alone. A link
    stays one, and what it leads to is written.
    """
    path = Path(os.path.realpath(path))
    with _said(path, path.name), locked(path.parent, pause=pause):
        return save_in_lock(path, source, was, retries=retries, pause=pause)


def save_in_lock(
    path: Path,
    source: bytes,
    was: str | None,
    *,
    retries: int = RETRIES,
    pause: Callable[[float], object] = time.sleep,
) -> str:
    """The same for a path without links, by whoever holds the lock of its folder already."""
    with _said(path, path.name):
        old = _old(path, path.name)
        _must_be(path, was, old)
        _replace(path, source, old, retries, pause)
    return digest(source)


def replace(path: Path, source: bytes, *, anew: bool = False) -> None:
    """Writes `source` to `path`, whatever the file there holds, but where it is to be `anew`; a link stays one.

    SaveError where it can't be written; then it is left alone.
    """
    name, path = str(path), Path(os.path.realpath(path))
    with _said(path, name), locked(path.parent):
        old = _old(path, name)
        if old is not None:
            if anew:
                raise ChangedError(f"{name} is there already", "give another name")
            _may_be_written(name, old)
        _replace(path, source, old, RETRIES, time.sleep)


def _replace(path: Path, source: bytes, old: "_Old | None", retries: int, pause: Callable[[float], object]) -> None:
    clear(path.parent)
    new = _write(path, source, old)
    try:
        _rename(new, path, retries, pause)
    except BaseException:
        new.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


@contextmanager
def _said(path: Path, name: str) -> Iterator[None]:
    """Says in words what the system refuses."""
    try:
        yield
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        mend = "what was there before is still there" if os.path.lexists(path) else "nothing was written"
        raise SaveError(f"{name} can't be saved ({reason})", mend) from error


def is_leftover(name: str) -> bool:
    """Whether a name is that of a file that a save was writing, or of a lock; neither belongs to the user."""
    return _TEMPORARY.fullmatch(name) is not None or name == LOCK_FILE


def clear(folder: Path) -> None:
    """Deletes what saves that were killed left in a folder whose lock is held; OSError where it can't be listed."""
    for name in os.listdir(folder):
        if _TEMPORARY.fullmatch(name):
            with suppress(OSError):
                os.unlink(folder / name)


class _Old(NamedTuple):
    """What of a file its new version keeps beside the name: permissions, owner and group, extended attributes."""

    mode: int
    uid: int
    gid: int
    attributes: dict[str, bytes]


def _old(path: Path, name: str) -> _Old | None:
    """What the file's new version keeps, None where there is none; SaveError where something else is there."""
    if path.exists() and not path.is_file():
        raise SaveError(f"{name} is there already, and is no file", "give another name")
    try:
        with open(path, "rb") as stream:
            found = os.fstat(stream.fileno())
            return _Old(stat.S_IMODE(found.st_mode), found.st_uid, found.st_gid, _attributes(stream.fileno()))
    except FileNotFoundError:
        return None


def _must_be(path: Path, was: str | None, old: _Old | None) -> None:
    """ChangedError where the file is not what it was, SaveError where it may not be written."""
    if old is None:
        if was is None:
            return
        raise ChangedError(f"{path.name} is gone since it was read", "read the book again")
    if was is None:
        raise ChangedError(f"{path.name} is there already", "give the new one another name")
    if digest(path.read_bytes()) != was:
        raise ChangedError(f"{path.name} changed since it was read", "read the book again, then make the change anew")
    _may_be_written(path.name, old)


def _may_be_written(name: str, old: _Old) -> None:
    if not old.mode & stat.S_IWUSR:
        raise SaveError(f"{name} may only be read", "change the file's permissions first")


def _write(path: Path, source: bytes, old: _Old | None) -> Path:
    """A new file in the same folder that holds `source`, on disk; its name can't be guessed, and nobody had it."""
    new = path.with_name(f".showrunner-{os.urandom(8).hex()}.new")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    handle = os.open(new, flags, 0o666 if old is None else 0o600)
    try:
        try:
            left = memoryview(source)
            while left:
                left = left[os.write(handle, left) :]
            if old is not None and sys.platform != "win32":
                _take_over(handle, old)
            _to_disk(handle)
        finally:
            os.close(handle)
    except BaseException:
        new.unlink(missing_ok=True)
        raise
    return new


if sys.platform == "linux":

    def _attributes(handle: int) -> dict[str, bytes]:
        """A file's extended attributes that may be read; none where its file system has none."""
        found = {}
        with suppress(OSError):
            for name in os.listxattr(handle):
                with suppress(OSError):
                    found[name] = os.getxattr(handle, name)
        return found

    def _attach(handle: int, name: str, value: bytes) -> None:
        """Gives a file an extended attribute, but for one that only the system may give."""
        try:
            os.setxattr(handle, name, value)
        except OSError as error:
            if error.errno not in (errno.EPERM, errno.EACCES, errno.EINVAL, errno.ENOTSUP):
                raise

else:

    def _attributes(_handle: int) -> dict[str, bytes]:
        """None: Python reads extended attributes on Linux only."""
        return {}

    def _attach(_handle: int, _name: str, _value: bytes) -> None:
        """Nothing."""


def _take_over(handle: int, old: _Old) -> None:
    """Gives a new file what the old one had: owner and group as far as this user may, permissions, attributes."""
    now = os.fstat(handle)
    if (now.st_uid, now.st_gid) != (old.uid, old.gid):
        with suppress(PermissionError):
            os.fchown(handle, old.uid, old.gid)
    os.fchmod(handle, old.mode)
    for name, value in old.attributes.items():
        _attach(handle, name, value)


def _rename(old: Path, new: Path, retries: int, pause: Callable[[float], object]) -> None:
    for attempt in range(retries):
        try:
            os.replace(old, new)
        except PermissionError:
            pause(0.02 * 2**attempt)
        else:
            return
    os.replace(old, new)


def sync_folder(folder: Path) -> None:
    """Makes a rename last through a power cut, where the file system can do that for a folder.

    It raises nothing: what was renamed is there, and to say that it was not saved would be wrong.
    """
    if sys.platform == "win32":
        return  # it has no such call and needs none
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            _to_disk(handle)
        finally:
            os.close(handle)
