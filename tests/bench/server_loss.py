"""What a JACK server that does not wait loses, with none of our code: `python tests/bench/server_loss.py`.

A robot sends numbered messages one at a time over the bare binding; a bare pass-through of a few lines makes four of
each. A process of real-time priority keeps one core for a few milliseconds now and then, so that who has to run there
is late. Counted at every point: what the robot sent, what a bare listener in the robot's process heard of it, what the
pass-through's callback was called with, what the robot heard, and whom the server says it went on without. Needs Linux,
root, jackd2, python-rtmidi.
"""

import argparse
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "live"))

PRIORITY = 30
BUSY_S, FREE_S = 0.003, 0.03
LOST_AFTER_S = 0.5
UNFINISHED = re.compile(r"client = (.+?) was not finished, state = (\w+)")


def robot(count: int) -> None:
    import rtmidi

    jack = rtmidi.API_UNIX_JACK
    out = rtmidi.MidiOut(jack, name="Robot")
    out.open_virtual_port("floor")
    heard = {name: rtmidi.MidiIn(jack, name=name, queue_size_limit=4 * count) for name in ("Listener", "Host")}
    heard["Listener"].open_port(_port(heard["Listener"], ":floor"), "in")
    heard["Host"].open_virtual_port("host")
    print("ready", flush=True)
    sys.stdin.readline()
    found: dict[str, list[bytes]] = {name: [] for name in heard}

    def hear() -> int:
        for name, client in heard.items():
            while (event := client.get_message()) is not None:
                found[name].append(bytes(event[0]))
        return len(found["Host"])

    lost = 0
    for number in range(count):
        wants, end_s = hear() + 4, time.perf_counter() + LOST_AFTER_S
        out.send_message(bytes((0xB0, number >> 7, number & 127)))
        while hear() < wants and time.perf_counter() < end_s:
            time.sleep(0.00005)
        lost += hear() < wants
    time.sleep(LOST_AFTER_S)
    hear()
    print(json.dumps({name: len(set(messages)) for name, messages in found.items()} | {"lost": lost}), flush=True)
    os._exit(0)


def through() -> None:
    import rtmidi

    os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(20))
    out = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name="Through out")
    heard = rtmidi.MidiIn(rtmidi.API_UNIX_JACK, name="Through in")
    out.open_port(_port(out, ":host"), "out")
    seen: set[bytes] = set()
    send = out.send_message

    def hear(event: tuple[list[int], float], _data: object) -> None:
        _, high, low = event[0]
        seen.add(bytes((high, low)))
        for channel in range(4):
            send(bytes((0xB0 | channel, high, low)))

    heard.set_callback(hear)
    heard.open_port(_port(heard, ":floor"), "in")
    print("ready", flush=True)
    sys.stdin.readline()
    print(len(seen), flush=True)
    os._exit(0)


def busy(core: int) -> None:
    os.sched_setaffinity(0, {core})
    os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(PRIORITY))
    while True:
        until_s = time.perf_counter() + 2 * BUSY_S * random.random()
        while time.perf_counter() < until_s:
            pass
        time.sleep(2 * FREE_S * random.random())


def _port(client: object, ends: str) -> int:
    return next(i for i, name in enumerate(client.get_ports()) if name.endswith(ends))  # type: ignore[attr-defined]


def run(count: int, *, waits: bool, late: str) -> None:
    from conftest import World

    with tempfile.TemporaryDirectory() as folder:
        world = World(Path(folder), waits=waits)
        piped = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
        try:
            parts = {}
            for name in ("robot", "through"):
                parts[name] = world.start(sys.executable, __file__, "--role", name, "--count", str(count), **piped)
                assert parts[name].stdout.readline() == b"ready\n"
            for name, part in (*parts.items(), ("server", world._server)):
                core = str(int(name == late))
                subprocess.run(
                    ["taskset", "-a", "-p", "-c", core, str(part.pid)], stdout=subprocess.DEVNULL, check=True
                )
            world.start(sys.executable, __file__, "--role", "busy")
            told = {}
            for name, part in parts.items():
                part.stdin.write(b"\n")
                part.stdin.flush()
                told[name] = json.loads(part.stdout.readline())
        finally:
            said = Counter(UNFINISHED.findall(world.said.read_text(errors="replace")))
            world.close()
    hears = told["robot"]
    server = "waits" if waits else "goes on"
    print(
        f"server {server:<8} {late + ' is late':<16} sent {count:,}; listener {hears['Listener']:,}, callback"
        f" {told['through']:,}; host {hears['Host']:,} of {4 * count:,}; rounds lost {hears['lost']}"
    )
    for (client, state), times in said.most_common(4):
        print(f"    the server went on without {client}, {state}, {times:,} times", flush=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=3000)
    parser.add_argument("--role", choices=("robot", "through", "busy"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.role == "robot":
        robot(given.count)
    elif given.role == "through":
        through()
    elif given.role == "busy":
        busy(1)
    else:
        for waits in (False, True):
            for late in ("through", "robot"):
                run(given.count, waits=waits, late=late)
