"""How fast and how surely a show is played, over a sound server without hardware: `python tests/bench/engine.py`.

Prints a table: each measure with what it is held against (design bars in the last column). Needs Linux, root, jackd2.
"""

import argparse
import ctypes
import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "live")]

import hotpath  # noqa: E402
from conftest import Running, World, until  # noqa: E402

from showrunner.live.binding import RtMidiSystem, _listen, _new_input  # noqa: E402
from showrunner.live.night import Night, night_of  # noqa: E402
from showrunner.model.library import Book  # noqa: E402
from showrunner.model.rig import Rig  # noqa: E402
from showrunner.model.show import Show  # noqa: E402
from showrunner.model.song import Song  # noqa: E402
from showrunner.state.script import script_of_show  # noqa: E402

LOST_AFTER_S = 0.5
CLONE_NEWNS = 0x00020000
SWEEP = [*range(1, 128), *range(126, -1, -1)]
SCREEN = """
import time
from rich.console import Console
from rich.table import Table
console = Console(file=open("/dev/null", "w"), force_terminal=True, width=200)
while True:
    table = Table()
    for i in range(20):
        table.add_row(*[str(i * j) for j in range(9)])
    console.print(table)
    time.sleep(1 / 60)
"""
"""A terminal drawn 60 times a second by another process."""


def night(folder: Path, songs: int = 2) -> Night:
    """A show whose songs have the bench's curves and a cue of twelve targets."""
    the = hotpath.script()
    rig = the.rig.model_dump(mode="json")
    rig["ports"]["host"]["settle_ms"] = 0
    rig["controls"] |= {
        name: {"kind": "switch", "port": "floor", "channel": 1, "cc": cc} for name, cc in (("next", 80), ("back", 81))
    }
    rig["targets"] |= {f"t{i}": {"port": "host", "channel": 1, "cc": 40 + i, "range": [0, 127]} for i in range(12)}
    rig["steps"] = {"next": "next", "back": "back", "guard_ms": 0}
    cues = [{"name": f"Cue {n}", "targets": {f"t{i}": n % 128 for i in range(12)}} for n in range(400)]
    song = the.pieces["a"].song.model_copy(update={"cues": ()}).model_dump(mode="json", exclude_unset=True)
    song = Song.model_validate_json(json.dumps({**song, "cues": cues}))
    names = [f"song-{n}" for n in range(songs)]
    show = Show.model_validate(
        {"format": 1, "title": "Bench", "sets": [{"title": "One", "songs": [{"song": name} for name in names]}]}
    )
    book = Book(
        songs=dict.fromkeys(names, song), rigs={"rig": Rig.model_validate_json(json.dumps(rig))}, shows={"show": show}
    )
    return night_of(book, "show", "rig", log=str(folder / "runs" / "show.jsonl"))


class Hand:
    """The robot in this process: a floor and a host for the engine, and another pair for the bare pass-through."""

    def __init__(self) -> None:
        self.system = RtMidiSystem()
        self.floors = {name: self.system.make_output(name) for name in ("Floor 1", "Bare floor")}
        self.heard: dict[str, list[tuple[float, bytes]]] = {"Host 1": [], "Bare host": []}
        self._clients = []
        for name, heard in self.heard.items():
            client = _new_input("Robot")
            _listen(client, lambda message, heard=heard: heard.append((time.perf_counter(), bytes(message))))
            client.open_virtual_port(name)
            self._clients.append(client)

    def round(self, floor: str, host: str, raw: int, count: int = 4) -> float | None:
        """Seconds from a pedal's message to the last of those that it makes; None if one of them never comes."""
        heard = self.heard[host]
        heard.clear()
        began_s = time.perf_counter()
        self.floors[floor].send(bytes((0xB0, 11, raw)))
        while len(heard) < count:
            if time.perf_counter() - began_s > LOST_AFTER_S:
                return None
            time.sleep(0.0002)
        return heard[-1][0] - began_s


def quantile(values: list[float], share: float) -> float:
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def row(what: str, value: str, against: str = "", bar: str = "") -> None:
    print(f"{what:<52} {value:>24}  {against:<32} {bar}", flush=True)


def hot(world: World, blocks: int) -> None:
    load = subprocess.Popen([sys.executable, "-c", SCREEN])
    out, _ = world.start(
        sys.executable, str(HERE / "hotpath.py"), str(blocks), "0.002", stdout=subprocess.PIPE
    ).communicate()
    load.kill()
    load.wait()
    taken = {name: [ns / 1000 for ns in times] for name, times in json.loads(out).items()}
    bare, engine = taken["bare"], taken["engine"]
    ratio = quantile(engine, 0.5) / quantile(bare, 0.5)
    row(
        "engine, x4 out: median",
        f"{quantile(engine, 0.5):.2f} us",
        f"bare {quantile(bare, 0.5):.2f}: x {ratio:.2f}",
        "<= x 1.25",
    )
    row(
        "engine, x4 out: p99",
        f"{quantile(engine, 0.99):.1f} us",
        f"bare {quantile(bare, 0.99):.1f}",
        "<= bare + 200 us, 1 ms",
    )
    row("messages a second, message path alone", f"{1e6 / (sum(engine) / len(engine)):,.0f} x 4")


