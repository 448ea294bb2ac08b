"""A show whose disk is full: `python tests/stress/full_disk.py [--rounds N]`. Linux, with the right to mount.

The demo show runs without hardware, its state and its log on a memory disk of one megabyte that is then filled to the
last byte. Each round takes a step and moves a trim, then kills the engine, the watcher, or both one after the other:
the same cue must be back, with its trims and its order, and the show be reached. What can't be saved must be said in
`play --status`, in words and in JSON, and no longer once there is room; the log must then have each line once.
"""

import argparse
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from contextlib import suppress
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "live"), str(HERE.parent)]

from conftest import AS_ANYBODY, AS_ROOT, commands, until  # noqa: E402

from showrunner.book.read import read_book  # noqa: E402
from showrunner.live.folder import STATE, read_json, run_folder  # noqa: E402
from showrunner.live.launch import attach, end  # noqa: E402
from showrunner.live.night import night_of  # noqa: E402
from showrunner.live.runlog import entries  # noqa: E402
from showrunner.places import demo_book  # noqa: E402

SHOW, RIG, TRIM = "pellmarsh-hall", "full", "interface volume"
PROGRAM = [sys.executable, "-c", "from showrunner.cli.main import main; main()"]
SIZE, UNSAVED, UNLOGGED = "1m", "where the show stands can't be saved", "the run's log can't be written"


def inside(disk: Path, book: Path, rounds: int) -> str:
    """Play the rounds on a disk that was mounted; what they came to. AssertionError for what fell."""
    os.environ["XDG_STATE_HOME"] = str(disk)
    run, log = run_folder(book, SHOW), disk / "run.jsonl"
    show = attach(run, night_of(read_book(book).book, SHOW, RIG, log=str(log), simulated=True))
    try:
        until(lambda: entries(log), "the log")
        for number in range(rounds):
            fill(disk)
            step(show, number)
            until(lambda: mutes(show) or show.picture().troubles.keys() >= {"saving", "log"}, "what can't be written")
            stood = stand(show)
            for part in (("process",), ("watcher",), ("process", "watcher"))[number % 3]:
                kill(run, part)
                until(lambda: show.picture().engine in ("playing", "restarted"), "an answer")
                assert stand(show) == stood, f"round {number}: {part} killed: {stand(show)}, not {stood}"
            until(lambda: show.picture().troubles.keys() >= {"saving", "log"}, "that to be said again")
            words, told = status(book), json.loads(status(book, "--json"))
            assert UNSAVED in words, words
            assert UNLOGGED in words, words
            assert UNSAVED in told["troubles"]["saving"]
        fill(disk, full=False)
        until(lambda: not show.picture().troubles, "that all can be written again")
        assert json.loads(status(book, "--json"))["troubles"] == {}
        until(
            lambda: (read_json(run / STATE) or {}).get("state", [[], 0, 0])[1:3] == list(stood[1:3]), "it to be saved"
        )
        marks = Counter((line["engine"], line["number"]) for line in entries(log) if "engine" in line)
        assert max(marks.values()) == 1, f"twice in the log: {[mark for mark, count in marks.items() if count > 1]}"
        taken = sum(line["kind"] in ("song", "cue", "changeover") for line in entries(log))
        kept = rounds - rounds // 3  # lines that could not be written went with both processes
        assert taken >= kept, f"{taken} steps in the log after {rounds} rounds, not {kept}"
    finally:
        fill(disk, full=False)
        show.close()
        end(run)
    return f"{rounds} rounds on a full disk: the place kept and reached, said and unsaid, {len(marks)} lines each once"


def fill(disk: Path, *, full: bool = True) -> None:
    """Leave no room on a disk, or give all back."""
    file = disk / "filled"
    file.unlink(missing_ok=True)
    if full:
        with suppress(OSError), file.open("ab", buffering=0) as into:
            while True:
                into.write(bytes(4096))


def step(show: Any, number: int) -> None:
    """Take a step and move a trim, until they are told."""
    before, db = stand(show), -1.0 - number % 2
    show.ask("next")
    show.trim(TRIM, db)
    until(lambda: stand(show)[:4] != before[:4] and (TRIM, db) in show.picture().state.trims, "a step and a trim")


def mutes(show: Any) -> None:
    """Let the log have a line more as long as the last block of its file has room for one."""
    if "log" not in show.picture().troubles:
        show.ask("mute")


def stand(show: Any) -> tuple[Any, ...]:
    """Where the show stands."""
    state = show.picture().state
    return state.order, state.place, state.moment, state.phase, state.trims


def kill(run: Path, part: str) -> None:
    """Kill the engine or the watcher and wait for another."""
    old = pid(run, part)
    os.kill(old, signal.SIGKILL)
    until(lambda: pid(run, part) not in (0, old), f"another {part}")


def pid(run: Path, part: str) -> int:
    """The id of a part's process, 0 where there is none."""
    wanted = f"showrunner.live.{part}\0{run}\0".encode()
    return max((of for of, command in commands() if wanted in command), default=0)


def status(book: Path, *more: str) -> str:
    """What `play --status` says."""
    asked = [*PROGRAM, "--book", str(book), "play", SHOW, "--status", *more]
    return subprocess.run(asked, capture_output=True, text=True, check=True).stdout


def mounted(folder: Path, rounds: int) -> int:
    """Run this program again with a disk of its own mounted; its exit status."""
    disk, book = folder / "disk", folder / "book"
    disk.mkdir()
    shutil.copytree(demo_book(), book, ignore=shutil.ignore_patterns(".*", "runs"))
    mount = f'mount -t tmpfs -o size={SIZE} full "$1" && shift && exec "$@"'
    again = [sys.executable, __file__, "--rounds", str(rounds), "--on", str(disk), str(book)]
    joins = next((of for of, _ in (AS_ROOT, AS_ANYBODY) if not subprocess.run(["unshare", *of, "true"]).returncode), ())
    return subprocess.run(["unshare", *joins, "sh", "-c", mount, "sh", str(disk), *again], check=False).returncode


def main() -> None:
    """Play the rounds and say what they came to."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=30)
    parser.add_argument("--on", nargs=2, type=Path, metavar=("DISK", "BOOK"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.on is not None:
        print(inside(*given.on, given.rounds), flush=True)
        sys.stdout.flush()
        os._exit(0)
    with tempfile.TemporaryDirectory(prefix="stress-") as name:
        sys.exit(mounted(Path(name), given.rounds))


if __name__ == "__main__":
    main()
