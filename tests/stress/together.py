"""Shows begun at the same instant, watchers killed and joined at once, and a link that is flooded without its key.

`python tests/stress/together.py --begins 30 --joins 100 --floods 5`: each is a number of rounds. The commands are the
user's own, on copies of the demo book, and what is counted are the system's processes. It ends with 1 at the first
round after which a show has not exactly one engine, two shows have the same ports, `--status` does not say that a show
runs, `--end` leaves a process, or a flood takes the watcher more than `--most-mb` of memory.
"""

import argparse
import os
import random
import resource
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from showrunner.live.folder import LINK, read_json, run_folder
from showrunner.places import demo_book

SHOWS = ("pellmarsh-hall", "oxcote-theatre")
PATIENCE_S = 180.0
SETTLES_S = 4.0
"""After this long a second engine is none that is only about to end; an engine may wait for two seconds to be sure."""


class FallenError(Exception):
    """What did not hold."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--begins", type=int, default=10, help="rounds of two to four shows begun at the same instant")
    parser.add_argument("--joins", type=int, default=20, help="rounds of a watcher killed and joined at once")
    parser.add_argument("--floods", type=int, default=2, help="rounds of a flooded link, by turns of either kind")
    parser.add_argument("--strangers", type=int, default=400, help="connections of a flood that say nothing")
    parser.add_argument("--frames", type=int, default=200, help="frames of 4 MiB that a flood sends without the key")
    parser.add_argument("--most-mb", type=float, default=16.0, help="what a flood may take the watcher, MB")
    parser.add_argument("--seed", type=int, default=13)
    given = parser.parse_args()
    signal.signal(signal.SIGTERM, stopped)
    began_s = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="sr") as folder:
        tried = Tried(Path(folder), random.Random(given.seed))
        try:
            for _ in range(given.begins):
                tried.begins()
            for index in range(given.joins):
                tried.joins(last=index == given.joins - 1)
            for index in range(given.floods):
                tried.floods(given.strangers, given.frames, given.most_mb, loopback=bool(index % 2))
            said = "all held"
        except FallenError as fallen:
            said = f"FELL: {fallen}"
        finally:
            tried.clear()
    figures = f"{tried.begun} begun together, {tried.joined} killed and joined, {tried.flooded} floods"
    print(f"{figures} (at most {tried.grown_mb:.1f} MB more), {time.perf_counter() - began_s:.0f} s: {said}")
    return 0 if said == "all held" else 1


class Tried:
    """Two books and a state folder of their own; what was tried in them so far."""

    def __init__(self, folder: Path, chance: random.Random) -> None:
        self._folder, self._chance = folder, chance
        self.begun = self.joined = self.flooded = 0
        self.grown_mb = 0.0
        self._books = [Path(shutil.copytree(demo_book(), folder / name)) for name in ("one", "two")]
        self._state("state")
        self._plays: list[subprocess.Popen[str]] = []

    def begins(self) -> None:
        """Two to four shows of two books begin on the same ports: one plays, and the others are told which."""
        choices = [(book, show) for book in self._books for show in SHOWS]
        asked = self._chance.sample(choices, self._chance.randint(2, 4))
        plays = [self._play(book, show) for book, show in asked]
        try:
            until(lambda: sum(play.poll() is None for play in plays) <= 1, "all shows but one to be refused")
        except FallenError as fallen:
            engines = [len(self._processes(*of, part)) for of in asked for part in ("watcher", "engine")]
            raise FallenError(f"{fallen}; watchers and engines of each: {engines}") from None
        time.sleep(0.2)
        playing = [of for of, play in zip(asked, plays, strict=True) if play.poll() is None]
        if len(playing) != 1:
            raise FallenError(f"{len(playing)} of {len(asked)} shows on the same ports play")
        self._one_engine(*playing[0])
        for play in plays:
            if play.poll() is not None and "is being played on Full rig" not in play.communicate()[1]:
                raise FallenError("a show was refused without the one that plays being named")
        if any(self._processes(*of) for of in asked if of not in playing):
            raise FallenError("a show that was refused has left a process")
        self._ends(*playing[0])
        self.begun += 1

    def joins(self, *, last: bool) -> None:
        """A watcher, and now and then its engine, is killed and the show joined within half a second."""
        book, show = self._books[0], SHOWS[0]
        if not self._processes(book, show):
            self._begun(book, show, "--simulated")
        parts = self._chance.choice((["watcher"], ["watcher"], ["engine", "watcher"], ["watcher", "engine"]))
        for part in parts:
            for pid in self._processes(book, show, part):
                with suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
            time.sleep(self._chance.choice((0.0, 0.05, 0.3)))
        time.sleep(self._chance.uniform(0, 0.5))
        self._begun(book, show, "--simulated")
        self._one_engine(book, show)
        self.joined += 1
        if last or self.joined % 10 == 0:
            self._ends(book, show)

    def floods(self, strangers: int, frames: int, most_mb: float, *, loopback: bool) -> None:
        """Connections without the key come and stay, and frames of 4 MiB; the show is said to run, and is joined."""
        self._state("long" * 25 if loopback else "state")
        book, show = self._books[0], SHOWS[0]
        self._begun(book, show, "--simulated")
        (watcher,) = self._processes(book, show, "watcher")
        resource.prlimit(watcher, resource.RLIMIT_NOFILE, (32, 32))
        before_mb = most_memory_mb(watcher)
        where = read_json(run_folder(book, show) / LINK) or {}
        if loopback is not ("port" in where):
            raise FallenError(f"the link is of the other kind: {sorted(where)}")
        kept = [stranger(where) for _ in range(strangers)]
        for _ in range(frames):
            with stranger(where) as one, suppress(OSError):
                one.settimeout(0.2)
                one.sendall((1 << 22).to_bytes(4, "big") + bytes(1 << 22))
        self._runs(book, show)
        grown_mb = most_memory_mb(watcher) - before_mb
        self.grown_mb = max(self.grown_mb, grown_mb)
        if grown_mb > most_mb:
            raise FallenError(f"the watcher grew by {grown_mb:.1f} MB")
        for one in kept:
            one.close()
        self._begun(book, show, "--simulated")
        self._ends(book, show)
        self.flooded += 1

    def clear(self) -> None:
        """End whatever still plays."""
        for play in self._plays:
            play.kill()
        for pid in processes(str(self._folder)):
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)

    def _state(self, name: str) -> None:
        os.environ["XDG_STATE_HOME"] = str(self._folder / name)

    def _command(self, book: Path, show: str, *words: str) -> subprocess.Popen[str]:
        command = [sys.executable, "-m", "showrunner.cli", "--book", str(book), "play", show, *words]
        pipe, null = subprocess.PIPE, subprocess.DEVNULL
        return subprocess.Popen(command, stdin=null, stdout=pipe, stderr=pipe, text=True)

    def _play(self, book: Path, show: str, *words: str) -> subprocess.Popen[str]:
        self._plays.append(self._command(book, show, "--plain", *words))
        return self._plays[-1]

    def _begun(self, book: Path, show: str, *words: str) -> None:
        """A show is begun or joined by a screen, which says something and is closed."""
        play = self._play(book, show, *words)
        assert play.stdout is not None
        line = play.stdout.readline()
        play.terminate()  # which a shell's background job does not ignore, as it does Ctrl-C
        said = play.communicate()[1]
        if not line:
            raise FallenError(f"a show could not be joined: {said.strip()}")

    def _runs(self, book: Path, show: str) -> None:
        status = self._command(book, show, "--status")
        said = "".join(status.communicate())
        if status.returncode != 0 or f"{show} is running" not in said:
            raise FallenError(f"--status ends with {status.returncode} and says: {said.strip()}")

    def _one_engine(self, book: Path, show: str) -> None:
        self._runs(book, show)
        until_s = time.perf_counter() + SETTLES_S
        while len(found := self._processes(book, show, "engine")) != 1:
            if time.perf_counter() > until_s:
                raise FallenError(f"{len(found)} engines play {show}")
            time.sleep(0.05)

    def _ends(self, book: Path, show: str) -> None:
        end = self._command(book, show, "--end")
        said = "".join(end.communicate())
        if f"{show} has ended" not in said:
            raise FallenError(f"--end says: {said.strip()}")
        if left := self._processes(book, show):
            raise FallenError(f"--end leaves {len(left)} processes")
        for play in self._plays:
            play.communicate()
        self._plays.clear()

    def _processes(self, book: Path, show: str, part: str = "") -> list[int]:
        module = {"": "", "engine": "process\0", "watcher": "watcher\0"}[part]
        return processes(f"showrunner.live.{module}", str(run_folder(book, show)))


def stopped(*_: Any) -> None:
    """What has held so far is said where the program is told to end."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    raise FallenError("it was told to end before its time")


def processes(*words: str) -> list[int]:
    """Ids of the living processes in whose command lines all these words are."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            command, state = (folder / "cmdline").read_bytes().decode(errors="replace"), (folder / "stat").read_text()
            if all(word in command for word in words) and state.rpartition(") ")[2][0] != "Z":
                found.append(int(folder.name))
    return found


def stranger(where: dict[str, Any]) -> socket.socket:
    """A connection that shows no key; it may still wait for the system to take it."""
    link = socket.socket(socket.AF_UNIX if "path" in where else socket.AF_INET)
    link.settimeout(0.05)
    with suppress(OSError):
        link.connect(where["path"] if "path" in where else ("127.0.0.1", where["port"]))
    return link


def most_memory_mb(pid: int) -> float:
    """The most memory that a process has had, MB."""
    lines: Sequence[str] = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024


def until(holds: Callable[[], Any], what: str) -> None:
    until_s = time.perf_counter() + PATIENCE_S
    while not holds():
        if time.perf_counter() > until_s:
            raise FallenError(f"not within {PATIENCE_S:g} s: {what}")
        time.sleep(0.02)


if __name__ == "__main__":
    sys.exit(main())
