"""How fast and how surely a show is played, over a sound server without hardware: `python tests/bench/engine.py`.

Prints a table: each measure with what it is held against (design bars in the last column). Needs Linux, root, jackd2.

Times are taken with the server as it is usually started. It goes on without a client that is late by a whole period,
whoever that is, and what the client should have read or sent then is lost inside the server: `server_loss.py` shows it
with none of our code (89 of 3,000 rounds where a bare pass-through was held up for 3 ms now and then, 113 where the
robot was, none where the server waits). So bare listeners beside the robot say how far a lost message came, and the
server says whom it went on without; what neither explains is ours. The runs against an oracle have the server wait.
"""

import argparse
import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter, deque
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "live")]

import hotpath  # noqa: E402
from conftest import Running, World, until  # noqa: E402
from hand import AFTER, BEFORE, BETWEEN, WAYS, Hand  # noqa: E402

from showrunner.live.binding import OWN  # noqa: E402
from showrunner.live.night import Night, night_of  # noqa: E402
from showrunner.model.library import Book  # noqa: E402
from showrunner.model.rig import Rig  # noqa: E402
from showrunner.model.show import Show  # noqa: E402
from showrunner.model.song import Song  # noqa: E402
from showrunner.state.script import script_of_show  # noqa: E402

UNFINISHED = b"was not finished, state = Triggered"
"""What the server says of a client that it went on without before the machine had let it run at all."""
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


def end_to_end(hand: Hand, world: World, blocks: int) -> None:
    times: dict[str, list[float]] = {name: [] for name in WAYS}
    lost: dict[str, Counter[str]] = {name: Counter() for name in WAYS}
    for block in range(2 * blocks):
        name = ("bare", "engine")[block % 2]
        for raw in SWEEP:
            said = world.said.stat().st_size
            taken = hand.round(WAYS[name], raw)
            if taken is None:
                where = hand.lost_where(WAYS[name])
                late = where == BETWEEN and UNFINISHED in world.said.read_bytes()[said:]
                lost[name][f"{where}, a client late" if late else where] += 1
            else:
                times[name].append(1000 * taken)
    for share, said in ((0.5, "median"), (0.99, "p99")):
        ours, bare = quantile(times["engine"], share), quantile(times["bare"], share)
        row(f"through the sound server and back: {said}", f"{ours:.2f} ms", f"bare {bare:.2f}: x {ours / bare:.2f}")
    for where in (BEFORE, AFTER, f"{BETWEEN}, a client late", BETWEEN):
        bar = "0" if where == BETWEEN else "the server's"
        row(f"lost, {where}", str(lost["engine"][where]), f"bare {lost['bare'][where]}", bar)


def footswitch(hand: Hand, running: Running, presses: int) -> None:
    sent: list[float] = []
    seen: list[float] = []
    lost = 0
    for press in range(presses):
        time.sleep(0.05)  # a press sooner after a release is a contact that bounces
        before = running.show.picture().state.moment
        hand.play(127, 80)
        time.sleep(0.05)
        hand.heard()
        began_s = time.perf_counter()
        hand.play(0, 80)
        ended_s = hand.hears(12) if press % 2 else None
        while not (taken := running.show.picture().state.moment > before) and time.perf_counter() < began_s + 2:
            time.sleep(0.005)
        lost += not taken
        sent += [1000 * (ended_s - began_s)] if ended_s is not None else []
        seen += [1000 * (time.perf_counter() - began_s)] if taken and not press % 2 else []
    through = f"both ways through the server, {lost} lost"
    row("footswitch to the last of 12 messages: p99", f"{quantile(sent, 0.99):.2f} ms", through, "<= 5 ms")
    row(
        "footswitch to a screen's picture: p95", f"{quantile(seen, 0.95):.1f} ms", "not painted yet", "<= 60 ms painted"
    )


def stream(
    hand: Hand, rate: float, for_s: float, floor: str = "Floor 1", host: str = "Host 1"
) -> tuple[int, int, float]:
    """Sweep at a rate and compare what comes with the curve, in order: sent, wrong, seconds it took."""
    wanted: deque[bytes] = deque()
    sent = wrong = 0
    hand.heard(host)
    began_s = time.perf_counter()
    while (now_s := time.perf_counter()) - began_s < for_s:
        while sent < rate * (now_s - began_s):
            raw = SWEEP[sent % len(SWEEP)]
            hand.play(raw, floor=floor)
            wanted.extend(hotpath.messages(raw))
            sent += 1
        wrong += sum(not wanted or message != wanted.popleft() for message in hand.heard(host))
        time.sleep(0.0005)
    took_s = time.perf_counter() - began_s
    end_s = time.perf_counter() + 1.0
    while wanted and time.perf_counter() < end_s:
        wrong += sum(not wanted or message != wanted.popleft() for message in hand.heard(host))
        time.sleep(0.005)
    return sent, wrong + len(wanted), took_s


