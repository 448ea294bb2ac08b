"""A run's folder in the user's state: the frozen night, the last state, the way in, and what went wrong."""

import json
import os
import zlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from showrunner.places import state_folder
from showrunner.plain_file import read_file

LINK, STATE, PORTS, ERRORS, LOCK = "link.json", "state.json", "ports.json", "engine.log", "lock"
ENDED = "ended"
"""While it is there no engine is started: the run was ended, and has not been begun again."""
RUN = "run.json"
"""The run's clock: there from its beginning to its end."""


def where_run(book_root: Path, show: str) -> Path:
    """Where the folder of a show's run is, there or not."""
    name = zlib.crc32(f"{book_root.resolve()}\0{show}".encode(errors="surrogateescape"))
    return state_folder() / "runs" / f"{show[:24]}-{name:08x}"


def run_folder(book_root: Path, show: str) -> Path:
    """The folder of a show's run; for the user alone, made if it is not there."""
    folder = where_run(book_root, show)
    _make(folder)
    return folder


def write_json(file: Path, data: Mapping[str, Any], *, mode: int = 0o600) -> None:
    """Replace a file by another, whole or not at all, readable by the user alone."""
    import tempfile

    handle, name = tempfile.mkstemp(dir=file.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as new:
            new.write(json.dumps(data))  # `dump` leaves cycles behind, which pile up until a rare collection
        os.chmod(name, mode)
        os.replace(name, file)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def keep_json(folder: Path, name: str, change: Callable[[dict[str, Any]], Mapping[str, Any]]) -> None:
    """Change what a file in a run's folder holds; on disk before this returns. SaveError where it can't be.

    Where another program changes it meanwhile, this changes what that made of it.
    """
    from showrunner.book.save import ChangedError, SaveError, digest, save

    file = folder / name
    while True:
        try:
            _make(folder)
            source = read_file(file) if file.exists() else None
        except OSError as error:
            raise SaveError(f"{name} can't be saved ({(error.strerror or 'no reason given').lower()})") from error
        kept = json.dumps(change(read_object(source or b"") or {})).encode()
        try:
            save(file, kept, None if source is None else digest(source))
        except ChangedError:
            continue
        return


def read_json(file: Path) -> dict[str, Any] | None:
    """What a file holds; None if it is not there or holds no JSON object."""
    try:
        return read_object(read_file(file))
    except OSError:
        return None


def read_object(source: bytes) -> dict[str, Any] | None:
    """The JSON object that bytes are; None if they are none."""
    try:
        data = json.loads(source)
    except (ValueError, RecursionError):
        return None
    return data if isinstance(data, dict) else None


def _make(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    folder.chmod(0o700)
