"""Damaged input of every kind, by the thousand: documents, logs, takes, packs, frames on the link, MIDI.

`python tests/stress/fuzz.py [TARGET…] [--seconds N] [--seed N] [--keep FOLDER]`. Each target starts from good examples
of the demo book and changes them: guided by what code is reached where atheris is installed, at random elsewhere.
Whatever raises something else than the target's own error, or takes longer than `--longest` seconds, is kept in the
folder and told; exit 1 then. `--again FILE` runs one kept input.
"""

import argparse
import io
import os
import random
import re
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout, suppress
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

GUIDED = find_spec("atheris") is not None
SHOW, SHORT, SONG = "pellmarsh-hall", "brackwater-field", "saltmarsh-signal"
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


class Target(NamedTuple):
    """What is fed: the good examples, and what takes one and raises nothing but what it may."""

    examples: list[bytes]
    takes: Callable[[bytes], object]


def documents(root: Path) -> Target:
    """A document of the demo book, read, checked, timed and put on a sheet."""
    from showrunner.book.read import read_book, read_document, unwieldy, with_document
    from showrunner.checks.run import check, check_song
    from showrunner.planning.timing import running_time
    from showrunner.sheets.render import render

    for file in (*root.glob("shows/*"), *root.glob("songs/*")):
        if file.stem not in (SHORT, SONG, "low-lantern", "heron-clock"):
            file.unlink()
    show = root / "shows" / f"{SHORT}.toml"
    lines = show.read_text(encoding="utf-8").splitlines()
    show.write_text("\n".join(line for line in lines if not re.search("eel|ferry|marram|inland", line)))
    reading = read_book(root)
    kinds = ("song", "rig", "venue", "show", "checklist", "book")
    examples = [bytes([kinds.index(kind)]) + source for (kind, _), source in reading.sources.items()]

    def takes(data: bytes) -> None:
        kind, source = kinds[data[0] % 6], data[1:]
        slug = {"song": SONG, "rig": "small", "venue": SHORT, "show": SHORT, "checklist": "load-in"}.get(kind, "")
        if unwieldy("x", source):
            return
        document, problems = read_document(kind, slug, source)
        assert problems or document is not None
        if document is None or kind == "book":
            return
        book = with_document(reading, kind, slug, document, source).book
        if kind == "song":
            check_song(book, SONG)
        elif kind != "checklist":
            check(book, show=SHORT)
        show = book.shows[SHORT]
        rig = book.rigs.get(book.rig_of(show) or "")
        if rig is not None:
            running_time(book, show, rig=rig)
            render(book, SHORT, "desk", "csv", ())

    return Target(examples, takes)


def logs(root: Path) -> Target:
    """A run's log, told by `log`, with what closing it would file."""
    file = next((root / "runs" / SHOW).glob("*.jsonl"))
    lines = file.read_bytes().splitlines(keepends=True)
    examples = [b"".join(lines), b"".join(lines[:12]), *lines[:40]]

    def takes(data: bytes) -> None:
        file.write_bytes(data)
        _command(root, "log", SHOW)
        _command(root, "log", SHOW, "--close", "--json")

    return Target(examples, takes)


def takes_of(root: Path) -> Target:
    """A take, replayed with the book as it is and reviewed."""
    from showrunner.book.read import read_book
    from showrunner.takes.chunks import DamagedFileError
    from showrunner.takes.decode import take_of
    from showrunner.takes.encode import bytes_of
    from showrunner.takes.replaying import UnknownTakeError, replay_steps, script_for
    from showrunner.takes.reviewing import review_of

    book = read_book(root).book
    examples = [file.read_bytes()[:4000] for file in root.glob("takes/*/*.mid")]
    examples += [b"MThd\0\0\0\6\0\1\0\1\0\x60MTrk\0\0\0\x04\0\xff\x2f\0"]

    def takes(data: bytes) -> None:
        try:
            take = take_of(data)
        except DamagedFileError:
            return
        with suppress(ValueError):
            bytes_of(take)
        if len(take.events) + len(take.asks) < 400:
            with suppress(UnknownTakeError):
                replay_steps(script_for(book, take, book.rigs["full"]), take)
                review_of(book, take, "full", SONG)

    return Target(examples, takes)


def packs(root: Path) -> Target:
    """A pack, looked into."""
    from showrunner.book.pack import contents
    from showrunner.book.pack_zip import packed, unpacked
    from showrunner.book.problems import BookError
    from showrunner.book.read import read_book

    whole = packed(contents(read_book(root), SHORT))

    def takes(data: bytes) -> None:
        try:
            unpacked(data)
        except BookError:
            return

    return Target([whole, whole[:2000], whole[-4000:]], takes)


