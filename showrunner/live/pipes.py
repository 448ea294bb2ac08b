"""Two processes that keep each other alive: frames over a pair of pipes, with the time they were last heard."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, Any

from showrunner.live.faults import Faults
from showrunner.live.frames import FrameError, Frames, MessageError, pack

BEAT_S = 0.25
"""How often each side says that it is there."""
DEAD_AFTER_S = 1.0
"""Silence after which the other side counts as hung."""
STOOD_STILL_S = 0.5
"""Between two looks at the other side this much time goes by only where this side stands still itself."""
STARTS_WITHIN_S = 8.0
"""How long it may be silent before its first word, since a busy machine starts a process slowly."""

Hears = Callable[[dict[str, Any]], object]
"""Called with each frame that comes in; an error of it goes to standard error, and the next frame is read."""


class Pipes:
    """One end: `heard` is called with each frame on a thread of its own, until the other side is gone."""

    def __init__(self, reads: IO[bytes], writes: IO[bytes], pid: int, heard: Hears) -> None:
        self._reads, self._writes, self.pid, self._heard = reads, writes, pid, heard
        self._writing = threading.Lock()
        self._broken, self._faults = threading.Event(), Faults()
        self._spoke = False
        self._heard_s = self._looked_s = time.perf_counter()
        threading.Thread(target=self._read, name="pipe", daemon=True).start()

    @property
    def broken(self) -> bool:
        """Whether the other side is known to be gone."""
        return self._broken.is_set()

    def wait(self, for_s: float) -> None:
        """Wait for so long, or until the other side is gone."""
        self._broken.wait(for_s)

    @property
    def dead(self) -> bool:
        """Whether the other side has ended, or has been silent for too long while this one looked again and again.

        What it said while this side stood still may not have been read yet.
        """
        now_s = time.perf_counter()
        if now_s - self._looked_s > STOOD_STILL_S:
            self._heard_s = now_s
        self._looked_s = now_s
        limit_s = DEAD_AFTER_S if self._spoke else STARTS_WITHIN_S
        return self.broken or now_s - self._heard_s > limit_s

    @property
    def speaks(self) -> bool:
        """Whether the other side has said something, and goes on doing so."""
        return self._spoke and not self.dead

    def send(self, message: dict[str, Any]) -> bool:
        """Send a frame; False once the other side is gone. May wait while the other side does not read."""
        try:
            with self._writing:
                self._writes.write(pack(message))
        except (OSError, ValueError):
            self._broken.set()
        return not self.broken

    def kill(self) -> None:
        """End the other side, whatever it is doing."""
        self._broken.set()
        pid, self.pid = self.pid, 0  # its id may be another's by the next time
        if pid > 1:
            with suppress(OSError):
                os.kill(pid, getattr(signal, "SIGKILL", signal.SIGTERM))
                with suppress(ChildProcessError):
                    os.waitpid(pid, 0)

    def _read(self) -> None:
        frames = Frames()
        with suppress(OSError, FrameError, ValueError):
            while data := os.read(self._reads.fileno(), 1 << 16):
                self._take(frames, data)
        self._broken.set()

    def _take(self, frames: Frames, data: bytes) -> None:
        """Give on what is whole by now; one message that is none of ours, or that can't be done, ends nothing."""
        while True:
            try:
                for message in frames.feed(data):
                    self._spoke, self._heard_s = True, time.perf_counter()
                    with self._faults.written():
                        self._heard(message)
                return
            except MessageError:
                data = b""


def of_ours(module: str) -> list[str]:
    """The command that runs a module of ours; nothing is imported from the folder that we happen to be in."""
    return [sys.executable, "-P", "-m", module]


def start(module: str, arguments: Sequence[str], errors: Path, heard: Hears) -> Pipes:
    """Start a Python module of ours in a session of its own, its standard streams the pipes, our id its last word."""
    with _written(errors) as log:
        child = subprocess.Popen(
            [*of_ours(module), *arguments, str(os.getpid())],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=log,
            bufsize=0,
            **detached(),
        )
    assert child.stdin is not None
    assert child.stdout is not None
    child.returncode = 0  # whoever reaps it is `kill`, or nobody once this process has ended
    return Pipes(child.stdout, child.stdin, child.pid, heard)


def _written(errors: Path) -> IO[bytes]:
    """Where a process's standard error goes: its file, or nowhere if that can't be opened."""
    try:
        return errors.open("ab")
    except OSError:
        return open(os.devnull, "ab")


def own(pid: int, heard: Hears) -> Pipes:
    """The end of this process, which another of ours started; its own prints go to standard error."""
    reads = os.fdopen(os.dup(0), "rb", buffering=0)
    writes = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(2, 1)
    return Pipes(reads, writes, pid, heard)


def detached() -> dict[str, Any]:
    """How a process is started so that closing a terminal or Ctrl-C in it does not reach it."""
    if sys.platform == "win32":
        return {"creationflags": subprocess.DETACHED_PROCESS | subprocess.CREATE_NEW_PROCESS_GROUP}
    return {"start_new_session": True}
