"""The engine's memory over an evening's worth of messages, hour by hour: kB, and as a ratio to the first hour.

`python tests/bench/memory.py [--hours N] [--rate MESSAGES_A_SECOND]`. The demo show is played round and round on a
clock of its own, as fast as it goes: every pedal swept, a step each minute, ports lost and found, the loop guard at
work. The sends go nowhere, so that only the engine's own memory is seen.
"""

import argparse
import gc
import os
import time
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path

from showrunner.book.read import read_book
from showrunner.live.engine import Engine
from showrunner.live.night import night_of
from showrunner.places import demo_book
from showrunner.state.events import Asked, Jump, PortFound, PortLost
from showrunner.state.machine import open_show
from showrunner.state.script import Script

SHOW, RIG = "pellmarsh-hall", "full"
BEATS_EVERY_S, STEPS_EVERY_S = 0.01, 60.0
PAGE = os.sysconf("SC_PAGE_SIZE")


class Clock:
    """Simulated seconds."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


def resident_kb() -> int:
    """Memory of this process that is in use, from the system."""
    gc.collect()
    return int(Path("/proc/self/statm").read_text().split()[1]) * PAGE // 1024


def sweeps(script: Script) -> Iterator[tuple[str, bytes]]:
    """Messages of every heard control, heel to toe and back, one control's step after another's."""
    heard = [
        (control.port, 0xB0 | (control.channel or 1) - 1, control.cc)
        for control in script.rig.controls.values()
        if control.port is not None and control.cc is not None and control.kind in ("pedal", "strip", "knob")
    ]
    for raw in cycle((*range(128), *range(126, 0, -1))):
        for port, status, cc in heard:
            yield port, bytes((status, cc, raw))


def main() -> None:
    """Play the hours and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=int, default=8)
    parser.add_argument("--rate", type=int, default=1000)
    given = parser.parse_args()
    script = night_of(read_book(demo_book()).book, SHOW, RIG).script()
    clock, sent = Clock(), [0]

    def send(_: bytes) -> None:
        sent[0] += 1

    state, out = open_show(script, 0.0)
    outputs = [name for name, port in script.rig.ports.items() if port.sends]
    engine = Engine(script, state, dict.fromkeys(outputs, send), clock, lambda _at_s, _notices: None)
    engine.open(state, out)
    hears = {port: engine.hears(port) for port in script.rig.ports}
    messages, steps = sweeps(script), 0
    print(f"{'hour':>4} {'messages in':>12} {'out':>12} {'kB':>9} {'to hour 1':>10} {'took':>8}")
    print(f"{0:4} {0:12,} {0:12,} {resident_kb():9,}")
    first_kb, count, began_s = 0, 0, time.perf_counter()
    for hour in range(1, given.hours + 1):
        beat_s = clock.now_s
        for _ in range(3600 * given.rate):
            clock.now_s += 1 / given.rate
            port, message = next(messages)
            hears[port](message)
            count += 1
            if clock.now_s >= beat_s:
                engine.beat()
                beat_s += BEATS_EVERY_S
            if clock.now_s >= (steps + 1) * STEPS_EVERY_S:
                steps += 1
                step(engine, script, clock.now_s, steps)
        kb = resident_kb()
        first_kb = first_kb or kb
        took_s = time.perf_counter() - began_s
        print(f"{hour:4} {count:12,} {sent[0]:12,} {kb:9,} {kb / first_kb:10.3f} {took_s:6.0f} s", flush=True)


def step(engine: Engine, script: Script, now_s: float, steps: int) -> None:
    """The next cue; from the top again where the show is over; now and then a port that goes and comes back."""
    if engine.look().phase == "over":
        engine.do(Jump(now_s, script.order[0], 0))
    else:
        engine.do(Asked(now_s, "next"))
    if steps % 30 == 0:
        port = next(name for name, of in script.rig.ports.items() if of.sends)
        engine.do(PortLost(now_s, port))
        engine.do(PortFound(now_s, port))


if __name__ == "__main__":
    main()