def end_to_end(hand: Hand, blocks: int) -> None:
    times: dict[str, list[float]] = {"engine": [], "bare": []}
    lost = {"engine": 0, "bare": 0}
    ways = {"engine": ("Floor 1", "Host 1"), "bare": ("Bare floor", "Bare host")}
    for block in range(2 * blocks):
        name = ("bare", "engine")[block % 2]
        for raw in SWEEP:
            taken = hand.round(*ways[name], raw)
            if taken is None:
                lost[name] += 1
            else:
                times[name].append(1000 * taken)
    for share, said in ((0.5, "median"), (0.99, "p99")):
        ours, bare = quantile(times["engine"], share), quantile(times["bare"], share)
        row(f"through the sound server and back: {said}", f"{ours:.2f} ms", f"bare {bare:.2f}: x {ours / bare:.2f}")
    row("lost on the way there and back", str(lost["engine"]), f"bare {lost['bare']}", "0")


def footswitch(hand: Hand, running: Running, presses: int) -> None:
    heard, sent, seen = hand.heard["Host 1"], [], []
    for _ in range(presses):
        before = running.show.picture().state.moment
        hand.floors["Floor 1"].send(b"\xb0\x50\x7f")
        time.sleep(0.03)
        heard.clear()
        began_s = time.perf_counter()
        hand.floors["Floor 1"].send(b"\xb0\x50\x00")
        until(lambda before=before: running.show.picture().state.moment > before, "the cue on the link", 2.0)
        seen.append(1000 * (time.perf_counter() - began_s))
        until(lambda: len(heard) >= 12, "the cue's twelve messages", 2.0)
        sent.append(1000 * (heard[11][0] - began_s))
    row(
        "footswitch to the last of 12 bytes heard: p99",
        f"{quantile(sent, 0.99):.2f} ms",
        "both ways through the server",
        "<= 5 ms",
    )
    row(
        "footswitch to the picture at a screen: p95",
        f"{quantile(seen, 0.95):.1f} ms",
        "not painted yet",
        "<= 60 ms painted",
    )


def soak(hand: Hand, running: Running, minutes: float, rate: float) -> None:
    heard, pid = hand.heard["Host 1"], running.pid("process")
    heard.clear()
    began_kb, ends_s, sent, step = _rss_kb(pid), time.perf_counter() + 60 * minutes, 0, 0
    wrong, expected = 0, 4
    due_s = time.perf_counter()
    raws: list[int] = []
    while time.perf_counter() < ends_s:
        raw = SWEEP[step % len(SWEEP)]
        step += 1
        hand.floors["Floor 1"].send(bytes((0xB0, 11, raw)))
        raws.append(raw)
        sent += 1
        due_s += 1 / rate
        time.sleep(max(0.0, due_s - time.perf_counter()))
        if len(raws) >= 20_000:
            wrong += _differs(heard, raws)
    wrong += _differs(heard, raws)
    grown = _rss_kb(pid) - began_kb
    row(
        f"{minutes:g} min at {rate:,.0f}/s, x4: wrong of {sent * expected:,}",
        str(wrong),
        f"really {sent / (60 * minutes):,.0f}/s",
        "0",
    )
    row("engine's memory grown over it", f"{grown:,} kB", f"of {began_kb:,} kB", "flat")


def _differs(heard: list[tuple[float, bytes]], raws: list[int]) -> int:
    """Messages that are not what the curve says, in order; both lists are emptied."""
    wanted = [message for raw in raws for message in hotpath.messages(raw)]
    end_s = time.perf_counter() + 3.0
    while len(heard) < len(wanted) and time.perf_counter() < end_s:
        time.sleep(0.005)
    got = [message for _, message in heard]
    if got != wanted:
        first = next(
            (i for i, (a, b) in enumerate(zip(wanted, got, strict=False)) if a != b), min(len(got), len(wanted))
        )
        print(f"  {len(got)} of {len(wanted)} came; the first that differs is number {first}", flush=True)
    heard.clear()
    raws.clear()
    return abs(len(wanted) - len(got)) + sum(a != b for a, b in zip(wanted, got, strict=False))


