"""Ends each change of several files before each of its steps in turn, and opens the book after it.

A step is a call that changes something on the disk; `tests/stress/killed_saves.py` does it at every system call. A
program of its own, since it forks: `killed.py FOLDER` prints, as JSON, how many steps each change has, and how many the
settling of one that was ended half way. Exit status 1 where a book was left with a part of a change.
"""

import json
import os
import shutil
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from showrunner.book.files import FileChanges
from showrunner.book.filing import Filing, edited, make, take_back
from showrunner.book.pack_into import compared, decided, put
from showrunner.book.pack_manifest import Contents
from showrunner.book.read import read_book
from showrunner.book.rename import renamed
from showrunner.book.save import is_leftover
from showrunner.book.transaction import apply, settle

CALLS = ("open", "write", "replace", "rename", "unlink", "mkdir", "rmdir")
RECORD = "runs/friday/2026-11-20.closed.json"
FILES = {
    "book.toml": 'format = 1\nname = "Two songs"\n',
    "songs/low.toml": 'format = 1\ntitle = "Low"  # as the band says it\nduration = "4:00"\n',
    "songs/high.toml": 'format = 1\ntitle = "High"\nduration = "5:00"\n',
    "shows/friday.toml": 'format = 1\ntitle = "Friday"\nencore = ["low"]\n',
    "shows/saturday.toml": 'format = 1\ntitle = "Saturday"\nreserve = ["low", "high"]\n',
    "takes/low/2026-11-02.mid": "MThd",
    "runs/friday/2026-11-20.jsonl": "",
}
Act = Callable[[Path], Any]
State = Mapping[str, bytes]


class Case(NamedTuple):
    """A change: the book it begins with, and what makes it."""

    start: Path
    act: Act


def book_at(root: Path) -> Path:
    """A book of two songs and two shows."""
    for name, text in FILES.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text)
    return root


def state(root: Path) -> State:
    """What each file of a book holds, but for what a save that was ended leaves."""
    found = (path for path in root.rglob("*") if path.is_file() and not is_leftover(path.name))
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in found}


def rename(root: Path) -> FileChanges:
    """A song under another name, with the shows that name it and its takes."""
    return renamed(read_book(root), "song", "low", "Lower").changes


def close(root: Path) -> None:
    """A night's durations filed, with their record."""
    reading = read_book(root)
    files = [edited(reading, "song", slug, [(("duration",), "4:10")]) for slug in ("low", "high")]
    make(root, RECORD, Filing(tuple(files), {"on": "2026-11-21"}), "closing friday")


def unpack(root: Path) -> None:
    """A pack put into a book: a file that differs, new ones, one of them in a new folder."""
    files = {
        "songs/low.toml": b'format = 1\ntitle = "Other"\nduration = "3:00"\n',
        "takes/high/a.mid": b"\x00\xff" * 50,
    }
    files |= {"book.toml": b'format = 1\nname = "Packed"\n', "shows/sunday.toml": b'format = 1\ntitle = "Sunday"\n'}
    coming = compared(root, Contents("sunday", "Sunday", None, files))
    put(root, decided(root, coming, take=[], keep=[], otherwise="replaced"), "unpacking sunday")


def cases(folder: Path) -> dict[str, Case]:
    """Every change, by name."""
    book = book_at(folder / "book")
    changes = rename(book)
    closed = fresh(book, folder / "closed")
    close(closed)
    return {
        "rename": Case(book, lambda root: apply(root, changes, "renaming songs/low.toml")),
        "close": Case(book, close),
        "take back": Case(closed, lambda root: take_back(root, RECORD, "opening friday again")),
        "unpack": Case(book, unpack),
        "unpack into no folder": Case(folder / "nowhere", unpack),
    }


def fresh(start: Path, root: Path) -> Path:
    """A copy of a book to change; no folder where there is none."""
    shutil.rmtree(root, ignore_errors=True)
    if start.exists():
        shutil.copytree(start, root)
    return root


def ended_at(number: int, act: Act, root: Path) -> bool:
    """Makes a change in a child that ends before one of its steps, a write half done; whether it ended there."""
    child = os.fork()
    if child == 0:
        _end_at(number)
        act(root)
        os._exit(0)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    if code not in (0, 9):
        sys.exit(f"the change itself failed at step {number}")
    return code == 9


def _end_at(number: int) -> None:
    calls, write = 0, os.write

    def ending(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            nonlocal calls
            calls += name != "open" or bool(args[1] & os.O_CREAT)
            if calls == number:
                if name == "write":
                    write(args[0], bytes(args[1])[:3])
                os._exit(9)
            return real(*args, **kwargs)

        return call

    for name in CALLS:
        setattr(os, name, ending(name, getattr(os, name)))


def ended_everywhere(name: str, case: Case, folder: Path) -> tuple[int, int]:
    """How many steps the change and its settling have; exits where all of it or nothing is not what is left."""
    case.act(fresh(case.start, folder / "whole"))
    ends = [state(case.start), state(folder / "whole")]
    seen, number, root = set[int](), 0, folder / "root"
    journals = list[int]()
    while True:
        number += 1
        was_ended = ended_at(number, case.act, fresh(case.start, root))
        if (root / ".journal").exists():
            journals.append(number)
        seen.add(_end(name, number, root, ends))
        if not was_ended:
            break
    if seen != {0, 1}:
        sys.exit(f"{name}: nothing or all of it was never left")
    return number - 1, _settling(name, case, journals, root, ends) if name == "rename" else 0


def _settling(name: str, case: Case, journals: list[int], root: Path, ends: list[State]) -> int:
    """The same for the settling of a change that was ended in the middle of what its journal says."""
    number = 0
    while True:
        number += 1
        ended_at(journals[len(journals) // 2], case.act, fresh(case.start, root))
        was_ended = ended_at(number, settle, root)
        if _end(f"{name}, settled", number, root, ends) != 1:
            sys.exit(f"{name}: a journal was there, and what it says was not done")
        if not was_ended:
            return number - 1


def _end(name: str, number: int, root: Path, ends: list[State]) -> int:
    """Opens the book as the next program does; which of the ends is there."""
    if root.exists():
        read_book(root)
        settle(root)
    now = state(root)
    if now not in ends:
        sys.exit(f"{name}, ended before step {number}: {sorted(now)} are neither as before nor as after")
    return ends.index(now)


if __name__ == "__main__":
    os.fsync = lambda _: None  # what is left by a program that ends is the same without
    where = Path(sys.argv[1])
    print(json.dumps({name: ended_everywhere(name, case, where) for name, case in cases(where).items()}))
