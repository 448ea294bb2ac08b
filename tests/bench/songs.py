"""How long a key takes on the screen of songs, from the key to the last paint it causes: a table for each kind of key.

`python tests/bench/songs.py [--songs N] [--rounds N]`. A book made of the demo book's songs, N of them, on a screen of
120 columns and 36 rows without a terminal. «Loading» keys are pressed as soon as the songs are there, while findings
are still looked for; the others once all is there. The bar is 100 ms a key. «Work» is what the screen's thread works
for a key, which a busy machine makes little longer.
"""

import argparse
import asyncio
import gc
import shutil
import statistics
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from textual.pilot import Pilot
from textual.widgets import DataTable

from showrunner.collector import go_on
from showrunner.places import demo_book
from showrunner.tui.app import Screens
from showrunner.tui.screens.repertoire import RepertoireScreen
from showrunner.tui.shelf import Shelf

BAR_MS = 100
FILTER = ("a", "r", "backspace", "backspace", "t", "i", "n", "backspace", "backspace", "backspace")
SCROLL = ("down", "down", "pagedown", "pagedown", "up", "end", "home")
SORT = ("s", "s", "S")


def book_of(folder: Path, songs: int) -> Path:
    """A book of so many songs, copies of the demo book's under other names."""
    shutil.copytree(demo_book(), folder, ignore=shutil.ignore_patterns(".*"))
    files = sorted((folder / "songs").glob("*.toml"))
    for number in range(songs - len(files)):
        one = files[number % len(files)]
        text = one.read_text(encoding="utf-8").replace('title = "', f'title = "No {number} ', 1)
        (folder / "songs" / f"{one.stem}-{number}.toml").write_text(text, encoding="utf-8")
    return folder


class Taken(NamedTuple):
    """Milliseconds of one key: from the key to the last paint, and of work for it."""

    all_ms: float
    work_ms: float


async def pressed(pilot: Pilot[None], keys: tuple[str, ...]) -> list[Taken]:
    """What each key takes until the program has nothing more to do for it."""
    taken = []
    for key in keys:
        began_s, worked_s = time.perf_counter(), time.thread_time()
        pilot.app.simulate_key(key)
        await settled(pilot)
        taken.append(Taken((time.perf_counter() - began_s) * 1000, (time.thread_time() - worked_s) * 1000))
    return taken


async def settled(pilot: Pilot[None]) -> None:
    """Wait until what was asked for is handled and painted."""
    for _ in range(2):
        node = pilot.app.focused or pilot.app.screen
        while node is not None:
            done = asyncio.Event()
            if node.call_later(done.set):
                await done.wait()
            node = node.parent
    painted = asyncio.Event()
    pilot.app.screen.call_after_refresh(painted.set)
    await painted.wait()


async def measured(shelf: Shelf) -> dict[str, list[Taken]]:
    """One program's keys, by kind."""
    app = Screens(RepertoireScreen(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        taken = {"loading": await pressed(pilot, ("slash", "m", "backspace", "escape", "down"))}
        table = app.screen.query_one(DataTable)
        while shelf.found() is None or table.row_count < len(shelf.book.songs):
            await pilot.pause(0.05)
        taken["scroll"] = await pressed(pilot, SCROLL)
        taken["sort"] = await pressed(pilot, SORT)
        await pressed(pilot, ("slash",))
        taken["filter"] = await pressed(pilot, FILTER)
        return taken


def main() -> None:
    """Measure and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--songs", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    taken: dict[str, list[Taken]] = {}
    with tempfile.TemporaryDirectory() as folder:
        root = book_of(Path(folder) / "book", given.songs)
        for _ in range(given.rounds):
            gc.disable()
            shelf = Shelf(root)
            go_on()
            for kind, of_kind in asyncio.run(measured(shelf)).items():
                taken.setdefault(kind, []).extend(of_kind)
    print(f"{given.songs} songs, {given.rounds} programs; milliseconds a key, the bar is {BAR_MS}")
    print(f"{'keys':10} {'median':>8} {'longest':>8} {'to the bar':>11} {'work':>8} {'longest':>8}")
    for kind, of_kind in taken.items():
        whole, work = ([getattr(each, name) for each in of_kind] for name in Taken._fields)
        median = statistics.median(whole)
        told = f"{kind:10} {median:8.0f} {max(whole):8.0f} {median / BAR_MS:9.2f} ×"
        print(f"{told} {statistics.median(work):8.0f} {max(work):8.0f}")


if __name__ == "__main__":
    main()
