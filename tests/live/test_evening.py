"""A whole evening with real keys in a real terminal, and the show played by footswitches over real MIDI ports."""

import json
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from needs import need

from showrunner.book.read import read_book
from showrunner.live.folder import run_folder
from showrunner.live.launch import end
from showrunner.live.link import LinkError, RemoteShow
from showrunner.model.show import Show
from showrunner.places import demo_book

SHOW = "brackwater-field"
PATIENCE_S = 40.0
NEXT = 80
"""Controller of the small rig's footswitch for the next step."""
VOLUME = bytes((0xB0, 112))
"""The interface volume, as the small rig's host hears it."""
GUARD_S = 0.31
"""A little over the time in which its rig takes a second press for a slip."""


def until(holds: Callable[[], Any], what: Callable[[], str]) -> Any:
    end_s = time.perf_counter() + PATIENCE_S
    while time.perf_counter() < end_s:
        found = holds()
        if found:
            return found
        time.sleep(0.02)
    raise AssertionError(f"not within {PATIENCE_S:g} s: {what()}")


class Terminal:
    """A terminal of 120 columns and 36 rows that a player sits at."""

    def __init__(self, world: Any, *command: str) -> None:
        need("tmux")
        self._folder = Path(tempfile.mkdtemp(prefix="sr-"))
        settings = self._folder / "settings"
        settings.write_text("set -g remain-on-exit on\n")
        self._tmux = ("tmux", "-S", str(self._folder / "t"), "-f", str(settings))
        size = ("-x", "120", "-y", "36")
        started = world.start(*self._tmux, "new-session", "-d", *size, *command)
        assert started.wait(PATIENCE_S) == 0

    def text(self) -> str:
        return subprocess.run([*self._tmux, "capture-pane", "-p"], capture_output=True, text=True, check=True).stdout

    def press(self, *keys: str) -> None:
        subprocess.run([*self._tmux, "send-keys", *keys], check=True)

    def shows(self, words: str) -> None:
        until(lambda: words in self.text(), lambda: f"{words!r} on the screen:\n{self.text()}")

    def close(self) -> None:
        subprocess.run([*self._tmux, "kill-server"], check=False, capture_output=True)
        shutil.rmtree(self._folder, ignore_errors=True)


