"""What `fuzz.py` feeds: for each target good examples, and what takes one and raises nothing but what it may."""

import io
import re
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout, suppress
from pathlib import Path
from typing import NamedTuple

SHOW, SHORT, SONG = "pellmarsh-hall", "brackwater-field", "saltmarsh-signal"


class Target(NamedTuple):
    """What is fed: the good examples, and what takes one and raises nothing but what it may."""

    examples: list[bytes]
    takes: Callable[[bytes], object]


class Clock:
    """Seconds as the input has them."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


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


TARGETS: dict[str, Callable[[Path], Target]] = {
    "documents": documents,
    "logs": logs,
    "takes": takes_of,
    "packs": packs,
    "frames": frames,
    "midi": midi,
}
