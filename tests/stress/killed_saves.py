"""Kills what changes several files of a book at every system call that it makes, and opens the book after it.

The kill is a real one: the change runs in a child under ptrace, which is killed as it enters its Nth system call, for
every N from the first look at the book to the last call. After each kill the book is read and settled as the next
command does; then it must hold all of the change or nothing of it. A second round kills the settling, at each of its
calls, of a change that was itself killed half way. Linux only.
"""

import argparse
import ctypes
import os
import shutil
import signal
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parents[1]))
from killed import Act, Case, State, fresh, state

from showrunner.book.pack import contents
from showrunner.book.pack_into import compared, decided, put
from showrunner.book.read import JOURNAL, read_book
from showrunner.book.rename import renamed
from showrunner.book.save import digest, save
from showrunner.book.start import new
from showrunner.book.transaction import apply, settle
from showrunner.live.closing import close, filing_of, reopen, to_file
from showrunner.live.runs import Run, lengths, read_runs
from showrunner.places import demo_book, templates
from showrunner.planning.closing import usual

TRACEME, SYSCALL, SETOPTIONS, EXITKILL = 0, 24, 0x4200, 0x100000
"""Requests and an option of ptrace(2), from Linux' <linux/ptrace.h>."""

SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"
_ptrace: Callable[..., int] = ctypes.CDLL(None, use_errno=True).ptrace


class Tally(NamedTuple):
    """What the kills of one change came to: how often nothing, all, or a journal was there, and how often it fell."""

    name: str
    kills: int
    found: Counter[str]
    fell: list[str]


def cases(folder: Path) -> dict[str, Case]:
    """Every change, by name, on copies of the demo book."""
    book = fresh(demo_book(), folder / "book")
    changes = renamed(read_book(book), "song", SONG, "Saltmarsh Light").changes
    after = fresh(book, folder / "renamed")
    apply(after, changes, "renaming")
    closing, run = _closing(book)
    closed = fresh(book, folder / "closed")
    closing(closed)
    (folder / "empty").mkdir()
    song = book / f"songs/{SONG}.toml"
    old = song.read_bytes()
    return {
        "rename": Case(book, lambda root: apply(root, changes, "renaming a song")),
        "rename taken back": Case(after, lambda root: apply(root, changes.inverse, "renaming it back")),
        "close": Case(book, closing),
        "take back": Case(closed, lambda root: reopen(root, run, ())),
        "unpack": Case(_other(book, folder / "other"), _unpacking(book, "replaced")),
        "unpack into an empty folder": Case(folder / "empty", _unpacking(book, "written")),
        "unpack into no folder": Case(folder / "nowhere", _unpacking(book, "written")),
        "new": Case(book, lambda root: new(root, "song", "Third", [templates() / "new"])),
        "save": Case(book, lambda root: save(root / f"songs/{SONG}.toml", old + b"# more\n", digest(old))),
    }


def _closing(book: Path) -> tuple[Act, Run]:
    """Closing the last night of the show, with everything that can be filed, and its run."""
    reading = read_book(book)
    runs = list(read_runs(book))
    part, night = [each for run in runs if run.show == SHOW for each in run.played(reading.book)][-1]
    found = to_file(reading, part, night, lengths(runs, reading.book))
    songs = [one.song for one in found.songs if not one.why_not]
    filing = filing_of(reading, part, found, usual(found, songs), date(2026, 11, 30), 21.5, "a note")
    return lambda root: close(root, part, filing, ()), part


def _unpacking(book: Path, otherwise: Any) -> Act:
    inside = contents(read_book(book), SHOW, takes=True, runs=True)

    def unpack(root: Path) -> None:
        put(root, decided(root, compared(root, inside), take=(), keep=(), otherwise=otherwise), "unpacking the show")

    return unpack


