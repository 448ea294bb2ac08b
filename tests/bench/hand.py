"""The robot of the bench: what it plays and hears, and how far that came which is lost."""

import time
from typing import NamedTuple

from showrunner.live.binding import RtMidiSystem, _new_input

LOST_AFTER_S = 0.5
BEFORE, AFTER, BETWEEN = "robot to listener", "listener to robot", "between the listeners"


class Way(NamedTuple):
    """From a floor to a host, and the listener at what lies between sends."""

    floor: str
    host: str
    out: str


WAYS = {"engine": Way("Floor 1", "Host 1", "out"), "bare": Way("Bare floor", "Bare host", "bare out")}


class Hand:
    """The robot in this process: a floor and a host for the engine, and another pair for the bare pass-through.

    It polls the binding's queues: a Python callback that comes late on the server's thread reads a buffer that the
    server has filled anew by then. Bare listeners beside it hear what each floor and each pass-through sends.
    """

    def __init__(self, *, listens: bool) -> None:
        self.system = RtMidiSystem()
        self.floors = {name: self.system.make_output(name) for name in ("Floor 1", "Bare floor")}
        self._hosts = {name: _new_input("Robot") for name in ("Host 1", "Bare host")}
        for name, client in self._hosts.items():
            client.open_virtual_port(name)
        self._known: set[str] = set()
        for floor in self.floors if listens else ():
            self.listen(floor, f":{floor}")

    def listen(self, name: str, part: str) -> None:
        """Listen, under a name of its own, to the port that nobody here listens to yet and whose name has a part."""
        client = _new_input("Listener")
        ports = client.get_ports()
        new = next(port for port in ports if part in port and port not in self._known)
        client.open_port(ports.index(new), "in")
        self._known.add(new)
        self._hosts[name] = client

    def listen_no_more(self) -> None:
        """Close the listeners, whose queues would fill; nothing may be coming in."""
        for name in [name for name in self._hosts if not name.endswith(("Host 1", "Bare host"))]:
            client = self._hosts.pop(name)
            client.close_port()
            client.delete()

    def heard(self, host: str = "Host 1") -> list[bytes]:
        """What came since the last call."""
        found, get = [], self._hosts[host].get_message
        while (event := get()) is not None:
            found.append(bytes(event[0]))
        return found

    def play(self, raw: int, cc: int = 11, floor: str = "Floor 1") -> None:
        """One message from the floor."""
        self.floors[floor].send(bytes((0xB0, cc, raw)))

    def hears(self, count: int, host: str = "Host 1") -> float | None:
        """When so many messages have come; None if one of them never does."""
        end_s, there = time.perf_counter() + LOST_AFTER_S, 0
        while True:
            now_s = time.perf_counter()
            there += len(self.heard(host))
            if there >= count:
                return time.perf_counter()
            if now_s > end_s:
                return None
            time.sleep(0.00005)

    def round(self, way: Way, raw: int) -> float | None:
        """Seconds from a pedal's message to the last of the four that it makes; None if one of them never comes."""
        for name in way:
            self.heard(name)
        began_s = time.perf_counter()
        self.play(raw, floor=way.floor)
        ended_s = self.hears(4, way.host)
        return None if ended_s is None else ended_s - began_s

    def lost_where(self, way: Way) -> str:
        """How far the messages of a round came that was lost, by the bare listeners."""
        if not self.heard(way.floor):
            return BEFORE
        return AFTER if len(self.heard(way.out)) >= 4 else BETWEEN
