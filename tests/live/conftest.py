"""A sound server without hardware in a world of its own, a robot that plays over it, and the show's real processes."""

import ctypes
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from needs import did_not_run, need

from showrunner.live.launch import end
from showrunner.live.link import RemoteShow
from showrunner.live.night import Night, write_night

ROBOT = Path(__file__).parent / "robot.py"
PATIENCE_S = 30.0


def until(holds: Callable[[], Any], what: str, within_s: float = PATIENCE_S) -> Any:
    """Wait until something holds, and give it."""
    end_s = time.perf_counter() + within_s
    while time.perf_counter() < end_s:
        found = holds()
        if found:
            return found
        time.sleep(0.005)
    raise AssertionError(f"not within {within_s:g} s: {what}")


class Robot:
    """Orders to the process that plays and hears."""

    def __init__(self, world: "World") -> None:
        self._process = world.start(sys.executable, str(ROBOT), stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    def do(self, order: str, *of: Any) -> Any:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps([order, *of]).encode() + b"\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def play(self, messages: list[bytes], *, every_s: float = 0.002, port: str = "Floor 1") -> None:
        self.do("play", port, [[every_s, message.hex()] for message in messages])

    def heard(self) -> list[bytes]:
        return [bytes.fromhex(message) for _, message in self.do("heard")]

    def hears(self, count: int) -> list[bytes]:
        """At least so many messages, as they came."""
        found: list[bytes] = []
        until(lambda: found.extend(self.heard()) or len(found) >= count, f"{count} messages at the host, not {found}")
        return found

    def hears_last(self, message: bytes) -> list[bytes]:
        """All messages up to one that must come."""
        found: list[bytes] = []
        until(lambda: found.extend(self.heard()) or message in found, f"{message.hex()} at the host")
        return found

    def kill(self) -> None:
        self._process.kill()
        self._process.communicate()


IS_THERE = """
import sys, time
from showrunner.live.jack import Server
server, end_s = Server(), time.perf_counter() + float(sys.argv[1])
while not server.join():
    if time.perf_counter() > end_s:
        sys.exit("no server")
    time.sleep(0.02)
server.leave()
"""
"""Waits for the sound server; Debian 13 keeps JACK's own program for it in another package than the server."""


def commands() -> Iterator[tuple[int, bytes]]:
    """Id and command line of every process, its words ended by zeros."""
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            yield int(process.name), (process / "cmdline").read_bytes()


AS_ROOT = (("-m", "-i"), ("-m", "-i"))
AS_ANYBODY = (("-U", "-c", "--keep-caps", "-m", "-i"), ("-U", "--preserve-credentials", "-m", "-i"))
"""Options of unshare and of nsenter: anybody is the same user in a user namespace, with the right to mount there."""


def keeper() -> tuple[subprocess.Popen[bytes], tuple[str, ...]]:
    """A process that keeps namespaces with a /dev/shm and semaphores of their own, and nsenter's options to join it."""
    keep = "mount -t tmpfs -o mode=1777 tmpfs /dev/shm && echo ready && exec sleep infinity"
    for makes, joins in (AS_ROOT, AS_ANYBODY):
        kept = subprocess.Popen(["unshare", *makes, "bash", "-c", keep], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        assert kept.stdout is not None
        assert kept.stderr is not None
        if kept.stdout.readline() == b"ready\n":
            kept.stderr.close()
            return kept, joins
        said = kept.communicate()[1].decode(errors="replace").strip()
    return did_not_run(f"the system lets this user make no namespace ({said}); root may, or allow user namespaces")


class World:
    """A JACK server with a /dev/shm and semaphores of its own; every process started here meets only that server.

    What the server says is in `said`: which client it went on without, and why.
    """

    def __init__(self, folder: Path, *, waits: bool = True, period: int = 64) -> None:
        need("jackd", "unshare", "nsenter")
        self.folder, self.said, self._waits = folder, folder / "jackd.log", waits
        self._period = str(period)
        self._environment = {**os.environ, "SHOWRUNNER_JACK": "1", "XDG_STATE_HOME": str(folder / "state")}
        self._keeper, self._joins = keeper()
        self._started: list[subprocess.Popen[bytes]] = []
        self._server: subprocess.Popen[bytes] | None = None
        self.start_server()

    def start(self, *command: str, **how: Any) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(
            ["nsenter", *self._joins, "-t", str(self._keeper.pid), "--wd=.", *command],
            env=self._environment,
            **{"stderr": subprocess.DEVNULL, "stdin": subprocess.DEVNULL, **how},
        )
        self._started.append(process)
        return process

    def start_server(self) -> None:
        """Start a server that waits for its clients, or goes on: then a late one reads what is there by then.

        Without `-t` it waits too short a time for a busy machine without real-time priority; a client that was killed
        holds the others up for as long as `-t` lets it.
        """
        how = ("-S", "-t", "50") if self._waits else ()
        with self.said.open("ab") as said:
            self._server = self.start(
                "jackd", *how, "-d", "dummy", "-r", "48000", "-p", self._period, stdout=said, stderr=said
            )
        assert self.start(sys.executable, "-c", IS_THERE, str(PATIENCE_S)).wait() == 0, self.said.read_text()

    def join(self) -> None:
        """Let this process, while it has but one thread, reach the server as those that are started here."""
        here, libc = Path.cwd(), ctypes.CDLL(None, use_errno=True)
        for space in ("user", "mnt", "ipc") if "-U" in self._joins else ("mnt", "ipc"):
            handle = os.open(f"/proc/{self._keeper.pid}/ns/{space}", os.O_RDONLY)
            if libc.setns(handle, 0) != 0:
                raise OSError(ctypes.get_errno(), f"the server's {space} can't be joined")
            os.close(handle)
        os.chdir(here)
        os.environ["SHOWRUNNER_JACK"] = "1"

    def kill_server(self) -> None:
        assert self._server is not None
        self._server.kill()
        self._server.wait()

    def robot(self) -> Robot:
        return Robot(self)

    def close(self) -> None:
        for process in (*self._started, self._keeper):
            if process.poll() is None:
                process.kill()
            process.wait()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    stream.close()


class Running:
    """A show in its own processes, and what a screen sees of it."""

    def __init__(self, world: World, night: Night) -> None:
        self.folder = world.folder / "run"
        self.folder.mkdir(exist_ok=True)
        write_night(night, self.folder)
        world.start(sys.executable, "-m", "showrunner.live.watcher", str(self.folder), stdout=subprocess.DEVNULL)
        until(lambda: (self.folder / "link.json").exists(), "the watcher's link")
        self.show = RemoteShow(self.folder)

    def until(self, holds: Callable[[Any], Any], what: str) -> None:
        """Wait for the newest picture's state to be as said."""
        until(lambda: self.show.picture().engine != "not answering" and holds(self.show.picture().state), what)

    def shows(self, holds: Callable[[Any], Any], what: str) -> None:
        """Wait for the newest picture to be as said."""
        until(lambda: holds(self.show.picture()), what)

    def step(self, what: Any, holds: Callable[[Any], Any]) -> None:
        self.until(lambda _: True, "an answer")
        self.show.ask(what)
        self.until(holds, f"{what} to be taken")

    def pid(self, part: str) -> int:
        """The id of the engine's or the watcher's process."""
        wanted = f"showrunner.live.{part}\0{self.folder}\0".encode()
        return max((pid for pid, command in commands() if wanted in command), default=0)

    def kill(self, part: str, how: int = signal.SIGKILL) -> None:
        """Send a process a signal and wait until another has taken its place."""
        old = until(lambda: self.pid(part), f"the {part}")
        os.kill(old, how)
        until(lambda: self.pid(part) not in (0, old), f"another {part}")
        if part == "process":
            until(lambda: self.show.picture().engine == "restarted", "the engine's word that it was started again")

    def hang(self, part: str) -> int:
        """Stop a process and wait until each of its threads stands still: until then one may go on reading."""
        pid: int = until(lambda: self.pid(part), f"the {part}")
        os.kill(pid, signal.SIGSTOP)
        threads = Path(f"/proc/{pid}/task")
        until(
            lambda: all((task / "stat").read_text().rpartition(") ")[2][0] == "T" for task in threads.iterdir()),
            f"the {part} to stand still",
        )
        return pid

    def close(self) -> None:
        self.show.close()
        end(self.folder)


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    try:
        yield made
    finally:
        made.close()


@pytest.fixture
def begin(world: World) -> Iterator[Callable[[Night], Running]]:
    begun: list[Running] = []

    def start(night: Night) -> Running:
        begun.append(Running(world, night))
        return begun[-1]

    yield start
    for running in begun:
        running.close()


REHEARSAL_FILES = {
    "book.toml": 'format = 1\nname = "Ports"\nrig = "rig"\n',
    "rigs/rig.toml": """\
format = 1
title = "Over JACK"
[ports.floor]
input = "Floor*"
[ports.host]
output = "Host*"
settle_ms = 20
[controls.swell]
kind = "pedal"
port = "floor"
channel = 1
cc = 11
[controls.next]
kind = "switch"
port = "floor"
channel = 1
cc = 80
[targets.drive]
port = "host"
channel = 1
cc = 70
range = [0, 127]
[targets.echo]
port = "host"
channel = 1
cc = 71
range = [0, 100]
[steps]
next = "next"
guard_ms = 5
""",
    "songs/low.toml": """\
format = 1
title = "Low Lantern"
tempo_bpm = 240
duration = "0:03"
program = { port = "host", channel = 1, number = 5 }
[curves.verse.swell]
travel = [0, 100]
[curves.verse.swell.moves]
drive = [0, 127]
[curves.lead.swell]
travel = [0, 50, 100]
entry = "glide"
[curves.lead.swell.moves]
drive = [127, 20, 60]
echo = [0, 100, 0]
[[cues]]
name = "Lead"
at = "0:01"
curves = "lead"
[[cues]]
name = "Out"
at = "0:02"
targets = { echo = 50 }
""",
}


@pytest.fixture
def small_book(tmp_path: Path) -> Path:
    """A book of one song of three seconds, with a cue at each."""
    for name, text in REHEARSAL_FILES.items():
        file = tmp_path / "book" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
    return tmp_path / "book"


@pytest.fixture(name="waits")
def _waits() -> Callable[..., Any]:
    """Waits until something holds, and gives it."""
    return until
