"""A rehearsal's ports over a sound server that ends and comes back."""

from showrunner.live.fake import FakeSystem
from showrunner.live.kept import Kept
from showrunner.live.patching import Patch
from showrunner.model.rig import Rig
from showrunner.state.events import PortFound, PortLost

RIG = Rig.model_validate(
    {"format": 1, "title": "Small", "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}}}
)


class Server(FakeSystem):
    """A system that says when it was renewed, and what was open then."""

    def __init__(self) -> None:
        super().__init__(("Floor 1",), ("Host",))
        self.open: set[str] = set()
        self.open_when_renewed: set[str] | None = None

    def open_input(self, name, hears):
        self.open.add(name)
        return super().open_input(name, hears)

    def forget(self, name):
        self.open.discard(name)
        super().forget(name)

    def renew(self) -> None:
        self.open_when_renewed = set(self.open)
        super().renew()


def test_a_server_that_ends_loses_every_port_and_the_next_one_gets_them_opened_anew() -> None:
    server, heard = Server(), []
    patch = Patch(server, RIG, lambda _port: heard.append)
    patch.look(0.0)
    server.ended = True
    assert patch.look(1.0) == [PortLost(1.0, "floor"), PortLost(1.0, "host")]
    server.plug_input("Floor 1")
    server.plug_output("Host")
    assert patch.look(2.0) == [PortFound(2.0, "floor"), PortFound(2.0, "host")]
    server.play("Floor 1", b"\xb0\x0b\x05")
    patch.sends["host"](b"\xb0\x07\x01")
    assert (heard, list(server.sent)) == ([b"\xb0\x0b\x05"], [("Host", b"\xb0\x07\x01")])


def test_everything_is_closed_before_the_server_is_let_go_of_also_where_ports_are_kept() -> None:
    for wrapped in (False, True):
        server = Server()
        patch = Patch(Kept(server) if wrapped else server, RIG, lambda _port: print)
        patch.look(0.0)
        assert server.open == {"Floor 1"}
        server.ended = True
        patch.look(1.0)
        assert server.open_when_renewed == set()
