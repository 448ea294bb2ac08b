"""Which rehearsals play over real ports, so that no show is begun on the same ones.

A rehearsal keeps a file in the state folder, locked for as long as its process lives, however it ends.
"""

import json
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TextIO

from showrunner.book.lock import lets_go, takes
from showrunner.model.rig import Rig
from showrunner.places import state_folder

FOLDER = "rehearsals"
TRIES, TRIES_AFTER_S = 3, 0.01


def ports_of(rig: Rig) -> set[str]:
    """The patterns of all ports that a rig opens."""
    return {pattern for port in rig.ports.values() for pattern in (port.input, port.output) if pattern is not None}


@contextmanager
def rehearsing_on(rig: Rig, what: str) -> Iterator[None]:
    """Others can see that `what` is being rehearsed on the rig's ports, while the block runs."""
    path = state_folder() / FOLDER / f"{os.getpid()}-{os.urandom(4).hex()}.json"
    file: TextIO | None = None
    with suppress(OSError):  # a state folder that can't be written is no reason not to rehearse
        path.parent.mkdir(parents=True, exist_ok=True)
        file = path.open("x", encoding="utf-8")
        takes(file.fileno())
        json.dump({"what": what, "rig": rig.title, "ports": sorted(ports_of(rig))}, file)
        file.flush()
    try:
        yield
    finally:
        if file is not None:
            with suppress(OSError):
                lets_go(file.fileno())
            with suppress(OSError):
                file.close()
            with suppress(OSError):  # Windows refuses it while somebody reads: whoever looks next does it
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
    """What a rehearsal under way wrote; None where it is gone, and its file with it.

    It locks the file before it writes, so that one without words is none yet.
    """
    with path.open("r+", encoding="utf-8") as file:
        text = file.read()
        if not text:
            return None
        if not _is_free(file.fileno()):
            found = json.loads(text)
            return found if isinstance(found, dict) else None
    path.unlink()
    return None


def _is_free(handle: int) -> bool:
    """Whether nobody has locked a file, but for somebody else who looks right now."""
    for _ in range(TRIES):
        if takes(handle):
            lets_go(handle)
            return True
        time.sleep(TRIES_AFTER_S)
    return False
