"""The message path in one process: the engine's callback against the bare binding, in interleaved blocks of one run."""

import gc
import json
import sys
import threading
import time
from collections.abc import Callable, Sequence
from typing import Any

from showrunner.live.binding import RtMidiSystem, _new_input
from showrunner.live.engine import Engine
from showrunner.live.process import SWITCH_S, take_priority
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.state.machine import open_show
from showrunner.state.moments import prepare
from showrunner.state.script import Script

BLOCK = 254
"""Messages of a block: a sweep from heel to toe and back."""
ROWS = {"a": [0, 127], "b": [127, 0], "c": [0, 127], "d": [127, 0]}


def script() -> Script:
    """One song in which every step of the pedal sends four messages."""
    rig = Rig.model_validate(
        {
            "format": 1,
            "title": "Bench",
            "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}},
            "controls": {"swell": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11}},
            "targets": {
                name: {"port": "host", "channel": 1, "cc": 20 + i, "range": [0, 127]} for i, name in enumerate(ROWS)
            },
        }
    )
    curves = {"all": {"swell": {"travel": [0, 100], "moves": ROWS}}}
    song = Song.model_validate({"format": 1, "title": "Bench", "duration": "9:00", "curves": curves})
    return Script(rig, {"a": prepare("a", song, rig)}, ("a",))


def messages(raw: int) -> tuple[bytes, ...]:
    """The same bytes as the engine sends, worked out ahead."""
    return tuple(bytes((0xB0, 20 + i, raw if row[0] == 0 else 127 - raw)) for i, row in enumerate(ROWS.values()))


def main(blocks: int, every_s: float) -> dict[str, list[int]]:
    """Nanoseconds from the callback's entry to the last send's return, by what stood behind it."""
    take_priority()
    sys.setswitchinterval(SWITCH_S)
    system, robot = RtMidiSystem(), RtMidiSystem()
    host = _new_input("Host")
    host.open_virtual_port("Host 1")
    floor, out = robot.make_output("Floor 1"), system.open_output("Host:Host 1")
    the = script()
    state, opening = open_show(the, 0.0)
    engine = Engine(the, state, {"host": out.send}, time.perf_counter, lambda _at_s, _notices: None)
    engine.open(state, opening)
    engine.beat()
    hear, send, rows = engine.hears("floor"), out.send, [messages(raw) for raw in range(128)]

    def bare(message: Sequence[int]) -> None:
        for data in rows[message[2]]:
            send(data)

    taken: dict[str, list[int]] = {"bare": [], "engine": []}
    ways: dict[str, Callable[[Any], object]] = {"bare": bare, "engine": hear}
    now = time.perf_counter_ns
    current: list[Any] = [bare, taken["bare"]]
    heard = threading.Semaphore(0)

    def callback(message: Any) -> None:
        way, times = current
        began = now()
        way(message)
        times.append(now() - began)
        heard.release()

    opened = system.open_input("Showrunner:Floor 1", callback)
    time.sleep(0.3)
    ticking = threading.Event()

    def tick() -> None:
        while not ticking.is_set():
            engine.woken(engine.beat())

    ticker = threading.Thread(target=tick)
    ticker.start()
    gc.collect()
    gc.freeze()
    gc.disable()
    sweep = [*range(1, 128), *range(126, -1, -1)]
    for block in range(blocks * 2 + 2):
        name = ("bare", "engine")[block % 2]
        times: list[int] = taken[name] if block >= 2 else []
        current[:] = [ways[name], times]
        for raw in sweep:
            floor.send(bytes((0xB0, 11, raw)))
            heard.acquire(timeout=5)
            time.sleep(every_s)
            while host.get_message() is not None:
                pass
    ticking.set()
    ticker.join()
    opened.close()
    return taken


if __name__ == "__main__":
    print(json.dumps(main(int(sys.argv[1]), float(sys.argv[2]))))
    sys.stdout.flush()
    import os

    os._exit(0)
