"""How even MIDI clock leaves a rehearsal in its own time: `python tests/bench/bench_clock.py [SECONDS]`.

Each timing clock's send is compared with when exact arithmetic wants it, on the monotonic clock, with a take written.
"""

import sys
import time
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory

from showrunner.live.rehearsing import CLOCK, Rehearsal
from showrunner.live.room import Room
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.planning.rehearsals import Plan
from showrunner.state.moments import prepare
from showrunner.state.rehearsal import play_song, with_pulses
from showrunner.state.script import Script
from showrunner.takes.recorder import Recorder

TEMPO_BPM = 137
RIG = Rig.model_validate({"format": 1, "title": "Bench rig", "ports": {"host": {"output": "Host"}}})


def lateness_ms(seconds: int) -> list[float]:
    """How late each clock of so many seconds was sent, ms, sorted."""
    length = f"{seconds // 60}:{seconds % 60:02}"
    song = Song.model_validate({"format": 1, "title": "Low Water", "tempo_bpm": TEMPO_BPM, "duration": length})
    pieces = {"low-water": prepare("low-water", song, RIG)}
    script = Script(RIG, pieces, ("low-water",))
    room, sent = Room(script, None), list[float]()

    def send(_port: str, message: bytes) -> None:
        if message == CLOCK:
            sent.append(room.now_s)

    with TemporaryDirectory() as folder:
        recorder = Recorder(Path(folder) / "take.mid", song="low-water")
        part = with_pulses(play_song(pieces["low-water"], 0.0), pieces)
        plan = Plan(script, part, 1, "low-water", {})
        room.run(Rehearsal(plan, send, lambda _told: None, recorder=recorder, clock_to="host"))
        recorder.close()
    pulse = Fraction(60, TEMPO_BPM * 24)
    return sorted(float(at_s - number * pulse) * 1000 for number, at_s in enumerate(sent))


def report(name: str, late_ms: list[float]) -> None:
    """Print how late they were."""
    print(f"{name}: {len(late_ms)} clocks at {TEMPO_BPM} bpm")
    for words, share in (("p50", 0.5), ("p95", 0.95), ("p99", 0.99), ("max", 1.0)):
        print(f"  late {words} {late_ms[min(len(late_ms) - 1, int(share * len(late_ms)))]:.3f} ms")


def main(seconds: int) -> None:
    spent = time.process_time()
    late_ms = lateness_ms(seconds)
    spent = time.process_time() - spent
    report(f"{seconds} s, {100 * spent / seconds:.1f} % of a processor", late_ms)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
