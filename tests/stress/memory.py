"""Every process of a show at full traffic, sampled: memory, file descriptors, threads, logs. Linux, jackd2, tmux.

`python tests/stress/memory.py [--minutes N] [--rate MESSAGES_A_SECOND]`. Pedals and strip of the demo show are moved
at random over a sound server without hardware, its cues are taken by foot round and round, and the playing screen is
open in a terminal. Exit 1 where a process has grown after `--settles` minutes by more than `--grows` per cent, has more
descriptors or threads than then, or has said anything in the run's `engine.log`.
"""

import argparse
import random
import sys
import tempfile
import time
from pathlib import Path

from played import FLOOR, GUITAR, PARTS, Played, Use, ends_in_order

from showrunner.live.folder import ERRORS

PEDALS = ((FLOOR, 11), (FLOOR, 13), (FLOOR, 4), (FLOOR, 36), (GUITAR, 16))
NEXT = 80
STEPS_EVERY_S = 2.0


class Sample:
    """What all processes used at one time, and how long the logs were."""

    def __init__(self, played: Played, at_s: float, sent: int) -> None:
        self.at_s, self.sent, self.uses = at_s, sent, played.uses()
        errors = played.run / ERRORS
        self.errors = errors.stat().st_size if errors.exists() else 0
        self.lines = len(played.logged())
        self.log = sum(file.stat().st_size for file in played.root.glob("runs/*/*.jsonl"))

    def line(self) -> str:
        """A line of the table."""
        uses = (f"{of.kb:8,} kB {of.files:3} {of.threads:3}" for of in self.uses.values())
        return (
            f"{self.at_s / 60:7.1f} {self.sent:11,}  {'  '.join(uses)}  {self.lines:6,} {self.log:9,} {self.errors:6}"
        )


def play(played: Played, given: argparse.Namespace) -> list[Sample]:
    """Play for the minutes that are asked for, with a sample now and then."""
    rnd = random.Random(given.seed)
    began_s = stepped_s = time.perf_counter()
    sent, samples = 0, [Sample(played, 0.0, 0)]
    print(
        f"{'minute':>7} {'messages':>11}  "
        + "  ".join(f"{part:>11} fds thr" for part in PARTS)
        + "   lines       log said"
    )
    while (at_s := time.perf_counter() - began_s) < 60 * given.minutes:
        port, many = rnd.choice((FLOOR, FLOOR, GUITAR)), max(1, int(given.rate / 20))
        behind = given.rate * at_s - sent
        ccs = [cc for of, cc in PEDALS if of == port]
        gap_s = 0.0 if behind > given.rate else 1 / given.rate
        played.play(port, [(gap_s, bytes((0xB0, rnd.choice(ccs), rnd.randrange(128)))) for _ in range(many)])
        sent += many
        if time.perf_counter() - stepped_s > STEPS_EVERY_S:
            stepped_s = time.perf_counter()
            step(played, rnd)
        if at_s >= len(samples) * given.every:
            samples.append(Sample(played, at_s, sent))
            print(samples[-1].line(), flush=True)
    return samples


def step(played: Played, rnd: random.Random) -> None:
    """The next cue by foot, from the first song again where the show is over; now and then a trim."""
    played.robot.do("heard")
    picture = played.show.picture()
    if picture.state.phase == "over":
        played.show.jump(played.show.script.order[0], 0)
    else:
        played.foot(NEXT)
    if rnd.random() < 0.05:
        played.show.trim("interface volume", rnd.choice((-1.0, 0.0, 0.5)))


def fallen(samples: list[Sample], given: argparse.Namespace) -> list[str]:
    """What did not stay as it was once the show had settled."""
    after = [sample for sample in samples if sample.at_s >= 60 * given.settles]
    if len(after) < 4:
        return ["too few samples"]
    quarter = len(after) // 4
    found = []
    for part in PARTS:
        first, last = (_most(part, of) for of in (after[:quarter], after[-quarter:]))
        grown = 100 * (last.kb / first.kb - 1)
        print(f"{part}: {first.kb:,} kB, then {last.kb:,} kB: {grown:+.1f} %")
        if grown > given.grows:
            found.append(f"the {part} grew by {grown:.1f} %")
        if last.files > first.files or last.threads > first.threads:
            found.append(f"the {part} has {last.files} descriptors and {last.threads} threads")
    if after[-1].errors:
        found.append(f"{after[-1].errors} bytes in {ERRORS}")
    return found


def _most(part: str, samples: list[Sample]) -> Use:
    """The most of each that a part used in some samples."""
    uses = [sample.uses[part] for sample in samples]
    most = uses[0]
    most.kb, most.files, most.threads = (max(getattr(of, name) for of in uses) for name in ("kb", "files", "threads"))
    return most


def main() -> None:
    """Play, print the table, and say what grew."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--rate", type=float, default=1000.0, help="messages a second; a DIN wire carries about 1,000")
    parser.add_argument("--settles", type=float, default=5.0, help="minutes after which nothing may grow")
    parser.add_argument("--grows", type=float, default=3.0, help="per cent that count as flat")
    parser.add_argument("--every", type=float, default=10.0, help="seconds between two samples")
    parser.add_argument("--seed", type=int, default=13)
    given = parser.parse_args()
    ends_in_order()
    with tempfile.TemporaryDirectory(prefix="stress-") as name:
        played = Played(Path(name))
        try:
            samples = play(played, given)
        finally:
            played.close()
    found = fallen(samples, given)
    print(f"{samples[-1].sent:,} messages in {samples[-1].at_s / 60:.1f} minutes: {'; '.join(found) or 'flat'}")
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()
