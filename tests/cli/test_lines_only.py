"""A terminal that takes only lines gets lines where others get a screen."""

import os
import select
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from showrunner.live.folder import run_folder
from showrunner.live.launch import end
from showrunner.places import demo_book

pty = pytest.importorskip("pty", reason="no pseudo-terminals here")
PROGRAM = "from showrunner.cli.entry import main; main()"
SHOW = "pellmarsh-hall"
PATIENCE_S = 30.0


class Terminal:
    """A program in a pseudo-terminal of a kind, and what it has written so far."""

    def __init__(self, kind: str, folder: Path, book: Path, *words: str) -> None:
        self._us, theirs = pty.openpty()
        homes = {f"XDG_{name}_HOME": str(folder / name) for name in ("CONFIG", "DATA", "CACHE", "STATE")}
        command = [sys.executable, "-c", PROGRAM, "--book", str(book), *words]
        environment = {**os.environ, **homes, "TERM": kind}
        self._program = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env=environment)
        os.close(theirs)
        self.text = ""

    def read_until(self, holds: Callable[[str], bool]) -> None:
        """Read on until what was written is as said."""
        while not holds(self.text):
            more = self._read()
            assert more, self.text
            self.text += more

    def ends(self) -> int:
        """Read to the end, and give the exit code."""
        while more := self._read():
            self.text += more
        return self._program.wait(PATIENCE_S)

    def close(self) -> None:
        """End the program if it has not ended."""
        self._program.kill()
        self._program.wait()
        os.close(self._us)

    def _read(self) -> str:
        """What comes next; nothing once the program has ended. A program that waits for a key too long is ended."""
        if not select.select([self._us], [], [], PATIENCE_S)[0]:
            self._program.kill()
        try:
            return os.read(self._us, 1 << 16).decode(errors="replace")
        except OSError:  # how Linux says that nobody holds the other end
            return ""


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    """Starts the program with some words in a pseudo-terminal of a kind, on a book."""
    made: list[Terminal] = []

    def start(kind: str, book: Path, *words: str) -> Terminal:
        made.append(Terminal(kind, tmp_path, book, *words))
        return made[-1]

    yield start
    for one in made:
        one.close()


@pytest.mark.parametrize("kind", ["dumb", "unknown"])
def test_alone_it_says_that_screens_can_not_be_shown_and_which_commands_there_are(
    terminal: Callable[..., Terminal], kind: str
) -> None:
    alone = terminal(kind, demo_book())
    assert alone.ends() == 0
    assert "TERM says that this terminal takes only lines: the screens can't be shown" in alone.text
    assert "Commands:" in alone.text
    assert "\x1b" not in alone.text


def test_a_show_is_told_in_lines(
    terminal: Callable[..., Terminal], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "STATE"))
    book = shutil.copytree(demo_book(), tmp_path / "book")
    began = terminal("dumb", book, "play", SHOW, "--simulated")
    try:
        began.read_until(lambda text: "changeover to" in text)
        joined = terminal("dumb", book, "play", SHOW, "--simulated")
        joined.read_until(lambda text: "changeover to" in text)
    finally:
        end(run_folder(book, SHOW))
    for one in (began, joined):
        assert one.ends() == 0
        assert "TERM says that this terminal takes only lines: the show is told in lines" in one.text
        assert "the show was ended" in one.text
        assert "\x1b" not in one.text
