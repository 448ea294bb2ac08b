"""Long logs and takes: what reading them costs grows no faster than they do."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from counted import assert_linear, calls

from showrunner.cli.main import program
from showrunner.live.runlog import append, entries
from showrunner.places import demo_book
from showrunner.takes.decode import take_of
from showrunner.takes.encode import bytes_of

SHOW, SONGS = "pellmarsh-hall", ("low-lantern", "saltmarsh-signal")
BEGAN = {"kind": "began", "show": SHOW, "rig": "full", "say": ""}
TRIM = {"kind": "trimmed", "target": "input gain", "from": 0, "to": 1, "unit": "dB"}
LINES: dict[str, Callable[[int], dict[str, object]]] = {
    "songs": lambda i: {"kind": ("changeover", "song")[i % 2], "song": SONGS[i // 2 % 2], "say": ""},
    "cues": lambda i: {"kind": "cue", "song": SONGS[0], "cue": f"c{i}", "say": ""},
    "beginnings": lambda i: BEGAN if i % 3 == 0 else {"kind": "song", "song": SONGS[0], "say": ""},
    "trims": lambda i: {**TRIM, "to": i % 9},
    "ports": lambda i: {"kind": ("lost", "found")[i % 2], "say": f"p{i}"},
    "lines that are none": lambda _: {"kind": 5},
}


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("long") / "book"
    shutil.copytree(demo_book(), root, ignore=shutil.ignore_patterns(".*", "runs", "takes"))
    (root / "runs" / SHOW).mkdir(parents=True)
    return root


@pytest.mark.parametrize("kind", LINES)
@pytest.mark.parametrize("words", [("log", SHOW), ("log", SHOW, "--close", "--duration", "all")])
def test_a_log_twice_as_long_takes_some_twice_the_calls_to_tell(
    words: tuple[str, ...], kind: str, book: Path, tmp_path: Path
) -> None:
    def tell() -> None:
        runner = CliRunner(env={"XDG_STATE_HOME": str(tmp_path)})
        result = runner.invoke(program, ["--book", str(book), *words])
        assert isinstance(result.exception, SystemExit | None), result.exception
        assert "Low Lantern" in result.output

    file, taken = book / "runs" / SHOW / "2026-12-05.jsonl", []
    for size in (60, 120, 240):
        lines = [BEGAN, *map(LINES[kind], range(size)), BEGAN, *map(LINES["songs"], range(6))]
        stamped = ({"unix_s": 1.7e9 + 20 * at, "at_s": 20.0 * at, **line} for at, line in enumerate(lines))
        file.write_text("".join(json.dumps(line) + "\n" for line in stamped))
        if not taken:
            tell()  # what is loaded once
        taken.append(calls(tell))
    assert_linear(taken)


def test_a_line_is_appended_at_the_same_cost_however_long_the_log_is(tmp_path: Path) -> None:
    file, taken = tmp_path / "log.jsonl", []
    for size in (1, 2_000):
        file.write_text("{}\n" * size)
        taken.append(calls(lambda: append(file, BEGAN)))
        assert len(entries(file)) == size + 1
    assert taken[1] == taken[0]


def meta(kind: int, text: bytes) -> bytes:
    return b"\x01\xff" + bytes((kind, len(text))) + text


EVENTS: dict[str, Callable[[int], bytes]] = {
    "messages": lambda i: b"\x01\xb0\x0b" + bytes((i % 128,)),
    "tempos": lambda i: meta(0x51, (400_000 + i).to_bytes(3, "big")),
    "meters": lambda i: meta(0x58, bytes((3 + i % 2, 2, 24, 8))),
    "markers": lambda i: meta(0x06, b"c%d" % i),
    "asks": lambda _: meta(0x07, b"next"),
    "ports": lambda i: meta(0x01, b"port input %s p%d" % ((b"lost", b"found")[i % 2], i)),
    "sequencers": lambda i: meta(0x7F, bytes((0x7D, i % 128))),
    "system exclusive": lambda _: b"\x01\xf0\x03\x7d\x01\xf7",
}


@pytest.mark.parametrize("kind", EVENTS)
def test_a_take_twice_as_long_takes_some_twice_the_calls_to_read(kind: str) -> None:
    taken = []
    for size in (200, 400, 800):
        track = meta(0x03, b"in floor") + b"".join(map(EVENTS[kind], range(size))) + b"\x00\xff\x2f\x00"
        data = b"MThd\0\0\0\6\0\0\0\1\1\xe0MTrk" + len(track).to_bytes(4, "big") + track
        taken.append(calls(lambda data=data: bytes_of(take_of(data))))
    assert_linear(taken)