def soak(hand: Hand, running: Running, minutes: float, rate: float) -> None:
    pid = running.pid("process")
    heel(hand)
    began_kb = _rss_kb(pid)
    sent, wrong, took_s = stream(hand, rate, 60 * minutes)
    grown = _rss_kb(pid) - began_kb
    bare_sent, bare_wrong, _ = stream(hand, rate, min(60.0, 60 * minutes), "Bare floor", "Bare host")
    against = f"bare {bare_wrong} of {4 * bare_sent:,}"
    row(f"{minutes:g} min at {sent / took_s:,.0f}/s, x4: wrong of {4 * sent:,}", str(wrong), against, "0")
    row("engine's memory grown over it", f"{grown:,} kB", f"of {began_kb:,} kB", "flat")


def saturation(hand: Hand) -> None:
    kept = 0.0
    for rate in (1000, 1500, 2000, 3000, 4000, 6000, 8000):
        heel(hand)
        sent, wrong, took_s = stream(hand, rate, 1.0)
        if wrong:
            break
        kept = sent / took_s
    row("most messages a second without loss, server included", f"{kept:,.0f} x 4")


def heel(hand: Hand) -> None:
    """Let it run dry with the pedal at heel, where a sweep begins."""
    time.sleep(0.3)
    hand.play(0)
    time.sleep(0.3)
    hand.heard()


def plays_after(hand: Hand) -> float:
    """Seconds until a pedal that is moved all the time is heard at the host."""
    began_s, raw = time.perf_counter(), 0
    hand.heard()
    while not hand.heard() and time.perf_counter() - began_s < 10:
        raw = raw % 126 + 1
        hand.play(raw)
        time.sleep(0.005)
    return time.perf_counter() - began_s


def replugged(hand: Hand, running: Running) -> None:
    hand.floors["Floor 1"].close()
    running.until(lambda state: "floor" in state.lost, "the floor to be missed")
    hand.floors["Floor 1"] = hand.system.make_output("Floor 1")
    row("port pulled and back: pedals play again after", f"{plays_after(hand):.2f} s", "", "<= 1 s")


def restarts(hand: Hand, running: Running) -> None:
    for part, how, said in (
        ("process", signal.SIGKILL, "engine killed"),
        ("watcher", signal.SIGKILL, "watcher killed"),
        ("process", signal.SIGSTOP, "engine hung"),
    ):
        moment = running.show.picture().state.moment
        old = running.pid(part)
        os.kill(old, how)
        played_s = plays_after(hand)
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
    world = World(folder, waits=options.server == "waits")
    try:
        _all(options, folder, world)
    except BaseException:
        traceback.print_exc()
        raise
    finally:
        sys.stdout.flush()
        for part in ("watcher", "process", "watcher", "process"):
            subprocess.run(["pkill", "-9", "-f", f"showrunner.live.{part} {folder}/run"], check=False)
        world.close()
        os._exit(0)


def _all(options: argparse.Namespace, folder: Path, world: World) -> None:
    world.join()
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if options.server == "usual":
        hot(world, options.blocks)
    hand = Hand(listens=options.server == "usual")
    bare = world.start(sys.executable, str(HERE / "passing.py"), stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert bare.stdout is not None
    assert bare.stdout.readline() == b"ready\n"
    if options.server == "usual":
        hand.listen(WAYS["bare"].out, f"{OWN} out")
    running = Running(world, night(folder))
    running.until(lambda state: not state.lost, "the ports")
    running.step("next", lambda state: state.phase == "song")
    heel(hand)
    hand.play(0, floor="Bare floor")
    time.sleep(1.0)
    if options.server == "usual":
        hand.listen(WAYS["engine"].out, f"{OWN} out")
        end_to_end(hand, world, options.blocks)
        hand.listen_no_more()
        footswitch(hand, running, options.presses)
        replugged(hand, running)
        restarts(hand, running)
    else:
        saturation(hand)
        soak(hand, running, options.minutes, options.rate)
    running.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0, help="length of the run against the oracle")
    parser.add_argument("--rate", type=float, default=1000.0, help="messages a second in it")
    parser.add_argument("--blocks", type=int, default=10, help="interleaved blocks of 253 messages each way")
    parser.add_argument("--presses", type=int, default=200)
    parser.add_argument("--server", choices=("usual", "waits"), help="only what this server is for")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        if given.server is not None:
            inside(given, Path(name))
        compile_time(Path(name))
        for server in ("usual", "waits"):
            subprocess.run([sys.executable, __file__, *sys.argv[1:], "--server", server], check=True)
