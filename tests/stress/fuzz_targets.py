"""What `fuzz.py` feeds: for each target good examples, and what takes one and raises nothing but what it may."""

import io
import re
import shutil
import socket
import sys
import time
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


def greetings(_root: Path) -> Target:
    """What comes before the key is proved, at both ends of the link; nobody is let in by it."""
    from showrunner.live.frames import pack
    from showrunner.live.greeting import StrangerError, get_in, let_in

    words = [{"greets": "0" * 32}, {"greets": "0" * 32, "proof": "0" * 64}, {"proof": None}, {"ask": "next"}]
    examples = [b"".join(map(pack, words)), *map(pack, words), b"\x00\x00\x01\x00", b"\xff" * 300]

    def takes(data: bytes) -> None:
        for meets in (let_in, get_in):
            ours, theirs = socket.socketpair()
            with ours, theirs:
                theirs.sendall(data[:20_000])
                theirs.shutdown(socket.SHUT_WR)
                try:
                    meets(ours, "k" * 32, time.perf_counter() + 5)
                except StrangerError:
                    continue
            raise AssertionError(f"{meets.__name__} without the key")

    return Target(examples, takes)


def journals(root: Path) -> Target:
    """A journal that lies in a book, settled by a command that opens it; nothing outside the book is touched."""
    from showrunner.book.files import FileChange, FileChanges
    from showrunner.book.journal import Entry, written
    from showrunner.book.problems import BookError
    from showrunner.book.read import JOURNAL
    from showrunner.book.transaction import settle

    before, outside = (root / "songs" / f"{SONG}.toml").read_bytes(), root.parent / "outside"
    for file in (*root.glob("runs/*/*"), *root.glob("takes/*/*"), *root.glob("s*/*.toml")):
        file.unlink()
    outside.mkdir()
    (outside / "theirs").write_bytes(b"theirs")
    shutil.copytree(root, kept := root.parent / "kept")
    there, new = f"songs/{SONG}.toml", "songs/new.toml"
    changes = [
        FileChanges((FileChange(there, before, None), FileChange(new, None, before[:300])), (("takes/a", "takes/b"),)),
        FileChanges((FileChange("book.toml", b"", b"x"),), (("runs/a", "runs/b"),)),
        FileChanges((FileChange(new, None, b"x"), FileChange("venues/a/b.toml", b"x", None))),
    ]
    examples = [written(Entry("renaming", one, ("songs", "venues/a"))) for one in changes]

    def takes(data: bytes) -> None:
        shutil.rmtree(root)
        shutil.copytree(kept, root)
        (root / "songs").mkdir(exist_ok=True)
        (root / there).write_bytes(before)
        (root / JOURNAL).write_bytes(_whole(data))
        with suppress(BookError):
            settle(root)
        (root / JOURNAL).write_bytes(data)
        _command(root, "list", "songs")
        assert [(file.name, file.read_bytes()) for file in outside.iterdir()] == [("theirs", b"theirs")]
        assert {file.name for file in root.parent.iterdir()} <= {"book", "kept", "outside", "found", "words"}

    return Target(examples, takes)


def _whole(journal: bytes) -> bytes:
    """A journal with the digest that its contents have, so that what it names counts."""
    import hashlib

    head, _, contents = journal.partition(b"\n")
    digest = hashlib.sha256(contents).hexdigest().encode()
    return re.sub(rb'"sha256": "[^"]*"', b'"sha256": "' + digest + b'"', head) + b"\n" + contents


def runs(root: Path) -> Target:
    """What a run keeps in its folder, as a run that broke off is offered and gone on with."""
    import json

    from showrunner.book.read import read_book
    from showrunner.live import broken_off, runclock
    from showrunner.live.folder import RUN, STATE
    from showrunner.live.freeze import to_json
    from showrunner.live.local import LocalShow
    from showrunner.live.night import FILE, NightError, freeze, night_of
    from showrunner.live.saved import to_save, where_it_stood

    night = night_of(read_book(root).book, SHOW, "full", log=str(root / "log.jsonl"))
    show, folder = LocalShow(script := night.script(), Clock()), root.parent / "run"
    folder.mkdir()
    show.ask("next")
    state = to_save(to_json(show.picture()), ["a-1"], "b")
    run = {"version": 1, "name": "a", "boot": "b", "zero_s": 0.5}
    line = {"kind": "began", "run": "a", "at_s": 1.0, "unix_s": 1.8e9}
    names = (STATE, RUN, FILE, "log.jsonl")
    good = [json.dumps(each).encode() for each in (state, run, freeze(night), line)]
    examples = [bytes((number,)) + source for number, source in enumerate(good)]

    def takes(data: bytes) -> None:
        for name, source in zip(names, good, strict=True):
            (root if name == "log.jsonl" else folder).joinpath(name).write_bytes(source)
        which = names[data[0] % 4]
        (root if which == "log.jsonl" else folder).joinpath(which).write_bytes(data[1:])
        try:
            left = broken_off.broken_off(folder)
        except NightError:
            return
        assert left is not None
        assert left.said
        _ = list(broken_off.differs(left, night))
        clock = runclock.go_on(folder, time.time(), root / "log.jsonl")
        where_it_stood(folder, script, clock, root / "log.jsonl", None)

    return Target(examples, takes)


def records(root: Path) -> Target:
    """The record of a night that was closed: told, and taken back or refused."""
    for file in root.glob("runs/*/*"):
        if file.parent.name != SHOW or not file.name.startswith("2026-11-28"):
            file.unlink()
    _command(root, "log", SHOW, "--close", "--write")
    (record,) = root.glob(f"runs/{SHOW}/*.closed.json")
    good = record.read_bytes()
    shutil.copytree(root, kept := root.parent / "kept")

    def takes(data: bytes) -> None:
        shutil.rmtree(root)
        shutil.copytree(kept, root)
        record.write_bytes(data)
        _command(root, "check", SHOW)
        _command(root, "log", SHOW, "--reopen", "--write")

    return Target([good, good.replace(b'"made"', b'"making"'), good.replace(b'"made"', b'"taking back"')], takes)


def settings(root: Path) -> Target:
    """The player's settings, read, and a theme kept in them."""
    from showrunner.book.problems import BookError
    from showrunner.tui.settings import read_settings
    from showrunner.tui.settings_file import keep_theme, text_of, unknown

    file = root / "settings.toml"
    keys = b'[screen]\ntheme = "stage"\n[keys]\n"a.b" = "f5"\na.c = "k,f2"\n'
    examples = [
        text_of({}).replace("# ", "").encode(),
        keys,
        b"a = " + b"[" * 400,
        b"[keys]\n" + b"a." * 900 + b'a = "k"',
    ]

    def takes(data: bytes) -> None:
        file.write_bytes(data)
        unknown(read_settings(file), {})
        with suppress(BookError):
            keep_theme(file, "stage")

    return Target(examples, takes)


def templates(root: Path) -> Target:
    """A user's own starter file, from which a song is made."""
    from showrunner.book.problems import BookError
    from showrunner.book.start import new
    from showrunner.places import template_folders

    own = root.parent / "own"
    own.mkdir()
    examples = [(folder / "new" / "song.toml").read_bytes() for folder in template_folders() if folder.is_dir()]

    def takes(data: bytes) -> None:
        (own / "song.toml").write_bytes(data)
        with suppress(BookError):
            new(root, "song", 'One "more"\\', [own]).unlink()

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
    "greetings": greetings,
    "journals": journals,
    "runs": runs,
    "records": records,
    "settings": settings,
    "templates": templates,
}
