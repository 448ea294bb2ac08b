"""Damaged input of every kind, by the thousand: documents, logs, takes, packs, frames on the link, MIDI.

`python tests/stress/fuzz.py [TARGET…] [--seconds N] [--seed N] [--keep FOLDER]`. Each target starts from good examples
of the demo book and changes them: guided by what code is reached where atheris is installed, at random elsewhere.
Whatever raises something else than the target's own error, or takes longer than `--longest` seconds, is kept in the
folder and told; exit 1 then. `--again FILE` runs one kept input. The inputs in `corpus` are fed first, and changed like
the examples; with `--grow` they are chosen anew from those and from what was found. `tests/test_damaged.py` plays them.
"""

import argparse
import os
import random
import re
import subprocess
import sys
import tempfile
import time
import traceback
from importlib.util import find_spec
from pathlib import Path

from corpus import chosen, keep, kept
from fuzz_targets import TARGETS, Target

GUIDED = find_spec("atheris") is not None
MOST_KEPT, LONGEST_KEPT = 40, 2_000
"""Inputs that the corpus has of a target, and bytes of one, or as many as the target's first example has."""
GROWS_FROM, GROWS_FOR_S = 2_000, 60.0
"""Inputs that are looked at to grow it, the shortest, and for how long."""
WORDS = [
    *(b"1e308", b"-1e308", b"inf", b"nan", b"1e999", b"0", b"-1", b"9" * 40, b"9" * 400, b"0.1", b"true", b"null"),
    *(b"[", b"]", b"{", b"}", b'"', b"'", b'"""', b"\n", b"#", b"=", b".", b",", b"\\", b"\x1b[31m", b"\x9b", b"\x00"),
    *("\u202e".encode(), b"\xff\xfe", b"0001-01-01", b"9999-12-31", b"0001-01-01T00:00:00+14:00", b"23:59", b"0:00"),
    *(b"\xf0", b"\xf7", b"\xb0\x0b\x7f", b"\xc0\x05", b"\xf8", b"\xff\x51\x03\x00\x00\x01", b"\xff\x2f\x00"),
    *(
        b'{"ask":"next"}',
        b'{"move":["swell",1e308]}',
        b'{"trim":["input gain",-200]}',
        b'"unix_s":1e11',
        b"200",
        b"-200",
    ),
]
"""What a change puts in now and then."""


def changed(rnd: random.Random, examples: list[bytes]) -> bytes:
    """An example with a few changes at random."""
    data = bytearray(rnd.choice(examples))
    for _ in range(rnd.choice((1, 1, 1, 2, 3, 8))):
        at, how = rnd.randrange(len(data) + 1), rnd.randrange(9)
        if how == 0 and data:
            data[at % len(data)] = rnd.randrange(256)
        elif how == 1:
            del data[at : at + rnd.choice((1, 2, 8, 100))]
        elif how == 2:
            data[at:at] = rnd.choice(WORDS)
        elif how == 3:
            data[at:at] = data[at : at + rnd.choice((4, 40, 400))] * rnd.choice((1, 2, 20))
        elif how == 4:
            other = rnd.choice(examples)
            cut = rnd.randrange(len(other) + 1)
            data[at:at] = other[cut : cut + rnd.choice((4, 40, 400))]
        elif how in (5, 6, 7):
            numbers = list(re.finditer(rb"-?\d+(?:\.\d+)?|\"[^\"\n]*\"", bytes(data)))
            if numbers:
                one = rnd.choice(numbers)
                data[one.start() : one.end()] = rnd.choice(WORDS)
        else:
            del data[at:]
    return bytes(data[: 1 << 20]) or b"\0"


class Fed:
    """Feeds inputs to a target, and keeps what falls; each cause once."""

    def __init__(self, name: str, target: Target, keep: Path, longest_s: float) -> None:
        self.name, self.target, self.keep, self.longest_s = name, target, keep, longest_s
        self.count, self.fell = 0, dict[str, Path]()
        self.starts = [*target.examples, *kept(name)]

    def feed(self, data: bytes) -> None:
        """One input."""
        self.count += 1
        began_s = time.process_time()
        try:
            self.target.takes(data or b"\0")
            took_s = time.process_time() - began_s
            if took_s > self.longest_s:
                self._fell(data, f"took {took_s:.1f} s", f"slow {self.count}")
        except Exception as error:
            last = traceback.extract_tb(error.__traceback__)[-1]
            where = f"{type(error).__name__} at {Path(last.filename).name}:{last.lineno}"
            self._fell(data, traceback.format_exc(), where)

    def _fell(self, data: bytes, said: str, cause: str) -> None:
        if cause in self.fell:
            return
        file = self.keep / f"{self.name}-{len(self.fell) + 1}-{os.getpid()}"
        file.write_bytes(data)
        self.fell[cause] = file
        print(f"{self.name}: {cause}, kept as {file}\n{said}", flush=True)

    def grow(self, found: list[bytes]) -> None:
        """Choose the target's corpus anew, from what is kept and what was found."""
        longest = max(LONGEST_KEPT, *map(len, self.target.examples[:1]))
        short = sorted((data for data in found if 0 < len(data) <= longest), key=len)[:GROWS_FROM]
        inputs = chosen(self.target.takes, [*kept(self.name), *short], MOST_KEPT, GROWS_FOR_S)
        keep(self.name, inputs)
        print(f"{self.name}: {len(inputs)} inputs of {sum(map(len, inputs)):,} bytes kept", flush=True)

    def told(self, seconds: float) -> None:
        """The line of result."""
        print(f"{self.name}: {self.count:,} inputs in {seconds:.0f} s, {len(self.fell)} causes fell", flush=True)