def saturation(hand: Hand) -> None:
    heard = hand.heard["Host 1"]
    kept = 0
    for rate in (1000, 1500, 2000, 3000, 4000, 6000):
        heard.clear()
        raws = [SWEEP[i % len(SWEEP)] for i in range(rate)]
        began_s = time.perf_counter()
        for index, raw in enumerate(raws):
            hand.floors["Floor 1"].send(bytes((0xB0, 11, raw)))
            ahead_s = began_s + (index + 1) / rate - time.perf_counter()
            if ahead_s > 0.002:
                time.sleep(ahead_s)
        took_s = time.perf_counter() - began_s
        hand_end = raws[-1]
        if _differs(heard, raws):
            _level(hand, hand_end)
            break
        kept = round(rate / took_s)
        _level(hand, hand_end)
    row("most messages a second without loss, server included", f"{kept:,} x 4")


def _level(hand: Hand, raw: int) -> None:
    """Let it run dry and come back to heel, so that the next sweep starts as its oracle thinks."""
    time.sleep(0.2)
    if raw != 0:
        hand.floors["Floor 1"].send(b"\xb0\x0b\x00")
    time.sleep(0.3)
    hand.heard["Host 1"].clear()


def restarts(hand: Hand, running: Running) -> None:
    for part, how, said in (
        ("process", signal.SIGKILL, "engine killed"),
        ("watcher", signal.SIGKILL, "watcher killed"),
        ("process", signal.SIGSTOP, "engine hung"),
    ):
        moment = running.show.picture().state.moment
        old, heard = running.pid(part), hand.heard["Host 1"]
        os.kill(old, how)
        began_s = time.perf_counter()
        heard.clear()
        raw = 0
        while not heard and time.perf_counter() - began_s < 10:
            raw = raw % 126 + 1
            hand.floors["Floor 1"].send(bytes((0xB0, 11, raw)))
            time.sleep(0.005)
        played_s = heard[0][0] - began_s if heard else float("nan")
        until(lambda part=part, old=old: running.pid(part) not in (0, old), f"another {part}")
        until(lambda: running.show.picture().engine in ("restarted", "playing"), "the show's answer")
        same = running.show.picture().state.moment == moment
        bar = "<= 1 s" if how == signal.SIGKILL else "1 s to notice, then <= 1 s"
        row(f"{said}: pedals play again after", f"{played_s:.2f} s", "same cue" if same else "ANOTHER CUE", bar)
        time.sleep(1.0)


def compile_time(folder: Path) -> None:
    the = night(folder, 25)
    script = script_of_show(the.book, the.the_show, the.book.rigs[the.rig])
    began_s = time.perf_counter()
    for slug in script.order:
        script.compile(slug)
    row("25 songs compiled", f"{1000 * (time.perf_counter() - began_s):.0f} ms", "only two are ahead of need")


def _rss_kb(pid: int) -> int:
    return int(
        next(line for line in Path(f"/proc/{pid}/status").read_text().splitlines() if "VmRSS" in line).split()[1]
    )


def inside(options: argparse.Namespace, folder: Path) -> None:
    """Everything that needs the server; this process is in its world."""
    world = World(folder)
    try:
        _all(options, folder, world)
    except BaseException:
        traceback.print_exc()
        raise
    finally:
        sys.stdout.flush()
        world.close()
        os._exit(0)


def _all(options: argparse.Namespace, folder: Path, world: World) -> None:
    here = Path.cwd()
    space = os.open(f"/proc/{world._keeper.pid}/ns/mnt", os.O_RDONLY)
    if ctypes.CDLL(None, use_errno=True).setns(space, CLONE_NEWNS) != 0:
        raise OSError(ctypes.get_errno(), "the private /dev/shm can't be joined")
    os.chdir(here)
    os.environ["SHOWRUNNER_JACK"] = "1"
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    hot(world, options.blocks)
    hand = Hand()
    bare = world.start(sys.executable, str(HERE / "passing.py"), stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert bare.stdout is not None
    assert bare.stdout.readline() == b"ready\n"
    running = Running(world, night(folder))
    running.until(lambda state: not state.lost, "the ports")
    running.step("next", lambda state: state.phase == "song")
    hand.floors["Floor 1"].send(b"\xb0\x0b\x00")
    time.sleep(1.0)
    end_to_end(hand, options.blocks)
    footswitch(hand, running, options.presses)
    _level(hand, 1)
    soak(hand, running, options.minutes, options.rate)
    restarts(hand, running)
    _level(hand, 1)
    saturation(hand)
    running.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0, help="length of the run against the oracle")
    parser.add_argument("--rate", type=float, default=1000.0, help="messages a second in it")
    parser.add_argument("--blocks", type=int, default=10, help="interleaved blocks of 253 messages each way")
    parser.add_argument("--presses", type=int, default=200)
    with tempfile.TemporaryDirectory() as name:
        compile_time(Path(name))
        inside(parser.parse_args(), Path(name))
