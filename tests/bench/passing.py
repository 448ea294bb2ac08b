"""A bare pass-through over the same ports: what the binding alone takes between a robot and a host."""

import sys
import time
from collections.abc import Sequence

from hotpath import messages

from showrunner.live.binding import RtMidiSystem
from showrunner.live.process import take_priority

if __name__ == "__main__":
    take_priority()
    system = RtMidiSystem()
    rows = [messages(raw) for raw in range(128)]
    send = system.open_output(next(name for name in system.outputs() if name.endswith(":Bare host"))).send

    def hear(message: Sequence[int]) -> None:
        for data in rows[message[2]]:
            send(data)

    opened = system.open_input(next(name for name in system.inputs() if name.endswith(":Bare floor")), hear)
    print("ready", flush=True)
    while sys.stdin.readline():
        time.sleep(0.01)