class Evening:
    """The demo book, the terminal, the floor board and the host."""

    def __init__(self, world: Any, root: Path) -> None:
        self.root, self.world = root, world
        self.robot = world.robot()
        self.robot.do("plug", "Din In 1")
        self.robot.do("host", "Din Out 1")
        self._heard: list[bytes] = []
        home = [f"{name}={world.folder / name}" for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME")]
        program = [sys.executable, "-c", "from showrunner.cli.main import main; main()", "--book", str(root)]
        self.terminal = Terminal(world, "env", "-u", "COLUMNS", "-u", "LINES", *home, "TERM=xterm-256color", *program)

    @property
    def show(self) -> Show:
        return read_book(self.root).book.shows[SHOW]

    def becomes(self, holds: Callable[[Show], Any], what: str) -> None:
        until(lambda: holds(self.show), lambda: f"{what}:\n{self.terminal.text()}")

    def heard(self) -> list[bytes]:
        """All that the host has heard this evening."""
        self._heard += self.robot.heard()
        return self._heard

    def foot(self, controller: int) -> None:
        self.robot.play([bytes((0xB0, controller, 127)), bytes((0xB0, controller, 0))], port="Din In 1")

    def step_to_the_end(self) -> None:
        """Press for the next step whenever the one before was taken; where a press came too soon, once more."""
        stands, taken_s, pressed_s = None, time.perf_counter(), 0.0
        while (state := self.state()).phase != "over":
            now_s = time.perf_counter()
            if stands != (stands := (state.place, state.moment, state.phase)):
                taken_s = now_s
            elif now_s < pressed_s + GUARD_S:
                continue
            assert now_s < taken_s + PATIENCE_S, f"a step from {stands}:\n{self.terminal.text()}"
            time.sleep(GUARD_S)
            self.foot(NEXT)
            pressed_s = time.perf_counter()

    def state(self) -> Any:
        """How the show stands, as soon as it answers."""
        return until(self.picture, lambda: f"the show under way:\n{self.terminal.text()}").state

    def picture(self) -> Any:
        try:
            show = RemoteShow(run_folder(self.root, SHOW))
        except LinkError:
            return None
        try:
            return show.picture()
        finally:
            show.close()


@pytest.fixture
def evening(world: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Evening]:
    monkeypatch.setenv("XDG_STATE_HOME", str(world.folder / "state"))
    shutil.copytree(demo_book(), tmp_path / "book", ignore=shutil.ignore_patterns(".*"))
    made = Evening(world, tmp_path / "book")
    try:
        yield made
    finally:
        made.terminal.close()
        end(run_folder(made.root, SHOW))


def test_an_evening_from_the_set_to_the_log(evening: Evening) -> None:
    terminal = evening.terminal
    terminal.shows("Brackwater Field")

    # Build the set: a song is added, moved later, and the one that makes it too long goes to the reserve.
    terminal.press("Enter")
    terminal.shows("[2 Set]")
    terminal.shows("expected")
    terminal.press("Down", "Down", "Down", "a")
    terminal.shows("Which song comes after")
    terminal.press("-l", "cold")
    terminal.shows(" cold ")
    terminal.press("Enter")
    evening.becomes(lambda show: show.set_songs[4] == "cold-arcade", "the song that was added")
    terminal.press(".")
    evening.becomes(lambda show: show.set_songs[5] == "cold-arcade", "the song one place later")

    # Mend a finding: with it the show runs over its time.
    terminal.shows("over")
    terminal.press("d")
    evening.becomes(lambda show: "cold-arcade" in show.reserve, "the song in the reserve")
    terminal.shows("to spare")

    # Take a better order.
    before = evening.show.set_songs
    terminal.press("r")
    terminal.shows("instead of")
    terminal.press("y")
    evening.becomes(lambda show: show.set_songs != before, "the better order")
    assert sorted(evening.show.set_songs) == sorted(before)

    # Rehearse the first changeover without hardware, by key, and read how it went.
    terminal.press("8")
    terminal.shows("[8 Rehearse]")
    terminal.shows("to rehearse")
    terminal.press("Down", "Down", "c")
    terminal.shows("by foot or key")
    terminal.press("Enter")
    terminal.shows("q Done")
    terminal.press("n")
    terminal.shows("next · ")
    time.sleep(GUARD_S)
    terminal.press("n")
    terminal.shows("now · Low Lantern")
    terminal.press("q")
    terminal.shows("kept as")
    assert list((evening.root / "takes").glob("*/*.mid"))
    terminal.press("Escape")
    terminal.shows("[8 Rehearse]")
    terminal.shows("to rehearse")

    # Soundcheck: the volume one step up, kept in the show.
    volume_db = evening.show.trims.interface_volume_db
    terminal.press("7")
    terminal.shows("[7 Soundcheck]")
    terminal.shows("hearing protection")
    terminal.press("+")
    evening.becomes(lambda show: show.trims.interface_volume_db == volume_db + 0.5, "the trim half a dB up")

    # Begin to play, and soundcheck once more with the show under way: the host hears it, the file stays.
    terminal.press("1")
    terminal.shows("[1 Shows]")
    terminal.shows("t Try it")
    terminal.press("p")
    terminal.shows("Play Brackwater Field")
    terminal.press("y")
    assert evening.state().phase == "changeover"
    terminal.shows("q Leave")
    terminal.press("q")
    terminal.shows("t Try it")
    terminal.press("7")
    terminal.shows("[7 Soundcheck]")
    terminal.shows("hearing protection")
    terminal.shows("through the running show, ")
    terminal.press("Enter")
    until(lambda: evening.state().phase == "song", lambda: f"a moment to hear it by:\n{terminal.text()}")
    before = len(evening.heard())
    terminal.press("+")
    until(
        lambda: any(message[:2] == VOLUME for message in evening.heard()[before:]),
        lambda: f"the volume at the host:\n{terminal.text()}",
    )
    assert evening.show.trims.interface_volume_db == volume_db + 0.5

    # The soundcheck's run ends; the show begins anew and is played to its end by foot, over real ports.
    terminal.press("1")
    terminal.shows("[1 Shows]")
    terminal.shows("t Try it")
    terminal.press("x")
    terminal.shows("End Brackwater Field")
    terminal.shows("y End the show x Keep playing")
    terminal.press("y")
    terminal.shows("has ended")
    del evening.heard()[:]
    terminal.press("p")
    terminal.shows("Play Brackwater Field")
    terminal.press("y")
    terminal.shows("q Leave")
    evening.step_to_the_end()
    sent = {message[1] for message in evening.heard() if message[0] == 0xC0}
    songs = read_book(evening.root).book.songs
    assert sent == {program.number for song in evening.show.set_songs if (program := songs[song].program)}
    terminal.shows("0:00 to go")

    # And see what was played; close the night, and take that back.
    terminal.press("q")
    terminal.shows("t Try it")
    end(run_folder(evening.root, SHOW))
    terminal.press("9")
    terminal.shows("[9 After]")
    terminal.shows("not closed")
    terminal.press("c")
    terminal.shows("what is filed?")
    terminal.press("y")
    terminal.shows("closed on")
    closed = list(evening.root.glob(f"runs/{SHOW}/*.closed.json"))
    assert len(closed) == 1
    terminal.press("u")
    terminal.shows("not closed")
    assert not closed[0].exists()
    log = evening.world.start(
        sys.executable,
        "-c",
        "from showrunner.cli.main import main; main()",
        "--book",
        str(evening.root),
        "log",
        SHOW,
        "--json",
        stdout=subprocess.PIPE,
    )
    told = json.loads(log.communicate(timeout=PATIENCE_S)[0])
    assert all(song in json.dumps(told) for song in evening.show.set_songs)
