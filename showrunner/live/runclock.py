"""The time of a run: seconds since it was begun, the same in all its processes and after the machine has been off.

It goes by the machine's own clock, which nobody sets. A machine that was off has nothing but the time of day to say
for how long; where that can't be, no time went by.
"""

import os
from dataclasses import asdict, dataclass
from math import isfinite
from pathlib import Path

from showrunner.book.problems import BookError
from showrunner.live.folder import RUN, STATE, keep_json, read_json
from showrunner.live.runlog import kept_entries, seconds
from showrunner.live.uptime import boot, uptime_s

VERSION = 1
LONGEST_OFF_S = 12 * 3600
"""A time of day that says the machine was off for longer, or for less than nothing, proves nothing: it counts as 0."""
AGREES_S = 60.0
"""As far as the two clocks of a machine may part while nobody sets one; for systems that don't number their starts."""


@dataclass(frozen=True)
class RunClock:
    """The clock of a run: its name, which start of the machine it was set in, and what the machine's showed at 0."""

    name: str
    boot: str
    zero_s: float

    def __call__(self) -> float:
        """Seconds since the run was begun."""
        return uptime_s() - self.zero_s


def go_on(folder: Path, unix_s: float, log: Path | None = None) -> RunClock:
    """The clock of the run in a folder, set anew where the machine was started since; a new one where none is kept.

    It is kept there until the run is ended. What was saved or logged last says how far the run had come, and the time
    of day how long the machine was off.
    """
    there = read(folder)
    if there is not None and there.boot == boot() != "":
        return there
    at_s, said_s = max(_saved(folder), _logged(log, there))
    if there is None:
        began = RunClock(os.urandom(8).hex(), boot(), uptime_s() - at_s)
    elif there.boot == boot() and _agree(there, at_s, said_s, unix_s):
        return there
    else:
        off_s = unix_s - said_s
        off_s = off_s if 0 <= off_s <= LONGEST_OFF_S else 0.0
        began = RunClock(there.name, boot(), uptime_s() - at_s - off_s)
    try:
        return _keep(folder, began)
    except BookError:
        return began


def read(folder: Path) -> RunClock | None:
    """The clock that is kept in a run's folder; None where none is, or none that can be read."""
    match read_json(folder / RUN):
        case {"version": version, "name": str(name), "boot": str(of), "zero_s": float(zero_s)}:
            return RunClock(name, of, zero_s) if version == VERSION and isfinite(zero_s) else None
    return None


def _keep(folder: Path, clock: RunClock) -> RunClock:
    keep_json(folder, RUN, lambda _: {"version": VERSION, **asdict(clock)})
    return clock


def _saved(folder: Path) -> tuple[float, float]:
    """How far the run had come as it was saved last, and the time of day then, Unix seconds; 0 where that is not."""
    saved = read_json(folder / STATE) or {}
    return (seconds(saved.get("at_s")) or 0.0), (seconds(saved.get("unix_s")) or 0.0)


def _logged(log: Path | None, clock: RunClock | None) -> tuple[float, float]:
    """The same as it was logged last."""
    last, of = (0.0, 0.0), None
    for entry in kept_entries(log) if log is not None and clock is not None else ():
        of = entry.get("run") if entry.get("kind") == "began" else of
        if clock is not None and of == clock.name:
            last = max(last, ((seconds(entry.get("at_s")) or 0.0), (seconds(entry.get("unix_s")) or 0.0)))
    return last


def _agree(clock: RunClock, at_s: float, said_s: float, unix_s: float) -> bool:
    """Whether the machine's clock and the time of day went on alike since the run was saved."""
    gone_s = clock() - at_s
    return gone_s >= 0 and abs(gone_s - (unix_s - said_s)) < AGREES_S
