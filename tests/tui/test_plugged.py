"""A rig's ports while no show plays, turn by turn."""

from showrunner.book.read import read_book
from showrunner.live.fake import FakeSystem
from showrunner.live.ports import PortError
from showrunner.places import demo_book
from showrunner.tui.plugged import Plugged


class Falls(FakeSystem):
    """A system that stops answering for a moment, once it has answered a first time."""

    falls = False

    def outputs(self) -> tuple[str, ...]:
        if self.falls:
            raise PortError("ports", "the system does not answer")
        return super().outputs()


def test_a_system_that_stops_answering_is_told_and_asked_again() -> None:
    system = Falls(("Floor board",), ("Host out",))
    plugged = Plugged(read_book(demo_book()).book.rigs["full"], lambda: system, lambda: 0.0)
    plugged.turn()
    assert plugged.seen.ready
    system.falls = True
    plugged.turn()
    assert plugged.seen.troubles == {"ports": "the system does not answer"}
    system.falls = False
    plugged.turn()
    assert plugged.seen.ready
    plugged.stop()
