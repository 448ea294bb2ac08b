"""The demo show as it is played: a sound server, a floor board, a host, and the playing screen in a terminal."""

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "live"), str(HERE.parent)]

from conftest import World, commands, until  # noqa: E402

from showrunner.live.folder import run_folder  # noqa: E402
from showrunner.live.launch import end  # noqa: E402
from showrunner.live.link import RemoteShow  # noqa: E402
from showrunner.live.runlog import entries  # noqa: E402
from showrunner.places import demo_book  # noqa: E402

SHOW, RIG = "pellmarsh-hall", "full"
FLOOR, GUITAR, HOST = "Floor 1", "Guitar 1", "Host 1"
PAGE_KB, TICKS = os.sysconf("SC_PAGE_SIZE") // 1024, os.sysconf("SC_CLK_TCK")
PROGRAM = "from showrunner.cli.main import main; main()"
PARTS = ("engine", "watcher", "screen")


class Use:
    """What a process uses: memory of its own (RSS without what is shared), kB; descriptors; threads; CPU seconds."""

    def __init__(self, pid: int) -> None:
        process = Path(f"/proc/{pid}")
        stat = (process / "stat").read_text().rpartition(") ")[2].split()
        _, resident, shared, *_ = map(int, (process / "statm").read_text().split())
        self.kb = (resident - shared) * PAGE_KB
        self.files, self.threads = len(list((process / "fd").iterdir())), int(stat[17])
        self.cpu_s = (int(stat[11]) + int(stat[12])) / TICKS


def ends_in_order() -> None:
    """Let a program that is told to end take down what it started."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("told to end"))


class Played:
    """The show, begun on its screen in a terminal of 120 columns and 36 rows; `folder` is for everything of it."""

    def __init__(self, folder: Path, *, simulated: bool = False, period: int = 64) -> None:
        self.root = folder / "book"
        shutil.copytree(demo_book(), self.root, ignore=shutil.ignore_patterns(".*", "runs"))
        self.world = World(folder, period=period)
        os.environ["XDG_STATE_HOME"] = str(folder / "state")
        homes = [f"{name}={folder / name}" for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME")]
        self._environment = ["env", *homes, "TERM=xterm-256color", f"XDG_STATE_HOME={os.environ['XDG_STATE_HOME']}"]
        self._program = [*self._environment, sys.executable, "-c", PROGRAM, "--book", str(self.root)]
        self.robot = self.world.robot()
        for name in (FLOOR, GUITAR, HOST):
            self.robot.do("plug", name)
        self.robot.do("host", HOST)
        self._sockets = Path(tempfile.mkdtemp(prefix="stress-"))
        self._opened = 0
        self._simulated = ["--simulated"] if simulated else []
        self.open_screen()
        self.run = run_folder(self.root, SHOW)
        until(lambda: self.pid("engine") and self.pid("watcher"), f"the show to begin:\n{self.text()}")
        self.show = RemoteShow(self.run)
        until(lambda: not self.show.picture().state.missing, "the ports")

    def open_screen(self) -> None:
        """Open the playing screen in a terminal, which begins the show if it is not under way."""
        play = [*self._program, "play", SHOW, "--rig", RIG, *self._simulated]
        size = ("-x", "120", "-y", "36")
        if self._opened:
            subprocess.run([*self._tmux, "kill-server"], check=False, capture_output=True)
        self._opened += 1  # a terminal that is ending may still answer by its old name
        self._tmux = ("tmux", "-S", str(self._sockets / str(self._opened)))
        settings = self._sockets / "settings"
        settings.write_text("set -g remain-on-exit on\n")
        assert self.world.start(*self._tmux, "-f", str(settings), "new-session", "-d", *size, *play).wait(60) == 0
        until(lambda: "Leave" in self.text(), "the playing screen")

    def text(self) -> str:
        """What stands on the screen."""
        return subprocess.run([*self._tmux, "capture-pane", "-p"], capture_output=True, text=True, check=False).stdout

    def press(self, *keys: str) -> None:
        """Keys at the screen."""
        subprocess.run([*self._tmux, "send-keys", *keys], check=False, capture_output=True)

    def command(self, *words: str) -> Any:
        """What a command of the program says on its standard output, read as JSON where it is."""
        said = self.world.start(*self._program, *words, stdout=subprocess.PIPE).communicate(timeout=60)[0].decode()
        return json.loads(said) if "--json" in words else said

    def pid(self, part: str) -> int:
        """The id of a part's process: `engine`, `watcher` or `screen`; 0 where there is none."""
        if part == "screen":
            said = subprocess.run(
                [*self._tmux, "display", "-p", "#{pane_pid}"], capture_output=True, check=False
            ).stdout
            return int(said or 0)
        wanted = f"showrunner.live.{ {'engine': 'process'}.get(part, part) }\0{self.run}\0".encode()
        return max((pid for pid, command in commands() if wanted in command), default=0)

    def alive(self, part: str) -> bool:
        """Whether a part has a process that has not ended."""
        pid = self.pid(part)
        with suppress(OSError):
            return pid > 0 and Path(f"/proc/{pid}/stat").read_text().rpartition(") ")[2][0] not in "ZX"
        return False

    def uses(self) -> dict[str, Use]:
        """What each part uses now."""
        return {part: Use(self.pid(part)) for part in PARTS}

    def foot(self, controller: int, *, down_s: float = 0.06, port: str = FLOOR) -> None:
        """Press a footswitch and let it go."""
        presses = [[0.0, bytes((0xB0, controller, 127)).hex()], [down_s, bytes((0xB0, controller, 0)).hex()]]
        self.robot.do("play", port, presses)

    def play(self, port: str, messages: Iterable[tuple[float, bytes]]) -> None:
        """Messages from a port, each with the seconds before it."""
        self.robot.do("play", port, [[before_s, message.hex()] for before_s, message in messages])

    def logged(self) -> list[dict[str, Any]]:
        """The run's log."""
        return [entry for file in sorted(self.root.glob(f"runs/{SHOW}/*.jsonl")) for entry in entries(file)]

    def close(self) -> None:
        """End everything that was started."""
        self.show.close()
        subprocess.run([*self._tmux, "kill-server"], check=False, capture_output=True)
        shutil.rmtree(self._sockets, ignore_errors=True)
        end(self.run)
        time.sleep(0.2)
        self.world.close()
