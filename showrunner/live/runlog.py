"""A run's log: one JSON object a line, appended and synced as it comes, on a thread that nothing waits for.

Each line has `time` (with its UTC offset; older logs have none), `unix_s`, `kind`, `at_s`, and for what the engine said
`song`, `cue`, `say`, `engine`, `number`. `at_s` are seconds of the run, by its own clock (`live/runclock.py`), so that
lengths are right whatever was done to the time of day; in older logs it is the clock of the machine, which begins anew
when that is started, and `began` and `ended` have none.
The first line of a run is of kind `began` and has `show`, `rig`, `run` (the run's name, the same where it was gone on
with later), `simulated` (true where no hardware was played) and `say`, which is SIMULATED then; a log from before that
was written has no `simulated` and counts as played for real.
A trim moved while the show ran is of kind `trimmed` and has besides: `who` ("soundcheck"), `target` ("interface
volume", "input gain" or a target's name), `from` and `to` (what the show's [trims] said, and would say now), their
`unit`, and `by_hand` (true where no computer can move it).
"""

import json
import os
import queue
import threading
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any

from showrunner.levels.kept import in_reach
from showrunner.live.seen import SIMULATED
from showrunner.model.visible import visible_line
from showrunner.plain_file import read_file
from showrunner.state.events import Trim

LONGEST_NAME = 500
"""Characters that a name in a document may have."""
HELD = 4096
"""Entries that are held while nothing can be written."""
LATEST_S = 1e11
"""A time past this, in the year 5138, is no time."""
AGAIN_AFTER_S = 2.0
"""How often it is tried again to write them."""


class RunLog:
    """Appends to a file; `done` is called with an entry's mark once it is on disk, `fails` with what went wrong.

    What could not be written is tried again every `AGAIN_AFTER_S`, before the next entry, and at the end.
    """

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
        unwritten: deque[tuple[Mapping[str, Any], Any]] = deque(maxlen=HELD)
        while True:
            with suppress(queue.Empty):
                item = self._waiting.get(timeout=AGAIN_AFTER_S if unwritten else None)
                if item is None:
                    break
                unwritten.append(item)
            self._append(unwritten)
        self._append(unwritten)

    def _append(self, unwritten: deque[tuple[Mapping[str, Any], Any]]) -> None:
        """Write what can be written, oldest first; the rest stays."""
        while unwritten:
            entry, mark = unwritten[0]
            try:
                append(self._file, entry)
            except OSError as error:
                self._fails(f"the run's log can't be written: {error.strerror or error}")
                return
            unwritten.popleft()
            self._done(mark)


def append(file: Path, entry: Mapping[str, Any]) -> None:
    """Put one line at a file's end and on the disk; a line that an earlier end cut short is closed first."""
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("ab+") as log:
        if log.tell() > 0:
            log.seek(-1, os.SEEK_END)
            if log.read(1) != b"\n":
                log.write(b"\n")
        log.write(json.dumps(entry, ensure_ascii=False).encode(errors="backslashreplace") + b"\n")
        log.flush()
        os.fsync(log.fileno())


def began_entry(show: str, rig: str, *, simulated: bool, run: str) -> dict[str, Any]:
    """What the first line of a run says, and the first after it was gone on with; `run` is the run's name."""
    say = SIMULATED if simulated else ""
    return {"kind": "began", "show": show, "rig": rig, "simulated": simulated, "run": run, "say": say}


def stamp(unix_s: float, zone: tzinfo | None = None) -> dict[str, Any]:
    """When a line was written: the time of day with its UTC offset (RFC 3339), the machine's own, and Unix seconds."""
    at = datetime.fromtimestamp(unix_s, zone).astimezone(zone)
    return {"time": at.isoformat(timespec="seconds"), "unix_s": round(unix_s, 3)}


def trim_entry(trim: Trim) -> dict[str, Any]:
    """What a line of kind `trimmed` says of the trim."""
    who, target, before, after, unit, by_hand = trim
    return {"who": who, "target": target, "from": before, "to": after, "unit": unit, "by_hand": by_hand}


def trim_of(entry: Mapping[str, Any]) -> Trim | None:
    """The trim that a line of kind `trimmed` is about; None where it says none."""
    target, before, after = entry.get("target"), entry.get("from"), entry.get("to")
    if not isinstance(target, str) or not 0 < len(target) <= LONGEST_NAME:
        return None
    if not (_in_reach(target, before) and _in_reach(target, after)):
        return None
    who, unit, by_hand = (entry.get(name) for name in ("who", "unit", "by_hand"))
    return Trim(str(who or ""), target, float(before), float(after), str(unit or ""), by_hand is True)  # type: ignore[arg-type]


def seconds(value: Any) -> float | None:
    """A number of seconds in a line, of a run or by the time of day; None where that is none."""
    good = isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < LATEST_S
    return float(value) if good else None


def _in_reach(target: str, value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and in_reach(target, value)


def entries(file: Path) -> list[dict[str, Any]]:
    """Every whole entry of a log, oldest first; lines that an end cut short are left out."""
    return [entry for _, entry in numbered(file) if entry is not None]


def kept_entries(file: Path) -> list[dict[str, Any]]:
    """The same for whoever plays on without them: none where the log can't be read."""
    try:
        return entries(file)
    except OSError:
        return []


def numbered(file: Path) -> Iterator[tuple[int, dict[str, Any] | None]]:
    """Each line's number from 1 and its entry, None where it is no JSON object; empty lines are passed over."""
    if not file.exists():
        return
    for number, line in enumerate(read_file(file).decode("utf-8", errors="replace").split("\n"), 1):
        if not line.strip():
            continue
        try:
            entry = json.loads(line)
        except (ValueError, RecursionError):
            entry = None
        yield number, _readable(entry) if isinstance(entry, dict) else None


def _readable(entry: dict[str, Any]) -> dict[str, Any]:
    """An entry whose texts stand on one line each, whoever wrote them."""
    return {name: visible_line(value) if isinstance(value, str) else value for name, value in entry.items()}
