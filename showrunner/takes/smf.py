"""Takes in files: Standard MIDI Files of type 1, read whole or refused, written whole or not at all."""

import contextlib
import os
from pathlib import Path

from showrunner.plain_file import read_file
from showrunner.takes.chunks import DamagedFileError
from showrunner.takes.decode import take_of
from showrunner.takes.encode import bytes_of
from showrunner.takes.take import Take


class TakeError(Exception):
    """A take that can't be read: which file, what is wrong with it, what to do."""

    def __init__(self, path: Path, what: str, mend: str) -> None:
        super().__init__(f"{path}: {what}; {mend}")
        self.path, self.what, self.mend = path, what, mend


def read_take(path: Path) -> Take:
    """The take in a file; TakeError where it can't be read or is damaged."""
    try:
        data = read_file(path)
    except OSError as error:
        raise TakeError(path, f"can't be read: {error.strerror}", "look at its name and whose it is") from None
    try:
        return take_of(data)
    except DamagedFileError as error:
        raise TakeError(path, f"can't be read as a take: {error}", "use a copy, or record it again") from None


def write_take(path: Path, take: Take) -> None:
    """Put a take in a file, which is the old one or the new one, whole, whenever the program is ended.

    Makes the folder. OSError where the system refuses; ValueError for what a file can't hold (see `encode.bytes_of`).
    """
    data = bytes_of(take)
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{os.urandom(8).hex()}.new")
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
