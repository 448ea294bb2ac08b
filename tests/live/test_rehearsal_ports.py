"""A rehearsal over real ports: what the host heard is what the take keeps and what replaying it sends."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import mido
import pytest

from showrunner.book.read import read_book
from showrunner.takes.replaying import differs_from_then, replay_steps, script_for
from showrunner.takes.smf import read_take


@pytest.fixture
def robot(world: Any) -> Iterator[Any]:
    """The floor board and the host, in a process of their own."""
    robot = world.robot()
    robot.do("plug", "Floor 1")
    robot.do("host", "Host")
    yield robot
    robot.kill()


def pedal(raw: int) -> bytes:
    return bytes((0xB0, 11, raw))


def test_a_take_over_real_ports_replays_to_the_byte_as_the_host_heard_it(
    world: Any, robot: Any, small_book: Path
) -> None:
    rehearsal = world.start(
        sys.executable, "-m", "showrunner.cli", "rehearse", "low", "--book", str(small_book), stdout=subprocess.PIPE
    )
    heard = robot.hears(1)
    robot.play([pedal(raw) for raw in (*range(128), *range(126, -1, -2), *range(0, 128, 3))], every_s=0.012)
    output, _ = rehearsal.communicate(timeout=60)
    assert rehearsal.returncode == 0, output
    heard += robot.heard()
    (file,) = (small_book / "takes/low").iterdir()
    take = read_take(file)
    out = [event.data for event in take.events if event.direction == "out"]
    assert len(out) > 200
    assert heard == out
    assert [cue.cue for cue in take.cues] == ["start", "Lead", "Out"]
    the_book = read_book(small_book).book
    steps = replay_steps(script_for(the_book, take, the_book.rigs["rig"]), take)
    assert differs_from_then(steps, take) is None
    # A reader from elsewhere: mido finds every message of both ways in the file.
    tracks = {track.name: [m.bytes() for m in track if not m.is_meta] for track in mido.MidiFile(file).tracks}
    assert [bytes(message) for message in tracks["out host"]] == out
    assert len(tracks["in floor"]) == sum(event.direction == "in" for event in take.events)


def test_a_rehearsal_plays_on_over_the_next_server_when_one_ends(world: Any, robot: Any, small_book: Path) -> None:
    song = small_book / "songs/low.toml"
    song.write_text(song.read_text().replace('"0:03"', '"0:12"'))
    rehearsal = world.start(
        sys.executable, "-m", "showrunner.cli", "rehearse", "low", "--book", str(small_book), stdout=subprocess.PIPE
    )
    robot.hears(1)
    world.kill_server()
    robot.kill()
    world.start_server()
    other = world.robot()
    other.do("plug", "Floor 1")
    other.do("host", "Host")
    other.hears(1)
    for _ in range(30):
        other.play([pedal(raw) for raw in (40, 80)], every_s=0.02)
    assert {message[:2] for message in other.hears(3)} & {b"\xb0\x46", b"\xb0\x47"}
    output, _ = rehearsal.communicate(timeout=60)
    assert rehearsal.returncode == 0, output
    other.kill()
    (file,) = (small_book / "takes/low").iterdir()
    take = read_take(file)
    assert [(port.port, port.there) for port in take.ports][-4:] == [
        ("floor", False),
        ("host", False),
        ("floor", True),
        ("host", True),
    ]
    the_book = read_book(small_book).book
    assert differs_from_then(replay_steps(script_for(the_book, take, the_book.rigs["rig"]), take), take) is None