def frames(root: Path) -> Target:
    """What a stranger or a damaged screen sends over the link, done by a show in memory."""
    from showrunner.book.read import read_book
    from showrunner.live.frames import FrameError, Frames, MessageError, pack
    from showrunner.live.local import LocalShow
    from showrunner.live.night import night_of
    from showrunner.live.orders import is_order

    script = night_of(read_book(root).book, SHOW, "full").script()
    messages = [
        *({"ask": what} for what in ("next", "back", "choose", "mute")),
        *({"move": ["swell", 64]}, {"jump": ["kiln-light", 1]}, {"trim": ["input gain", 3.5]}, {"withhold": "swell"}),
        {"id": "a-1", "ask": "next"},
    ]
    examples = [b"".join(map(pack, messages)), *map(pack, messages)]

    def takes(data: bytes) -> None:
        clock = Clock()
        show, stream = LocalShow(script, clock), Frames()
        left = data
        for _ in range(8):
            try:
                for message in stream.feed(left):
                    clock.now_s += 0.5
                    if is_order(message):
                        _do(show, {name: value for name, value in message.items() if name != "id"})
                        show.picture()
                return
            except MessageError:
                left = b""
            except FrameError:
                return

    return Target(examples, takes)


def _do(show: object, order: dict[str, object]) -> None:
    ((what, given),) = order.items()
    if what != "end":
        getattr(show, what)(*given if isinstance(given, list) else (given,))


def midi(root: Path) -> Target:
    """Any bytes on any port of the playing show, in pieces, with time passing between."""
    from showrunner.book.read import read_book
    from showrunner.live.local import LocalShow
    from showrunner.live.night import night_of

    script = night_of(read_book(root).book, SHOW, "full").script()
    inputs = [name for name, port in script.rig.ports.items() if port.input is not None]
    good = [bytes((0xB0, cc, value)) for cc in (11, 80, 81, 16, 13) for value in (0, 64, 127)]
    examples = [b"".join(bytes((0, 3)) + one for one in good), *(bytes((1, 3)) + one for one in good[:4])]

    def takes(data: bytes) -> None:
        clock, at = Clock(), 0
        show = LocalShow(script, clock)
        player = show._player
        while at + 2 <= len(data):
            port, length = inputs[data[at] % len(inputs)], data[at + 1] % 64
            clock.now_s += (data[at] >> 1) / 50
            player.engine.hears(port)(data[at + 2 : at + 2 + length])
            show.picture()
            at += 2 + length
        faults = player.engine.faults.take() if hasattr(player.engine, "faults") else []
        assert not faults, faults[0]

    return Target(examples, takes)


TARGETS: dict[str, Callable[[Path], Target]] = {
    "documents": documents,
    "logs": logs,
    "takes": takes_of,
    "packs": packs,
    "frames": frames,
    "midi": midi,
}


class Clock:
    """Seconds as the input has them."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


def _command(root: Path, *words: str) -> None:
    from showrunner.cli.main import program

    code: object = None
    streams = sys.stdout, sys.stderr
    with redirect_stdout(io.StringIO()) as out, redirect_stderr(io.StringIO()) as err:
        try:
            program.main(["--book", str(root), *words])
        except SystemExit as ended:
            code = ended.code
        finally:
            sys.stdout, sys.stderr = streams
    assert code in (0, 1, 2), code
    raw = re.findall("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]", out.getvalue() + err.getvalue())
    assert not raw, f"raw controls {raw}"


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
        for example in target.examples:
            fed.feed(example)
        began_s = time.perf_counter()
        if GUIDED and not given.random:
            _guided(fed, given, Path(folder), began_s)
        rnd = random.Random(given.seed)
        while time.perf_counter() - began_s < given.seconds:
            fed.feed(changed(rnd, target.examples))
        fed.told(time.perf_counter() - began_s)
        return bool(fed.fell)


def _guided(fed: Fed, given: argparse.Namespace, folder: Path, began_s: float) -> None:
    """Guided by what code is reached; it ends the process."""
    import atheris

    corpus, words = folder / "corpus", folder / "words"
    corpus.mkdir()
    for number, example in enumerate(fed.target.examples):
        (corpus / str(number)).write_bytes(example[:20_000])
    words.write_text(
        "".join('"' + "".join(f"\\x{byte:02x}" for byte in word) + '"\n' for word in WORDS), encoding="ascii"
    )

    def one(data: bytes) -> None:
        fed.feed(data)
        if time.perf_counter() - began_s >= given.seconds:
            fed.told(time.perf_counter() - began_s)
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
    atheris.instrument_all() if given.all else None
    atheris.Setup([sys.argv[0], *options, str(corpus)], one)
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
    parser.add_argument("--all", action="store_true", help="have libraries guide as well, which is slower")
    parser.add_argument("--again", type=Path, metavar="FILE", help="one kept input of the one target")
    parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    unknown = [name for name in given.targets if name not in TARGETS]
    if unknown or (given.again is not None and len(given.targets) != 1):
        parser.error(f"no target {unknown[0]}" if unknown else "say which target the file is for")
    given.keep.mkdir(parents=True, exist_ok=True)
    if given.inside or given.again is not None:
        if GUIDED and not given.random and not given.all:
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
    return named + [f"--{name}" for name in ("random", "all") if getattr(given, name)]


if __name__ == "__main__":
    sys.exit(main())
