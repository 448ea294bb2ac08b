"""A run's folder in the user's state: the frozen night, the last state, the way in, and what went wrong."""

import json
import os
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from showrunner.places import state_folder

LINK, STATE, PORTS, ERRORS, LOCK = "link.json", "state.json", "ports.json", "engine.log", "lock"


def where_run(book_root: Path, show: str) -> Path:
    """Where the folder of a show's run is, there or not."""
    name = zlib.crc32(f"{book_root.resolve()}\0{show}".encode(errors="surrogateescape"))
    return state_folder() / "runs" / f"{show[:24]}-{name:08x}"


def run_folder(book_root: Path, show: str) -> Path:
    """The folder of a show's run; for the user alone, made if it is not there."""
    folder = where_run(book_root, show)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    folder.chmod(0o700)
    return folder


def write_json(file: Path, data: Mapping[str, Any], *, mode: int = 0o600) -> None:
    """Replace a file by another, whole or not at all, readable by the user alone."""
    import tempfile

    handle, name = tempfile.mkstemp(dir=file.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as new:
            json.dump(data, new)
        os.chmod(name, mode)
        os.replace(name, file)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def read_json(file: Path) -> dict[str, Any] | None:
    """What a file holds; None if it is not there or holds no JSON object."""
    try:
        data = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return data if isinstance(data, dict) else None
