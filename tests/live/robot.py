"""A floor board and a host in a process of their own: plays what it is told over JACK ports, keeps what it hears.

Orders come as JSON, a line each: `plug NAME` makes an output, `pull NAME` takes it away, `host NAME` makes an input,
`play NAME, [[seconds before, hex], …]`, `heard` answers with [[time, hex], …] since the last time.
"""

import json
import sys
import time
from typing import Any

from showrunner.live.binding import RtMidiSystem, _new_input


class Robot:
    """The ports of one process; kept, since a port lives as long as its client."""

    def __init__(self) -> None:
        self.system = RtMidiSystem()
        self.outputs: dict[str, Any] = {}
        self.hosts: dict[str, Any] = {}
        self.heard: list[tuple[float, str]] = []

    def do(self, order: str, *of: Any) -> Any:
        if order == "plug":
            self.outputs[of[0]] = self.system.make_output(of[0])
        elif order == "pull":
            (self.outputs if of[0] in self.outputs else self.hosts).pop(of[0]).close()
        elif order == "host":
            self._host(of[0])
        elif order == "play":
            for before_s, message in of[1]:
                if before_s > 0:
                    time.sleep(before_s)
                self.outputs[of[0]].send(bytes.fromhex(message))
                self._hear()
        elif order == "heard":
            self._hear()
            heard, self.heard = self.heard, []
            return heard
        return None

    def _host(self, name: str) -> None:
        client = _new_input("Robot")
        client.open_virtual_port(name)
        self.hosts[name] = _Host(client)

    def _hear(self) -> None:
        """Empty the hosts' queues.

        A Python callback that comes late on the server's thread reads a buffer that the server has filled anew.
        """
        for host in self.hosts.values():
            while (event := host.client.get_message()) is not None:
                self.heard.append((time.perf_counter(), bytes(event[0]).hex()))


class _Host:
    """A host's input port."""

    def __init__(self, client: Any) -> None:
        self.client = client

    def close(self) -> None:
        self.client.close_port()
        self.client.delete()


if __name__ == "__main__":
    robot = Robot()
    for line in sys.stdin:
        print(json.dumps(robot.do(*json.loads(line))), flush=True)
