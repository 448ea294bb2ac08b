"""A run begun, found or ended: what `play` does before a screen is there."""

import os
import signal
import subprocess
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from showrunner.book.lock import lets_go, takes
from showrunner.live import pipes
from showrunner.live.folder import ENDED, ERRORS, LINK, LOCK, RUN, STATE, read_json, where_run
from showrunner.live.holding import in_the_way, of_run, show_of
from showrunner.live.link import LinkError, RemoteShow, answers, running
from showrunner.live.night import FILE, Night, NightError, write_night

if TYPE_CHECKING:
    from showrunner.live.broken_off import BrokenOff

STARTS_WITHIN_S = 30.0
TRIES_EVERY_S = 0.02
ASKS_AGAIN_S = 2.0
HANGS_S = 15.0
"""A run that has not answered for this long is ended."""

Way = Literal["real", "simulated"]
"""How a show is played: over the rig's ports, or without hardware."""


class OtherWayError(LinkError):
    """A show plays the `other` way than it was asked for; what to do about it is for the player to say."""

    def __init__(self, show: str, other: Way) -> None:
        how = "on real ports" if other == "real" else "simulated: nothing is sent to any port"
        super().__init__(f"{show} is being played {how}")
        self.other: Way = other


class BrokeOffError(LinkError):
    """A run broke off that is not what is asked for; whether to go on with it is for the player to say.

    `before` is that run, None where it can't be gone on with.
    """

    def __init__(self, show: str, before: "BrokenOff | None", why: Iterable[str]) -> None:
        super().__init__("; ".join((f"{show}: {'a run broke off' if before is None else before.said}", *why)))
        self.before = before


def way_played(folder: Path) -> Way | None:
    """How the run in a folder is played now; None if it is not."""
    if not running(folder):
        return None
    return "simulated" if (read_json(folder / FILE) or {}).get("simulated") else "real"


def played_for_real(root: Path, shows: Iterable[str]) -> str | None:
    """The first of these shows that is being played on real ports; None if none is."""
    return next((show for show in shows if way_played(where_run(root, show)) == "real"), None)


def attach(folder: Path, night: Night, *, resumes: bool = False) -> RemoteShow:
    """The running show; begun, or gone on with, if it is not running. LinkError, with what was said, if it can't be.

    It is not begun on ports that another show or a rehearsal has. OtherWayError where it plays on real ports and is
    asked for without, or the other way round; BrokeOffError where a run broke off that is not what is asked for,
    unless that is gone on with as it was begun (`resumes`).
    """
    with _alone(folder):
        (folder / ENDED).unlink(missing_ok=True)
        _await(folder)
        way, wanted = way_played(folder), _way(night)
        if way is None:
            _begin(folder, night, resumes=resumes)
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
    there = running(folder) or any((folder / name).exists() for name in (STATE, RUN))
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
    for name in (LINK, STATE, RUN):
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


def give_up(folder: Path) -> None:
    """Give up a run that broke off, so that the show is begun anew; nothing where it is played."""
    with _alone(folder):
        if way_played(folder) is None:
            for name in (STATE, RUN):
                (folder / name).unlink(missing_ok=True)


def _begin(folder: Path, night: Night, *, resumes: bool) -> None:
    before = _to_go_on_with(folder, night, resumes=resumes)
    night = before.night if before is not None else night
    _check_free(folder, night)
    if before is None:
        for name in (STATE, RUN):
            (folder / name).unlink(missing_ok=True)
        write_night(night, folder)
    (folder / LINK).unlink(missing_ok=True)
    errors = folder / ERRORS
    said = errors.stat().st_size if errors.exists() else 0
    with errors.open("ab") as log:
        watcher = subprocess.Popen(
            [*pipes.of_ours("showrunner.live.watcher"), str(folder)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=log,
            **pipes.detached(),
        )
    until_s = time.perf_counter() + STARTS_WITHIN_S
    while not answers(folder):
        late = time.perf_counter() > until_s
        if late or (watcher.poll() is not None and not of_run(folder)):  # else another engine of the run was first
            watcher.kill()
            _kill(folder)
            _check_free(folder, night)
            with errors.open("rb") as log:
                log.seek(said)
                lines = log.read().decode(errors="replace").strip().splitlines()
            raise LinkError(f"the show could not be started: {lines[-1] if lines else 'it ended at once'}")
        time.sleep(TRIES_EVERY_S)
    watcher.returncode = 0  # it outlives this process


def _to_go_on_with(folder: Path, night: Night, *, resumes: bool) -> "BrokenOff | None":
    """The run that broke off, where it is what is asked for; None where there is none, or nothing to go on with."""
    from showrunner.live.broken_off import broken_off, differs

    try:
        before = broken_off(folder)
    except NightError as error:
        raise BrokeOffError(night.show, None, [str(error)]) from None
    if before is None or resumes:
        return before
    why = differs(before, night)
    if why and before.began:
        raise BrokeOffError(night.show, before, why)
    return None if why else before


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
