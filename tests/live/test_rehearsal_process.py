"""A rehearsal in a process of its own over real ports, followed by a screen in another: heard, kept, whoever ends."""

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from showrunner.takes.smf import read_take
from showrunner.takes.take import Take

SCREEN = """
import json, os, signal, sys, time
from pathlib import Path
from showrunner.book.read import read_book
from showrunner.live.rehearsal_link import RemoteRehearsal
from showrunner.planning.rehearsals import Wanted, plan_of
root, does, at_s = Path(sys.argv[1]), sys.argv[2], float(sys.argv[3])
wanted = Wanted("rig", song="low", by_foot=True, clock_to="host" if does == "nothing" else None)
client = RemoteRehearsal(root, plan_of(read_book(root).book, wanted), wanted, root / "takes")
seen = []
while client.ended is None:
    picture = client.picture()
    seen.append(picture.picture.state.moment)
    if picture.picture.at_s > at_s and does:
        if does == "stop":
            client.stop()
        if does == "next":
            client.ask("next")
        if does == "kill":
            os.kill(client.pid, signal.SIGKILL)
        if does == "die":
            os._exit(0)
        does = ""
    time.sleep(0.01)
client.close()
take = client.ended.take
print(json.dumps([take and str(take), client.ended.trouble, max(seen)]))
"""


@pytest.fixture
def robot(world: Any) -> Iterator[Any]:
    """The floor board and the host, in a process of their own."""
    robot = world.robot()
    robot.do("plug", "Floor 1")
    robot.do("host", "Host")
    yield robot
    robot.kill()


class Screen:
    """A process that follows a rehearsal, and does one thing to it at a time."""

    def __init__(self, world: Any, book: Path, does: str, at_s: float) -> None:
        self.book = book
        self.process = world.start(sys.executable, "-c", SCREEN, str(book), does, str(at_s), stdout=subprocess.PIPE)

    def ended(self) -> tuple[Take, str, int]:
        """The take as it was kept, what went wrong, and the furthest moment that was seen."""
        output, _ = self.process.communicate(timeout=60)
        file, trouble, moment = json.loads(output)
        assert file is not None, trouble
        return read_take(Path(file)), trouble, moment


def pressed(robot: Any) -> None:
    robot.play([bytes((0xB0, 80, 127)), bytes((0xB0, 80, 0))], every_s=0.05)


def test_what_the_host_hears_is_what_the_take_keeps(world: Any, robot: Any, small_book: Path) -> None:
    screen = Screen(world, small_book, "nothing", 99)
    heard = robot.hears(2)
    pressed(robot)
    robot.play([bytes((0xB0, 11, raw)) for raw in range(0, 128, 2)], every_s=0.01)
    take, trouble, _ = screen.ended()
    heard += robot.heard()
    out = [event.data for event in take.events if event.direction == "out"]
    assert trouble == ""
    assert len(out) > 60
    # The robot's input leaves out the clocks, which the take has from the count-in to the stop.
    assert heard == [data for data in out if data != b"\xf8"]
    clocks = [index for index, data in enumerate(out) if data == b"\xf8"]
    assert clocks[0] < out.index(b"\xfa") < clocks[-1] < out.index(b"\xfc")


def test_a_step_asked_for_on_the_screen_is_taken(world: Any, robot: Any, small_book: Path) -> None:  # noqa: ARG001
    take, _, _ = Screen(world, small_book, "next", 1.2).ended()
    assert [ask.what for ask in take.asks] == ["next", "end"]
    assert [cue.cue for cue in take.cues] == ["start"]


def test_stopped_from_the_screen_its_take_is_kept(world: Any, robot: Any, small_book: Path) -> None:  # noqa: ARG001
    take, trouble, _ = Screen(world, small_book, "stop", 1.0).ended()
    assert trouble == ""
    assert 0.9 < take.ends_s < 4.0


def test_a_process_that_is_killed_leaves_its_take_and_the_screen_says_so(
    world: Any, robot: Any, small_book: Path
) -> None:
    screen = Screen(world, small_book, "kill", 2.5)
    robot.hears(1)
    pressed(robot)
    take, trouble, _ = screen.ended()
    assert "ended before its time" in trouble
    assert [cue.cue for cue in take.cues] == ["start"]


def test_a_screen_that_is_killed_leaves_a_take_that_was_put_in_order(
    world: Any, robot: Any, small_book: Path, waits: Any
) -> None:
    screen = Screen(world, small_book, "die", 1.0)
    robot.hears(1)
    screen.process.communicate(timeout=60)
    (file,) = waits(lambda: list(small_book.glob("takes/low/*.mid")), "the take")
    take = waits(lambda: _ended(read_take(file)), "the take's end")
    assert take.song == "low"


def _ended(take: Take) -> Take | None:
    return take if take.asks and take.asks[-1].what == "end" else None
