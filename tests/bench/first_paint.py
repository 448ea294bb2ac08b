"""How soon each screen is painted, from the start of its process, against a bare Textual app: a table with ratios.

`python tests/bench/first_paint.py [--rounds N] [SCREEN …]`. Each sample is a process of its own on a pseudo terminal
of 80 columns and 24 rows; the bare app, which says one word, takes its turn in every round. Painted is when the words
looked for have come out of the process.

«First paint» of the playing screen is the song that is up in a show that runs already, real content; of a screen on
the book it is the frame, with the line of places and the folder that is being read. «Content» is the first words that
only the real screen has; a playing screen's first paint is its content. «Move» is from a key in a running program to
the content of another screen, once all screens are loaded.
"""

import argparse
import fcntl
import os
import pty
import select
import shutil
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from contextlib import suppress
from pathlib import Path

from showrunner.places import demo_book

SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"
WAITS_S = 20.0
LOADS_S, SETTLES_S = 3.0, 0.5
"""Until a program has loaded all its screens; between a screen and the next key."""
BARE = """
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("painted")
Bare().run()
"""
ON_BOOK = """
import gc, sys
from pathlib import Path
gc.disable()
from showrunner.tui.app import Screens, user_settings
from showrunner.tui.screens.opening import OpeningScreen
root, place, show, song = sys.argv[1:]
settings = user_settings()
Screens(OpeningScreen(Path(root), place, settings, show=show, song=song), settings).run()
"""
"""As the console script opens the screens, but any of them."""
FRAME = "reading BOOK"
CONTENT = {
    "playing": "1/13",
    "shows": "Pellmarsh Hall",
    "set": "Low Lantern",
    "songs": "Heron Clock",
    "song": "delay mix",
    "lists": "Stage power",
    "rig": "octave switch",
    "soundcheck": "input gain",
    "rehearse": "Low Lantern",
    "after": "Pellmarsh Hall",
}
"""Words that are on each screen only once its content is painted."""
KEYS = {name: str(number) for number, name in enumerate(list(CONTENT)[1:], 1)}


class Terminal:
    """A program on a pseudo terminal of its own."""

    def __init__(self, command: list[str]) -> None:
        self._ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        environment = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
        self._began_s, self._seen = time.perf_counter(), b""
        self._child = subprocess.Popen(
            command, stdin=theirs, stdout=theirs, stderr=theirs, env=environment, start_new_session=True
        )
        os.close(theirs)

    def shows_s(self, words: str) -> float:
        """Seconds from its start, or from the last key, until it has written words."""
        while words.encode() not in self._seen:
            if not select.select([self._ours], [], [], WAITS_S)[0]:
                raise SystemExit(f"{words} has not come: {self._seen[-2000:].decode(errors='replace')}")
            with suppress(OSError):
                self._seen += os.read(self._ours, 1 << 16)
        return time.perf_counter() - self._began_s

    def press(self, key: str) -> None:
        """Type a key, and forget what was written before."""
        self.rest(SETTLES_S)
        self._seen, self._began_s = b"", time.perf_counter()
        os.write(self._ours, key.encode())

    def rest(self, for_s: float) -> None:
        """Let it write what it will."""
        until_s = time.perf_counter() + for_s
        while (left_s := until_s - time.perf_counter()) > 0:
            if select.select([self._ours], [], [], left_s)[0]:
                with suppress(OSError):
                    os.read(self._ours, 1 << 16)

    def end(self) -> None:
        """End it, whatever it does."""
        self._child.kill()
        self._child.wait()
        os.close(self._ours)


def opened(command: list[str], *words: str) -> list[float]:
    """Seconds from a process's start until it has written each of these."""
    terminal = Terminal(command)
    try:
        return [terminal.shows_s(each) for each in words]
    finally:
        terminal.end()


def moved(command: list[str], screens: list[str]) -> dict[str, float]:
    """Seconds from a key to each of the book's screens in one running program."""
    terminal = Terminal(command)
    try:
        terminal.shows_s(CONTENT["shows"])
        terminal.rest(LOADS_S)
        found = {}
        for name in [name for name in screens if name in KEYS and name != "shows"]:
            terminal.press(KEYS[name])
            found[name] = terminal.shows_s(CONTENT[name])
        if "shows" in screens:
            terminal.press(KEYS["shows"])
            found["shows"] = terminal.shows_s(CONTENT["shows"])
        return found
    finally:
        terminal.end()


def main() -> None:
    """Measure in turns and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("screens", nargs="*", metavar="SCREEN", help=", ".join(CONTENT))
    given = parser.parse_args()
    screens = given.screens or list(CONTENT)
    first, content, moves = ({name: [] for name in ("bare", *screens)} for _ in range(3))
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "book"
        shutil.copytree(demo_book(), book, ignore=shutil.ignore_patterns(".*"))
        play = [sys.executable, "-m", "showrunner.cli", "--book", str(book), "play", SHOW]
        keeper = subprocess.Popen(
            [*play, "--plain", "--simulated"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert keeper.stdout is not None
        keeper.stdout.readline()
        try:
            for _ in range(given.rounds + 1):
                first["bare"] += opened([sys.executable, "-c", BARE], "painted")
                for name in screens:
                    if name == "playing":
                        first[name] += opened([*play, "--simulated"], CONTENT[name])
                        continue
                    on_book = [sys.executable, "-c", ON_BOOK, str(book), name, SHOW, SONG]
                    frame_s, content_s = opened(on_book, FRAME, CONTENT[name])
                    first[name].append(frame_s)
                    content[name].append(content_s)
                for name, taken in moved(
                    [sys.executable, "-c", ON_BOOK, str(book), "shows", SHOW, SONG], screens
                ).items():
                    moves[name].append(taken)
        finally:
            keeper.kill()
            subprocess.run([*play, "--end"], check=False, stdout=subprocess.DEVNULL)
    bare_s = statistics.median(first["bare"][1:])
    print(f"medians of {given.rounds} processes each, the first left out; × is to the bare app")
    print(f"{'screen':12} {'first paint':>18} {'content':>18} {'move':>9}")
    for name in first:
        row = "".join(f"{_told(of[name][1:], bare_s):>19}" for of in (first, content))
        moving = moves[name][1:]
        print(f"{name:12}{row}" + (f"{statistics.median(moving) * 1000:7.0f} ms" if moving else ""))


def _told(taken: list[float], bare_s: float) -> str:
    if not taken:
        return ""
    median_s = statistics.median(taken)
    return f"{median_s * 1000:5.0f} ms {median_s / bare_s:5.2f} ×"


if __name__ == "__main__":
    main()
