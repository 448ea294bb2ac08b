"""The engine's process, thread by thread, without starting one."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from showrunner.live.fake import FakeSystem
from showrunner.live.faults import Faults
from showrunner.live.folder import PORTS, read_json
from showrunner.live.process import Process


class Turns:
    """The end of a show that comes after so many turns; `each` is called at every one."""

    def __init__(self, left: int, each=lambda _left: None) -> None:
        self.left, self.each = left, each

    def wait(self, _for_s: float) -> bool:
        self.left -= 1
        self.each(self.left)
        return self.left < 0


@pytest.fixture
def process(tmp_path: Path) -> Process:
    """A process with one port to remember, in a folder that is not there yet."""
    made = object.__new__(Process)
    made._folder, made._system, made._last, made.looks = tmp_path / "run", FakeSystem(), {}, 0

    def look() -> None:
        made.looks += 1

    patch, made._faults = SimpleNamespace(last={"floor": ["Floor 1"]}, troubles={}), Faults()
    engine = SimpleNamespace(faults=made._faults)
    made._player = SimpleNamespace(look=look, compile_ahead=lambda: None, health="playing", patch=patch, engine=engine)
    return made


def test_ports_are_looked_at_although_nothing_can_be_written(process: Process) -> None:
    process._ended = Turns(3)
    process._ports()
    assert process.looks == 3


def test_what_could_not_be_written_is_written_as_soon_as_it_can_be(process: Process) -> None:
    process._ended = Turns(3, lambda left: process._folder.mkdir() if left == 1 else None)
    process._ports()
    assert read_json(process._folder / PORTS) == {"floor": ["Floor 1"]}
