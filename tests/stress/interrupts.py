"""Ctrl-C on commands that wait with ports open, at random moments, with a sound server and without. Linux, jackd2.

`python tests/stress/interrupts.py [--tries N] [--seed N]`. Exit 1 where one has not ended `--within` seconds later, had
ended before, or says a traceback.
"""

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from played import FLOOR, PROGRAM, World, ends_in_order

from showrunner.places import demo_book

ALWAYS = ("listen", "listen full", "rehearse saltmarsh-signal --rig full", "checklist pellmarsh-hall")
WITH_PORTS = (*ALWAYS, "calibrate full swell")
"""What waits with a server and the floor board there; without them calibrating ends by itself."""


def interrupted(world: World, command: list[str], rnd: random.Random, within_s: float, *, served: bool) -> str:
    """One command, interrupted; what is wrong then, empty where nothing is."""
    server = [] if served else ["env", "JACK_DEFAULT_SERVER=nobody"]
    with tempfile.TemporaryFile() as out:
        streams = {"stdin": subprocess.PIPE, "stdout": out, "stderr": subprocess.STDOUT}
        process = world.start(*server, *command, **streams, start_new_session=True)
        time.sleep(3.0 + 2.0 * rnd.random())
        ended = process.poll() is not None
        if not ended:
            os.killpg(process.pid, signal.SIGINT)
        try:
            process.wait(within_s)
            wrong = "it had ended before" if ended else ""
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            wrong = f"it went on for {within_s:g} s"
        process.stdin.close()
        out.seek(0)
        said = out.read().decode(errors="replace")
    return f"{wrong}\n{said}" if wrong or "Traceback" in said or "ignored" in said else ""


def main() -> int:
    """Try each command so many times in turn."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tries", type=int, default=100)
    parser.add_argument("--seed", type=int, default=13)
    parser.add_argument("--within", type=float, default=5.0, help="seconds")
    given = parser.parse_args()
    ends_in_order()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # what a shell has ignored its children would ignore too
    rnd, fell = random.Random(given.seed), 0
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "book"
        shutil.copytree(demo_book(), book, ignore=shutil.ignore_patterns(".*"))
        world = World(Path(folder))
        try:
            world.robot().do("plug", FLOOR)
            for number in range(given.tries):
                served = number % 2 == 0
                words = rnd.choice(WITH_PORTS if served else ALWAYS)
                command = [sys.executable, "-c", PROGRAM, "--book", str(book), *words.split()]
                wrong = interrupted(world, command, rnd, given.within, served=served)
                fell += bool(wrong)
                if wrong:
                    print(f"{words}, {'with' if served else 'without'} a server: {wrong}", flush=True)
        finally:
            world.close()
    print(f"interrupts: {given.tries} tries of {len(WITH_PORTS)} commands, {fell} went on or said a traceback")
    return bool(fell)


if __name__ == "__main__":
    sys.exit(main())
