"""What a show that stands still costs: `python tests/stress/idle.py [--seconds N]`. Linux, jackd2, tmux.

The demo show stands in its first changeover, over a sound server without hardware, with the playing screen open and
nobody playing; then its first song runs, whose clock and count-ins the screen paints. Prints the processor time of each
process. Exit 1 where all of them together take more than `--most` per cent of one core while the show stands still.

The sound server's library wakes each of our clients once a period: 47 times a second at 1,024 frames, as here. At 64
frames, 750 times, they alone take another 3 per cent.
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

from played import PARTS, Played, ends_in_order, until

PERIOD = 1024


def cost(played: Played, for_s: float) -> dict[str, float]:
    """Per cent of a core that each part takes over some seconds."""
    before, began_s = played.uses(), time.perf_counter()
    time.sleep(for_s)
    after, took_s = played.uses(), time.perf_counter() - began_s
    return {part: 100 * (after[part].cpu_s - before[part].cpu_s) / took_s for part in PARTS}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=120.0, help="of each of the two")
    parser.add_argument("--most", type=float, default=2.0, help="per cent of one core, all processes together")
    given = parser.parse_args()
    ends_in_order()
    most = 0.0
    with tempfile.TemporaryDirectory(prefix="stress-") as name:
        played = Played(Path(name), period=PERIOD)
        try:
            for stands in ("changeover", "song"):
                if stands == "song":
                    played.show.ask("next")
                until(lambda stands=stands: played.show.picture().state.phase == stands, stands)
                time.sleep(15)  # it no longer says that anything was just begun
                costs = cost(played, given.seconds)
                most = most or sum(costs.values())
                each = ", ".join(f"{part} {of:.2f} %" for part, of in costs.items())
                print(f"{stands}: {each}: {sum(costs.values()):.2f} % of a core", flush=True)
        finally:
            played.close()
    print(f"a show that stands still costs {most:.2f} % of a core; {given.most:g} % are allowed")
    sys.exit(1 if most > given.most else 0)


if __name__ == "__main__":
    main()