def feed_one(name: str, given: argparse.Namespace) -> int:
    """One target in this process, for so many seconds."""
    from showrunner.places import demo_book

    with tempfile.TemporaryDirectory() as folder:
        import shutil

        root = Path(folder) / "book"
        shutil.copytree(demo_book(), root, ignore=shutil.ignore_patterns(".*"))
        os.environ["XDG_STATE_HOME"] = folder
        target = TARGETS[name](root)
        fed = Fed(name, target, given.keep, given.longest)
        if given.again is not None:
            fed.longest_s = float("inf")
            fed.feed(given.again.read_bytes())
            return bool(fed.fell)
        for data in fed.starts:
            fed.feed(data)
        began_s = time.perf_counter()
        if GUIDED and not given.random:
            _guided(fed, given, Path(folder), began_s)
        rnd, found = random.Random(given.seed), list[bytes]()
        while time.perf_counter() - began_s < given.seconds:
            found.append(changed(rnd, fed.starts))
            fed.feed(found[-1])
            del found[:-GROWS_FROM]
        fed.told(time.perf_counter() - began_s)
        if given.grow:
            fed.grow(found)
        return bool(fed.fell)


def _guided(fed: Fed, given: argparse.Namespace, folder: Path, began_s: float) -> None:
    """Guided by what code is reached; it ends the process."""
    import atheris

    found, words = folder / "found", folder / "words"
    found.mkdir()
    for number, example in enumerate(fed.starts):
        (found / str(number)).write_bytes(example[:20_000])
    words.write_text(
        "".join('"' + "".join(f"\\x{byte:02x}" for byte in word) + '"\n' for word in WORDS), encoding="ascii"
    )

    def one(data: bytes) -> None:
        fed.feed(data)
        if time.perf_counter() - began_s >= given.seconds:
            fed.told(time.perf_counter() - began_s)
            if given.grow:
                fed.grow([file.read_bytes() for file in found.iterdir()])
            sys.stdout.flush()
            os._exit(bool(fed.fell))

    options = [
        f"-seed={given.seed}",
        f"-dict={words}",
        "-max_len=20000",
        "-timeout=60",
        "-verbosity=0",
        "-rss_limit_mb=4096",
    ]
    atheris.Setup([sys.argv[0], *options, str(found)], one)
    atheris.Fuzz()


def main() -> int:
    """Every target that is asked for, one after the other, each in a process of its own."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("targets", nargs="*", metavar="TARGET", help=f"{', '.join(TARGETS)}; all if none is named")
    parser.add_argument("--seconds", type=float, default=300, help="for each target")
    parser.add_argument("--seed", type=int, default=13)
    parser.add_argument("--longest", type=float, default=5, help="seconds of work that one input may take")
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "fuzzed", help="where inputs go")
    parser.add_argument("--random", action="store_true", help="at random even where atheris is installed")
    parser.add_argument("--grow", action="store_true", help="choose tests/stress/corpus anew, with what was found")
    parser.add_argument("--again", type=Path, metavar="FILE", help="one kept input of the one target")
    parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    unknown = [name for name in given.targets if name not in TARGETS]
    if unknown or (given.again is not None and len(given.targets) != 1):
        parser.error(f"no target {unknown[0]}" if unknown else "say which target the file is for")
    given.keep.mkdir(parents=True, exist_ok=True)
    if given.inside or given.again is not None:
        if GUIDED and not given.random:
            import atheris

            with atheris.instrument_imports(include=["showrunner"]):
                return feed_one(given.targets[0], given)
        return feed_one(given.targets[0], given)
    fell = []
    for name in given.targets or TARGETS:
        done = subprocess.run([sys.executable, __file__, *_options(given), name, "--inside"], check=False)
        fell += [name] if done.returncode else []
    result = f"fell: {', '.join(fell)}" if fell else "none fell"
    print(f"fuzz: {len(given.targets or TARGETS)} targets, {given.seconds:g} s each, {result}")
    return bool(fell)


def _options(given: argparse.Namespace) -> list[str]:
    named = [f"--{name}={getattr(given, name)}" for name in ("seconds", "seed", "longest", "keep")]
    return named + ["--random"] * given.random + ["--grow"] * given.grow


if __name__ == "__main__":
    sys.exit(main())
