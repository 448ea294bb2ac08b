"""How late MIDI clock leaves a rehearsal while a screen paints it: `python tests/bench/bench_rehearsal.py [SECONDS]`.

Once with the rehearsal on a thread of the screen's process, once in a process of its own, which is what is done; the
screen is the real one, headless, at 120 by 36, looked at 30 times a second.
"""

import asyncio
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from bench_clock import lateness_ms, report

from showrunner.book.read import read_book
from showrunner.live.rehearsal_local import LocalRehearsal
from showrunner.places import demo_book
from showrunner.planning.rehearsals import Wanted, plan_of
from showrunner.tui.app import Screens
from showrunner.tui.screens.rehearse_play import RehearsingScreen


async def painted(seconds: int, work: Callable[[], object]) -> None:
    """A rehearsal's screen for as long as the work takes."""
    wanted = Wanted("full", song="saltmarsh-signal", times=None, start="Theme", stop="Solo")
    with TemporaryDirectory() as folder:
        client = LocalRehearsal(plan_of(read_book(demo_book()).book, wanted), wanted, Path(folder))
        app = Screens(RehearsingScreen(client, by_foot=False))
        async with app.run_test(size=(120, 36)) as pilot:
            thread = threading.Thread(target=work)
            thread.start()
            for number in range(30 * seconds * 2):
                if not thread.is_alive():
                    break
                client.move("swell", number * 7 % 126)
                app.screen.refresh()
                await pilot.pause(1 / 30)
            thread.join()


def main(seconds: int) -> None:
    """Both, one after the other."""
    found: list[list[float]] = []
    asyncio.run(painted(seconds, lambda: found.append(lateness_ms(seconds))))
    report("on a thread of the screen's process", found[0])
    command = [sys.executable, str(Path(__file__).with_name("bench_clock.py")), str(seconds)]
    print("in a process of its own, the same screen beside it:")
    asyncio.run(painted(seconds, lambda: subprocess.run(command, check=True)))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
