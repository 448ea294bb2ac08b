"""The machine's ports as the screens share them: opened once, deaf when let go of, opened anew when they come back."""

import pytest

from showrunner.live.fake import FakeSystem
from showrunner.live.kept import Kept, leave, real_system
from showrunner.live.ports import PortError


class Counted(FakeSystem):
    """A system that counts what is opened."""

    opened = 0

    def open_input(self, name, hears):
        self.opened += 1
        return super().open_input(name, hears)

    def open_output(self, name):
        self.opened += 1
        return super().open_output(name)


def test_an_input_that_was_let_go_of_is_heard_again_without_opening_it_twice() -> None:
    system, heard = Counted(("Floor",)), []
    kept = Kept(system)
    kept.open_input("Floor", heard.append).close()
    system.play("Floor", b"\xb0\x0b\x01")
    kept.open_input("Floor", heard.append)
    system.play("Floor", b"\xb0\x0b\x02")
    assert heard == [b"\xb0\x0b\x02"]
    assert system.opened == 1


def test_an_input_that_came_back_is_opened_anew() -> None:
    system, heard = Counted(("Floor",)), []
    kept = Kept(system)
    opened = kept.open_input("Floor", heard.append)
    system.pull("Floor")
    opened.close()
    system.plug_input("Floor")
    kept.open_input("Floor", heard.append)
    system.play("Floor", b"\xb0\x0b\x03")
    assert heard == [b"\xb0\x0b\x03"]
    assert system.opened == 2


def test_an_output_that_came_back_is_opened_anew() -> None:
    system = Counted((), ("Host",))
    kept = Kept(system)
    first = kept.open_output("Host")
    first.close()
    kept.open_output("Host")
    assert system.opened == 1
    system.pull("Host")
    with pytest.raises(PortError):
        first.send(b"\xb0\x07\x01")
    first.close()
    system.plug_output("Host")
    kept.open_output("Host").send(b"\xb0\x07\x02")
    assert list(system.sent) == [("Host", b"\xb0\x07\x02")]
    assert system.opened == 2


def test_an_input_that_cannot_be_opened_is_tried_again() -> None:
    system, heard = FakeSystem(), []
    kept = Kept(system)
    with pytest.raises(PortError):
        kept.open_input("Floor", heard.append)
    system.plug_input("Floor")
    kept.open_input("Floor", heard.append)
    system.play("Floor", b"\xb0\x0b\x04")
    assert heard == [b"\xb0\x0b\x04"]


@pytest.fixture
def left(monkeypatch: pytest.MonkeyPatch):
    """The codes with which the program was ended at once."""
    codes: list[int] = []
    monkeypatch.setattr("os._exit", codes.append)
    monkeypatch.setattr("showrunner.live.binding.RtMidiSystem", lambda: FakeSystem(("Floor",)))
    real_system.cache_clear()
    yield codes
    real_system.cache_clear()


def test_a_program_that_opened_the_machines_midi_ends_at_once(left) -> None:
    real_system()
    leave(1)
    assert left == [1]


def test_a_program_that_did_not_ends_as_any_other(left) -> None:
    leave(1)
    assert left == []
