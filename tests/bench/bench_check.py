"""What checking costs against parsing the same files with tomllib: `python tests/bench/bench_check.py [SONGS …]`.

Songs of two curve sets, two controls and three targets each, with six cues, on the demo book's full rig.
"""

import gc
import statistics
import sys
import tempfile
import tomllib
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

from showrunner.book.read import read_book
from showrunner.checks.run import check
from showrunner.places import demo_book

ROUNDS = 9
SONG = """\
format = 1
title = "Song {n}"
key = "D minor"
tempo_bpm = 96
duration = "4:{n:02.0f}"
instrument = "baritone"
tuning = "B standard"
program = {{ port = "host", channel = 1, bank_msb = 0, bank_lsb = {bank}, number = {number} }}

[start]
curves = "verse"
controls = {{ swell = 0, fade = 100 }}
targets = {{ "reverb mix" = 22 }}
by_hand = {{ "octave switch" = "fundamental" }}

[curves.verse.swell]
travel = [0, 50, 100]
entry = "glide"
[curves.verse.swell.moves]
"delay mix" = [0, 20, {toe}]
drive = [3, 3, 9]
width = [40, 70, 70]
[curves.verse.strip]
travel = [0, 100]
[curves.verse.strip.moves]
filter = [12000, 700]
detune = [0, 35]
shimmer = [0, 20]
[curves.lead.swell]
travel = [0, 40, 100]
entry = "meet"
[curves.lead.swell.moves]
"delay mix" = [10, 20, 50]
drive = [3, 6, 12]
width = [70, 40, 40]
[curves.lead.fade]
travel = [0, 100]
[curves.lead.fade.moves]
volume = [-40, 0]
"reverb tail" = [2, 6]
"tremolo depth" = [0, 30]

[[cues]]
name = "Verse"
at = "0:20"
[[cues]]
name = "Theme"
at = "0:50"
by_hand = {{ "octave switch" = "octave" }}
hold = true
say = "hold the E"
[[cues]]
name = "Solo"
at = "1:30"
curves = "lead"
stop = {{ by = "fretting hand" }}
[[cues]]
name = "Break"
at = "2:10"
targets = {{ "reverb mix" = 40 }}
[[cues]]
name = "Verse again"
bar = 64
curves = "verse"
controls = {{ swell = 0 }}
[[cues]]
name = "Out"
at = "3:30"
by_hand = {{ "octave switch" = "off" }}
"""


def write(root: Path, songs: int) -> None:
    """A book of so many songs on the demo book's full rig."""
    (root / "songs").mkdir()
    (root / "rigs").mkdir()
    (root / "book.toml").write_text('format = 1\nname = "Many"\nrig = "full"\n', encoding="utf-8")
    rig = (demo_book() / "rigs" / "full.toml").read_text(encoding="utf-8")
    (root / "rigs" / "full.toml").write_text(rig, encoding="utf-8")
    for n in range(songs):
        text = SONG.format(n=n % 60, bank=n // 128, number=n % 128, toe=30 + n % 40)
        (root / "songs" / f"song-{n}.toml").write_text(text, encoding="utf-8")


def parse(root: Path) -> None:
    """Every file of a book through tomllib."""
    for file in root.rglob("*.toml"):
        tomllib.loads(file.read_text(encoding="utf-8"))


def seconds(work: Callable[[], object]) -> float:
    """Time of one round."""
    gc.collect()
    began = perf_counter()
    work()
    return perf_counter() - began


def measure(size: int) -> list[tuple[float, float, float]]:
    """Rounds, in turns, of the seconds to parse, to read and to check a book of so many songs."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        write(root, size)
        book = read_book(root).book
        works = (lambda: parse(root), lambda: read_book(root), lambda: check(book))
        return [(seconds(works[0]), seconds(works[1]), seconds(works[2])) for _ in range(ROUNDS)]


def main(sizes: list[int]) -> None:
    """A line for each size: medians over the rounds."""
    print(
        f"{'songs':>6} {'tomllib ms':>11} {'read ms':>9} {'rules ms':>9} {'rules, ms a song':>17} {'read + rules':>13}"
    )
    for size in sizes:
        rounds = measure(size)
        parsing, reading, rules = (statistics.median(of) * 1e3 for of in zip(*rounds, strict=True))
        ratio = statistics.median((read + found) / parsed for parsed, read, found in rounds)
        print(f"{size:6} {parsing:11.0f} {reading:9.0f} {rules:9.1f} {rules / size:17.3f} {ratio:11.2f} ×")


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [100, 300, 1000])
