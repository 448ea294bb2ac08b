"""A run begun, found or ended: what `play` does before a screen is there."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Literal, NamedTuple

from showrunner.book.lock import lets_go, takes
from showrunner.live import pipes
from showrunner.live.folder import ENDED, ERRORS, LINK, LOCK, STATE, read_json, where_run
from showrunner.live.freeze import from_json
from showrunner.live.holding import in_the_way, of_run, show_of
from showrunner.live.link import LinkError, RemoteShow, answers, running
from showrunner.live.night import FILE, Night, read_night, write_night
from showrunner.state.values import State, Trims

STARTS_WITHIN_S = 15.0
TRIES_EVERY_S = 0.02
ASKS_AGAIN_S = 2.0
HANGS_S = pipes.STARTS_WITHIN_S
"""A run that has not answered for this long is ended."""
RESUMES_WITHIN_S = 12 * 3600
"""A run that broke off longer ago than this is begun anew."""


Way = Literal["real", "simulated"]
"""How a show is played: over the rig's ports, or without hardware."""


class OtherWayError(LinkError):
    """A show plays the `other` way than it was asked for; what to do about it is for the player to say."""

    def __init__(self, show: str, other: Way) -> None:
        how = "on real ports" if other == "real" else "simulated: nothing is sent to any port"
        super().__init__(f"{show} is being played {how}")
        self.other: Way = other


def way_played(folder: Path) -> Way | None:
    """How the run in a folder is played now; None if it is not."""
    if not running(folder):
        return None
    return "simulated" if (read_json(folder / FILE) or {}).get("simulated") else "real"


def played_for_real(root: Path, shows: Iterable[str]) -> str | None:
    """The first of these shows that is being played on real ports; None if none is."""
    return next((show for show in shows if way_played(where_run(root, show)) == "real"), None)


class BrokenOff(NamedTuple):
    """A run that is to be resumed: the night as it was begun, the trims moved since, and when it broke off."""

    night: Night
    trims: Trims
    unix_s: float


def to_resume(folder: Path, now_unix_s: float) -> BrokenOff | None:
    """The run that is to be resumed in a folder; None where one would be begun anew, or it can't be read."""
    saved = read_json(folder / STATE)
    if saved is None or not broken_off(folder, now_unix_s):
        return None
    try:
        return BrokenOff(read_night(folder), from_json(State, saved["state"]).trims, saved["unix_s"])
    except (OSError, ValueError, LookupError, TypeError):
        return None


def broken_off(folder: Path, now_unix_s: float) -> bool:
    """Whether a run is to be resumed that ended without being ended: the machine went off, or all of it was killed."""
    saved = read_json(folder / STATE)
    return saved is not None and 0 <= now_unix_s - saved.get("unix_s", 0.0) < RESUMES_WITHIN_S


def attach(folder: Path, night: Night) -> RemoteShow:
    """The running show; begun, or resumed, if it is not running. LinkError, with what was said, if it can't be.

    It is not begun on ports that another show or a rehearsal has. OtherWayError where it plays on real ports and is
    asked for without, or the other way round.
    """
    with _alone(folder):
        (folder / ENDED).unlink(missing_ok=True)
        _await(folder)
        way, wanted = way_played(folder), _way(night)
        if way is None:
            _check_free(folder, night)
            _begin(folder, night)
        elif way != wanted:
            raise OtherWayError(night.show, way)
    return RemoteShow(folder)


def _way(night: Night) -> Way:
    return "simulated" if night.simulated else "real"


def _check_free(folder: Path, night: Night) -> None:
    held = in_the_way(show_of(night, folder, "watcher"))
    if held is not None:
        raise LinkError(str(held))


def join(folder: Path) -> RemoteShow:
    """The running show, waited for where its watcher is being started again; LinkError if none answers."""
    _await(folder)
    return RemoteShow(folder)


def _await(folder: Path) -> None:
    """Where processes of a run live and none answers, wait: an engine starts its watcher again. What hangs is ended."""
    began_s = time.perf_counter()
    while of_run(folder) and not answers(folder):
        waited_s = time.perf_counter() - began_s
        if waited_s > STARTS_WITHIN_S:
            raise LinkError("the show does not answer, and could not be ended")
        if waited_s > HANGS_S:
            _kill(folder)
        time.sleep(TRIES_EVERY_S)


def _kill(folder: Path) -> None:
    """End every process of a run, whatever it is doing; a watcher first, which would start its engine again."""
    for one in sorted(of_run(folder), key=lambda one: one.part, reverse=True):
        with suppress(OSError):
            os.kill(one.pid, getattr(signal, "SIGKILL", signal.SIGTERM))


def end(folder: Path) -> bool:
    """End the run in a folder for good, every process of it; whether there was one. LinkError if it can't be ended.

    What does not end when it is asked to is killed.
    """
    there = running(folder) or (folder / STATE).exists()
    with suppress(OSError):
        (folder / ENDED).touch()
    began_s = time.perf_counter()
    while running(folder):
        waited_s = time.perf_counter() - began_s
        if waited_s > STARTS_WITHIN_S:
            (folder / ENDED).unlink(missing_ok=True)
            raise LinkError("the show does not answer, and could not be ended")
        if waited_s > HANGS_S:
            _kill(folder)
        with suppress(LinkError):
            _ask_to_end(folder)
        time.sleep(TRIES_EVERY_S)
    for name in (LINK, STATE):
        (folder / name).unlink(missing_ok=True)
    return there


def _ask_to_end(folder: Path) -> None:
    """Ask once; what hangs loses the order with the process that is ended for it."""
    show = RemoteShow(folder)
    show.end()
    until_s = time.perf_counter() + ASKS_AGAIN_S
    while running(folder) and time.perf_counter() < until_s:
        time.sleep(TRIES_EVERY_S)
    show.close()


def _begin(folder: Path, night: Night) -> None:
    before = to_resume(folder, time.time())
    if before is not None and night.simulated and not before.night.simulated:
        what = f"{night.show} was being played on real ports and broke off"
        raise LinkError(f"{what}: play it to go on with it, and end it, before it is tried without hardware")
    if before is None or before.night.simulated != night.simulated:
        (folder / STATE).unlink(missing_ok=True)
        write_night(night, folder)
    (folder / LINK).unlink(missing_ok=True)
    errors = folder / ERRORS
    said = errors.stat().st_size if errors.exists() else 0
    with errors.open("ab") as log:
        watcher = subprocess.Popen(
            [sys.executable, "-m", "showrunner.live.watcher", str(folder)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=log,
            **pipes.detached(),
        )
    until_s = time.perf_counter() + STARTS_WITHIN_S
    while not answers(folder):
        late = time.perf_counter() > until_s
        if late or (watcher.poll() is not None and not of_run(folder)):  # else another engine of the run was first
            _kill(folder)
            _check_free(folder, night)
            with errors.open("rb") as log:
                log.seek(said)
                lines = log.read().decode(errors="replace").strip().splitlines()
            raise LinkError(f"the show could not be started: {lines[-1] if lines else 'it ended at once'}")
        time.sleep(TRIES_EVERY_S)
    watcher.returncode = 0  # it outlives this process


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Only one process at a time begins a run."""
    with (folder / LOCK).open("a+") as lock:
        while not takes(lock.fileno()):
            time.sleep(TRIES_EVERY_S)
        try:
            yield
        finally:
            lets_go(lock.fileno())
