"""What is plugged in and heard, for a command that asks."""

from pathlib import Path

import pytest

from showrunner.book.read import read_book
from showrunner.curves.message import control_change
from showrunner.live.fake import FakeSystem, plain
from showrunner.live.listening import Listening
from showrunner.places import demo_book

RIG = read_book(demo_book()).book.rigs["full"]


@pytest.fixture
def system() -> FakeSystem:
    return FakeSystem.simulated(RIG)


def test_each_side_of_a_port_has_the_systems_name(tmp_path: Path, system: FakeSystem) -> None:
    listening = Listening(tmp_path, "night", RIG, system)
    assert listening.look(0.0).names["floor"] == {"input": plain(RIG.ports["floor"].input)}
    system.pull(plain(RIG.ports["floor"].input))
    assert listening.look(1.0).names["floor"] == {}


def test_how_far_a_control_went_is_kept_between_looks(tmp_path: Path, system: FakeSystem) -> None:
    listening = Listening(tmp_path, "night", RIG, system)
    assert listening.look(0.0).reach == {}
    swell = RIG.controls["swell"]
    for raw in (60, 125, 2, 60):
        system.play(plain(RIG.ports[swell.port].input), control_change(swell.channel, swell.cc, raw))
    assert listening.look(1.0).reach["swell"] == (0.0, 100.0)
    assert listening.look(2.0).reach["swell"] == (0.0, 100.0)
