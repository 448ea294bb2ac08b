"""What is heard on every input, as lines."""

import pytest

from showrunner.live.fake import FakeSystem
from showrunner.live.hearing import WAITING, Hearing
from showrunner.live.ports import PortError


class Vanishing(FakeSystem):
    """Lists a port once that can't be opened any more."""

    lists = 0

    def inputs(self):
        self.lists += 1
        return ("Floor", "Gone") if self.lists == 1 else super().inputs()

    def open_input(self, name, hears):
        if name == "Gone":
            raise PortError(name, "it is not plugged in")
        return super().open_input(name, hears)


class Busy(FakeSystem):
    """Has a port that another program keeps."""

    def open_input(self, name, _hears):
        raise PortError(name, "another program has it")


def test_a_port_that_goes_before_it_is_open_was_never_there() -> None:
    assert list(Hearing(None, Vanishing(("Floor",))).lines(0.0)) == ["Floor: is there"]


def test_a_port_that_is_there_and_can_t_be_opened_is_told() -> None:
    with pytest.raises(PortError, match="another program has it"):
        list(Hearing(None, Busy(("Floor",))).lines(0.0))


def test_of_more_than_can_wait_the_oldest_are_dropped() -> None:
    system = FakeSystem(("Floor",))
    hearing = Hearing(None, system)
    list(hearing.lines(0.0))
    for number in range(WAITING + 5):
        system.play("Floor", bytes((0xB0, number >> 7, number & 127)))
    lines = list(hearing.lines(0.1))
    assert (lines[0], len(lines)) == ("Floor: b0 00 05", WAITING)
