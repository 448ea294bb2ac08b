"""Makes every change of several files, and a sheet, on a disk that is full after some pages more, for each number.

The disk is a tmpfs of its own, so that this needs root. After each try it is made large and the book is opened as the
next command does; then all of the change is there or nothing of it, and an old sheet is whole.
"""

import argparse
import ctypes
import os
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from killed import Case, fresh, state
from killed_saves import SHOW, cases

from showrunner.book.problems import BookError
from showrunner.book.transaction import settle

PAGE = 4096
MOST_PAGES = 1000
REMOUNT = 32
"""A flag of mount(2), from Linux' <linux/mount.h>."""
_libc = ctypes.CDLL(None, use_errno=True)


@contextmanager
def disk(folder: Path) -> Iterator[None]:
    """A large disk at a folder."""
    _mount(folder, 0, 64 << 20)
    try:
        yield
    finally:
        if _libc.umount2(os.fsencode(folder), 0):
            raise OSError(ctypes.get_errno(), "the disk can't be taken off", str(folder))


def resize(folder: Path, size: int) -> None:
    """Let the disk hold so many bytes, a page at least: 0 would be any number."""
    _mount(folder, REMOUNT, max(PAGE, size))


def _mount(folder: Path, flags: int, size: int) -> None:
    if _libc.mount(b"tmpfs", os.fsencode(folder), b"tmpfs", flags, f"size={size}".encode()):
        raise OSError(ctypes.get_errno(), "the disk can't be put there", str(folder))


def used(folder: Path) -> int:
    """How many bytes are in use."""
    found = os.statvfs(folder)
    return (found.f_blocks - found.f_bfree) * found.f_frsize


def tried(case: Case, folder: Path, pages: int) -> str:
    """One try with so many pages left: what came of it, "fell" where it is a part of the change."""
    with disk(folder):
        root = folder / "book"
        case.act(fresh(case.start, root))
        ends = [state(case.start), state(root)]
        fresh(case.start, root)
        resize(folder, used(folder) + pages * PAGE)
        refused = False
        try:
            case.act(root)
        except BookError:
            refused = True
        journal = (root / ".journal").exists()
        left = state(root)
        resize(folder, 64 << 20)
        if root.exists():
            settle(root)
        now = state(root)
    if now not in ends or (refused and not journal and left != ends[0]) or (not refused and now != ends[1]):
        return "fell"
    return "done" if not refused else "finished later" if journal else "refused"


def sheet_tried(book: Path, folder: Path, pages: int) -> str:
    """A sheet over an old one, the same."""
    with disk(folder):
        sheet = folder / "sheet.pdf"
        sheet.write_bytes(b"old" * 5000)
        resize(folder, used(folder) + pages * PAGE)
        program = "from showrunner.cli.main import main; main()"
        command = [sys.executable, "-c", program, "sheet", SHOW, "--format", "pdf", "-o", str(sheet)]
        done = subprocess.run([*command, "--book", str(book)], capture_output=True, text=True, check=False)
        kept, files = sheet.read_bytes() == b"old" * 5000, os.listdir(folder)
    if "Traceback" in done.stderr or files != ["sheet.pdf"] or kept == (done.returncode == 0):
        return "fell"
    return "done" if done.returncode == 0 else "refused"


def main() -> int:
    """Tries what is asked for, prints a line for each change and one of result."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--change", action="append", help="only this change, or sheet; may be repeated")
    parser.add_argument("--every", type=int, default=1, help="try every Nth number of pages only (default 1)")
    asked = parser.parse_args()
    total = Counter[str]()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "disk"
        folder.mkdir()
        found = cases(Path(name))
        for change in asked.change or [*found, "sheet"]:
            tries, pages = Counter[str](), 0
            while not tries["done"] and pages < MOST_PAGES:
                case = found.get(change)
                tries[tried(case, folder, pages) if case else sheet_tried(Path(name) / "book", folder, pages)] += 1
                pages += asked.every
            print(f"{change}: {', '.join(f'{what} {count}' for what, count in sorted(tries.items()))}", flush=True)
            total += tries
    print(f"{total.total()} tries on a full disk, {total['fell']} left a part of a change")
    return 1 if total["fell"] or not (total["refused"] and total["done"]) else 0


if __name__ == "__main__":
    sys.exit(main())
