"""Which rehearsals play over real ports, so that no show is begun on the same ones.

A rehearsal keeps a file in the state folder, locked for as long as its process lives, however it ends.
"""

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TextIO

from showrunner.model.rig import Rig
from showrunner.places import state_folder

FOLDER = "rehearsals"
LOCKED_AT = 1 << 20
"""The byte that is locked where a lock is of bytes: far behind the words, so that others can read them."""


def ports_of(rig: Rig) -> set[str]:
    """The patterns of all ports that a rig opens."""
    return {pattern for port in rig.ports.values() for pattern in (port.input, port.output) if pattern is not None}


@contextmanager
def rehearsing_on(rig: Rig, what: str) -> Iterator[None]:
    """Others can see that `what` is being rehearsed on the rig's ports, while the block runs."""
    path = state_folder() / FOLDER / f"{os.getpid()}.json"
    file: TextIO | None = None
    with suppress(OSError):  # a state folder that can't be written is no reason not to rehearse
        path.parent.mkdir(parents=True, exist_ok=True)
        file = path.open("w", encoding="utf-8")
        _locks(file)
        json.dump({"what": what, "rig": rig.title, "ports": sorted(ports_of(rig))}, file)
        file.flush()
    try:
        yield
    finally:
        if file is not None:
            file.close()
            with suppress(OSError):
                path.unlink()


def rehearsed_on(rig: Rig) -> str | None:
    """What is being rehearsed on ports that a rig wants too, and on which rig; None where nothing is."""
    for path in sorted((state_folder() / FOLDER).glob("*.json")):
        with suppress(OSError, ValueError, KeyError, TypeError):
            said = _said(path)
            if said is not None and ports_of(rig) & set(said["ports"]):
                return f"{said['what']} is being rehearsed on {said['rig']}"
    return None


def _said(path: Path) -> dict[str, Any] | None:
    """What a rehearsal under way wrote; None where it is gone, and its file with it."""
    with path.open("r+", encoding="utf-8") as file:
        text = file.read()
        if not _locks(file):
            found = json.loads(text)
            return found if isinstance(found, dict) else None
    if text:
        path.unlink()
    return None


def _locks(file: TextIO) -> bool:
    """Lock a file if no other process has; never waits."""
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(LOCKED_AT)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
            file.seek(0)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