def _other(book: Path, root: Path) -> Path:
    """A book that has some of the show's files otherwise, and others not at all."""
    fresh(book, root)
    for file in sorted((root / "songs").glob("*.toml"))[::2]:
        file.write_bytes(file.read_bytes() + b"# mine\n")
    for file in sorted((root / "songs").glob("*.toml"))[1::4]:
        file.unlink()
    shutil.rmtree(root / "takes")
    return root


def killed_at(number: int, act: Act, root: Path) -> bool:
    """Makes a change in a child that is killed as it enters a system call; whether it was killed before its end."""
    child = os.fork()
    if child == 0:
        _ptrace(TRACEME, 0, 0, 0)
        os.kill(os.getpid(), signal.SIGSTOP)
        act(root)
        os._exit(0)
    os.waitpid(child, 0)
    _ptrace(SETOPTIONS, child, 0, EXITKILL)
    calls, entering = 0, False
    while True:
        _ptrace(SYSCALL, child, 0, 0)
        _, status = os.waitpid(child, 0)
        if os.WIFEXITED(status):
            if os.WEXITSTATUS(status):
                sys.exit(f"the change itself failed at call {number}")
            return False
        entering = not entering
        calls += entering
        if entering and calls == number:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return True


def killed_everywhere(name: str, case: Case, folder: Path, every: int) -> Tally:
    """Kills a change at its calls and opens the book after each."""
    root, found, fell, journals = folder / "root", Counter[str](), list[str](), list[int]()
    case.act(fresh(case.start, root))
    ends = [state(case.start), state(root)]
    number = 1
    while killed_at(number, case.act, fresh(case.start, root)):
        if (root / JOURNAL).exists():
            journals.append(number)
            found["journals"] += 1
        _open(f"{name}, call {number}", root, ends, found, fell)
        number += every
    kills = found["nothing"] + found["all"] + len(fell)
    if journals:
        kills += _settling(name, case, journals, root, ends, every, fell)
    return Tally(name, kills, found, fell)


def _settling(
    name: str, case: Case, journals: Sequence[int], root: Path, ends: list[State], every: int, fell: list[str]
) -> int:
    """Kills the settling of a change that was killed in the middle, at its calls; how many kills there were."""
    number = 1
    found = Counter[str]()
    while True:
        killed_at(journals[len(journals) // 2], case.act, fresh(case.start, root))
        if not killed_at(number, settle, root):
            return found.total()
        _open(f"{name}, settling, call {number}", root, ends, found, fell)
        number += every


def _open(what: str, root: Path, ends: list[State], found: Counter[str], fell: list[str]) -> None:
    """Opens the book as the next command does, and notes which end is there."""
    try:
        if root.exists():
            read_book(root)
            settle(root)
        now = state(root)
        found["nothing" if now == ends[0] else "all"] += now in ends
        if now not in ends:
            fell.append(f"{what}: neither as before nor as after")
    except Exception as error:
        fell.append(f"{what}: {error!r}")


def main() -> int:
    """Kills what is asked for, prints a line for each change and one of result."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--change", action="append", help="only this change; may be repeated")
    parser.add_argument("--every", type=int, default=1, help="kill at every Nth system call only (default 1)")
    parser.add_argument(
        "--folder", type=Path, help="where the books go; /dev/shm if there is one, where syncs are quick"
    )
    asked = parser.parse_args()
    where = asked.folder or (Path("/dev/shm") if Path("/dev/shm").is_dir() else None)
    kills, fell = 0, list[str]()
    with tempfile.TemporaryDirectory(dir=where) as folder:
        found = cases(Path(folder))
        for name in asked.change or found:
            tally = killed_everywhere(name, found[name], Path(folder), asked.every)
            kills, fell = kills + tally.kills, fell + tally.fell
            counts = ", ".join(f"{kind} {count}" for kind, count in sorted(tally.found.items()))
            print(f"{name}: {tally.kills} kills; {counts}; fell {len(tally.fell)}", flush=True)
    for line in fell[:20]:
        print(line)
    print(f"{kills} kills, {len(fell)} left a part of a change")
    return 1 if fell or not kills else 0


if __name__ == "__main__":
    sys.exit(main())
