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
BARE = """
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("painted")
Bare().run()
"""
ON_BOOK = """
import sys
from pathlib import Path
from showrunner.tui.app import Screens, user_settings
from showrunner.tui.screens.opening import OpeningScreen
root, place, show, song = sys.argv[1:]
settings = user_settings()
Screens(OpeningScreen(Path(root), place, settings, show=show, song=song), settings).run()
"""
FRAME = "reading BOOK"
SCREENS = {
    "playing": "Saltmarsh Signal",
    "shows": "Pellmarsh",
    "set": "Saltmarsh",
    "songs": "Saltmarsh",
    "song": "Saltmarsh",
    "lists": "done",
    "rig": "swell",
    "soundcheck": "Saltmarsh",
    "rehearse": "Saltmarsh",
    "after": "Pellmarsh",
}
"""Words that are on each screen only once its content is painted."""


def painted_s(command: list[str], words: str) -> float:
    """Seconds from a process's start until it has written words to its terminal."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    environment = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
    began_s = time.perf_counter()
    child = subprocess.Popen(
        command, stdin=theirs, stdout=theirs, stderr=theirs, env=environment, start_new_session=True
    )
    os.close(theirs)
    seen = b""
    try:
        while words.encode() not in seen:
            if not select.select([ours], [], [], WAITS_S)[0]:
                raise SystemExit(f"{words} has not come: {seen[-2000:].decode(errors='replace')}")
            with suppress(OSError):
                seen += os.read(ours, 1 << 16)
        return time.perf_counter() - began_s
    finally:
        child.kill()
        child.wait()
        os.close(ours)


def main() -> None:
    """Measure in turns and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("screens", nargs="*", metavar="SCREEN", help=", ".join(SCREENS))
    given = parser.parse_args()
    screens = given.screens or list(SCREENS)
    times: dict[str, list[float]] = {name: [] for name in ("bare", *screens)}
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
                times["bare"].append(painted_s([sys.executable, "-c", BARE], "painted"))
                for name in screens:
                    command = (
                        play if name == "playing" else [sys.executable, "-c", ON_BOOK, str(book), name, SHOW, SONG]
                    )
                    times[name].append(painted_s(command, SCREENS[name]))
        finally:
            keeper.kill()
            subprocess.run([*play, "--end"], check=False, stdout=subprocess.DEVNULL)
    bare_s = statistics.median(times["bare"][1:])
    print(f"{'screen':12} {'median':>9} {'to a bare app':>14}   ({given.rounds} processes each, the first left out)")
    for name, taken in times.items():
        median_s = statistics.median(taken[1:])
        print(f"{name:12} {median_s * 1000:6.0f} ms {median_s / bare_s:13.2f} ×")


if __name__ == "__main__":
    main()
