"""A run's log: one JSON object a line, appended and synced as it comes, on a thread that nothing waits for."""

import json
import os
import queue
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any


class RunLog:
    """Appends to a file; `done` is called with an entry's mark once it is on disk, `fails` with what went wrong."""

    def __init__(self, file: Path, done: Callable[[Any], object], fails: Callable[[str], object]) -> None:
        self._file, self._done, self._fails = file, done, fails
        self._waiting: queue.SimpleQueue[tuple[Mapping[str, Any], Any] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._write, name="log", daemon=True)
        self._thread.start()

    def put(self, entry: Mapping[str, Any], mark: Any = None) -> None:
        """Append an entry soon; never waits."""
        self._waiting.put((entry, mark))

    def close(self) -> None:
        """Write what waits and stop."""
        self._waiting.put(None)
        self._thread.join(5.0)

    def _write(self) -> None:
        while (item := self._waiting.get()) is not None:
            entry, mark = item
            try:
                append(self._file, entry)
            except OSError as error:
                self._fails(f"the run's log can't be written: {error.strerror or error}")
                continue
            self._done(mark)


def append(file: Path, entry: Mapping[str, Any]) -> None:
    """Put one line at a file's end and on the disk; a line that an earlier end cut short is closed first."""
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("ab+") as log:
        if log.tell() > 0:
            log.seek(-1, os.SEEK_END)
            if log.read(1) != b"\n":
                log.write(b"\n")
        log.write(json.dumps(entry, ensure_ascii=False).encode() + b"\n")
        log.flush()
        os.fsync(log.fileno())


def entries(file: Path) -> list[dict[str, Any]]:
    """Every whole entry of a log, oldest first; lines that an end cut short are left out."""
    if not file.is_file():
        return []
    found = []
    for line in file.read_text(encoding="utf-8", errors="replace").splitlines():
        try:
            entry = json.loads(line)
        except ValueError:
            continue
        if isinstance(entry, dict):
            found.append(entry)
    return found
