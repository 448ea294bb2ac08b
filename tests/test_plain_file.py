"""What is no plain file, or never ends, is refused wherever a file is read, and nothing waits for it."""

import os
import signal
import socket
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from showrunner.cli.main import program
from showrunner.places import demo_book
from showrunner.plain_file import NotPlainError, TooLargeError, listed, read_file

WAITS_S = 20
SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"


def fifo(path: Path) -> None:
    os.mkfifo(path)


def zeros(path: Path) -> None:
    path.symlink_to("/dev/zero")


def folder(path: Path) -> None:
    path.mkdir()


def listening(path: Path) -> None:
    with tempfile.TemporaryDirectory(prefix="sr") as short:  # a socket's path has some 100 bytes of room
        at = Path(short) / "s"
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(str(at))
            at.rename(path)


STRANGE = {"pipe": fifo, "device": zeros, "folder": folder, "socket": listening}
strange = pytest.mark.parametrize("make", STRANGE.values(), ids=STRANGE)


@pytest.fixture(autouse=True)
def in_time() -> Iterator[None]:
    """A read that waits fails."""

    def late(*_: object) -> None:
        raise AssertionError(f"it waited {WAITS_S} s")

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(WAITS_S)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The demo book, its files links to those that are brought, so that one is quickly put in the place of another."""
    root = tmp_path / "book"
    for file in demo_book().rglob("*"):
        if file.is_file() and not file.name.startswith("."):
            to = root / file.relative_to(demo_book())
            to.parent.mkdir(parents=True, exist_ok=True)
            to.symlink_to(file)
    return root


def said(book: Path, *words: str, typed: str | None = None) -> tuple[int, str]:
    result = CliRunner(env={"SHOWRUNNER_BOOK": str(book)}).invoke(program, words, input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


@strange
def test_what_is_no_plain_file_is_refused(make: Callable[[Path], None], tmp_path: Path) -> None:
    make(tmp_path / "it")
    with pytest.raises(NotPlainError):
        read_file(tmp_path / "it")


def test_a_file_is_read_up_to_a_size(tmp_path: Path) -> None:
    (tmp_path / "it").write_bytes(b"12345")
    assert read_file(tmp_path / "it", 5) == b"12345"
    with pytest.raises(TooLargeError):
        read_file(tmp_path / "it", 4)
    with pytest.raises(FileNotFoundError):
        read_file(tmp_path / "none")
    with pytest.raises(TooLargeError):  # a file that says it is empty and is not
        read_file(Path("/proc/self/maps"), 16)


def test_a_folder_that_is_not_there_has_nothing_and_one_that_cant_be_listed_is_an_error(tmp_path: Path) -> None:
    assert listed(tmp_path / "none") == []
    (tmp_path / "loop").symlink_to("loop")
    with pytest.raises(OSError, match="symbolic links"):
        listed(tmp_path / "loop")


@strange
@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("book.toml", "list songs"),
        (f"songs/{SONG}.toml", f"read song/{SONG}"),
        ("rigs/full.toml", "read rig/full"),
        (f"takes/{SONG}/strange.mid", f"replay {SONG}/strange"),
        (f"runs/{SHOW}/2026-11-28.jsonl", f"log {SHOW} --run 2026-11-28"),
        ("given", "unpack {given}"),
        ("given", "levels {given}"),
        ("given", f"curve {SONG} --from-table {{given}}"),
    ],
)
def test_no_command_waits_for_what_is_no_plain_file(
    file: str, words: str, make: Callable[[Path], None], book: Path
) -> None:
    (book / file).unlink(missing_ok=True)
    make(book / file)
    code, out = said(book, *words.format(given=book / "given").split())
    assert code in (1, 2) or file == "book.toml"
    assert "plain file" in out or "a file" in out or "folder" in out, out


def test_a_table_on_standard_input_that_does_not_end_is_refused(book: Path) -> None:
    code, out = said(book, "curve", SONG, "--from-table", "-", typed="0" * (2 << 20))
    assert code == 2
    assert "goes on for more than 1 MiB" in out


@pytest.fixture
def unreadable_runs(book: Path) -> Path:
    """A folder of runs that nobody can list, root neither."""
    for file in (book / "runs" / SHOW).iterdir():
        file.unlink()
    (book / "runs" / SHOW).rmdir()
    (book / "runs").rmdir()
    (book / "runs").symlink_to("runs")
    return book


def test_a_runs_folder_that_cant_be_read_is_said(unreadable_runs: Path) -> None:
    for words in ("list songs", f"time {SHOW}", f"batteries {SHOW}"):
        code, out = said(unreadable_runs, *words.split())
        assert code in (0, 1)
        assert "runs: this can't be read (too many levels of symbolic links)" in out
    code, out = said(unreadable_runs, "log", SHOW)
    assert code == 2
    assert "too many levels of symbolic links" in out


def test_a_pack_with_runs_that_cant_be_read_is_not_made(unreadable_runs: Path, tmp_path: Path) -> None:
    code, out = said(unreadable_runs, "pack", SHOW, "--with", "runs", "-o", str(tmp_path / "it.zip"))
    assert code == 2
    assert f"runs/{SHOW} can't be read (too many levels of symbolic links)" in out
    assert not (tmp_path / "it.zip").exists()
    assert said(unreadable_runs, "pack", SHOW, "-o", str(tmp_path / "it.zip"))[0] in (0, 1)


def test_a_pack_with_a_run_that_is_no_file_is_not_made(book: Path, tmp_path: Path) -> None:
    os.mkfifo(book / "runs" / SHOW / "2026-01-01.jsonl")
    code, out = said(book, "pack", SHOW, "--with", "runs", "-o", str(tmp_path / "it.zip"))
    assert code == 2
    assert f"runs/{SHOW}/2026-01-01.jsonl can't be packed: this is no plain file" in out
