"""A screen joins a running show: no document is read for its first paint, nor the book."""

import json
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from showrunner.book.read import read_book
from showrunner.live.folder import run_folder
from showrunner.live.launch import OtherWayError, attach, end
from showrunner.live.link import RemoteShow
from showrunner.live.night import night_of
from showrunner.live.seen import Sight
from showrunner.live.sight import arrivals, sight
from showrunner.live.under_way import plan_tonight, show_under_way
from showrunner.places import demo_book

SHOW = "pellmarsh-hall"
LIGHT = (
    "showrunner.cli.entry",
    "showrunner.live.link",
    "showrunner.live.folder",
    "showrunner.tui.app",
    "showrunner.tui.screens.playing",
)
HEAVY = ("pydantic", "tomlkit", "mido", "showrunner.model.song", "showrunner.state.script", "showrunner.book.read")


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The demo book with its show running, nothing plugged in."""
    root = tmp_path / "book"
    shutil.copytree(demo_book(), root)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    log = str(root / "runs" / SHOW / "night.jsonl")
    attach(run_folder(root, SHOW), night_of(read_book(root).book, SHOW, "full", log=log, simulated=True)).close()
    yield root
    end(run_folder(root, SHOW))


def told(show: RemoteShow) -> Sight:
    """What the watcher says once it is asked."""
    until_s = time.perf_counter() + 30
    while (seen := show.sight()) is None:
        assert time.perf_counter() < until_s
        show.wait(0.02)
    return seen


def test_what_the_first_paint_needs_loads_no_documents() -> None:
    asks = f"import sys, {', '.join(LIGHT)}; print([name for name in {HEAVY} if name in sys.modules])"
    found = subprocess.run([sys.executable, "-c", asks], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_the_watcher_says_what_the_screen_would_say_itself(book: Path, waits: Any) -> None:
    show = RemoteShow(run_folder(book, SHOW))
    waits(lambda: not show.picture().state.settling, "the program to settle")
    first, second = told(show), RemoteShow(run_folder(book, SHOW))
    assert not show.ready
    assert show.simulated
    picture = show.picture().as_shown(simulated=True)
    own = sight(show.script, picture, plan_tonight(book, show.night), arrivals(show.script, picture.state))
    assert first._replace(status="") == own._replace(status="") == told(second)._replace(status="")
    assert first.status.split(" · ")[0] == own.status.split(" · ")[0]
    show.close()
    second.close()


def test_a_running_show_is_joined_whatever_has_become_of_the_book(book: Path) -> None:
    (book / "shows" / f"{SHOW}.toml").write_text("title =", encoding="utf-8")
    play = [sys.executable, "-m", "showrunner.cli", "--book", str(book), "play"]
    said = subprocess.run([*play, f"show/{SHOW}", "--status"], capture_output=True, text=True, check=False)
    assert (said.returncode, said.stderr) == (0, "")
    assert f"{SHOW} is running SIMULATED (playing); changeover: Saltmarsh Signal, start; muted\n" in said.stdout
    assert "\ngain 29 dB, volume -10 dB\n" in said.stdout
    ended = subprocess.run([*play, SHOW, "--end"], capture_output=True, text=True, check=False)
    assert ended.stdout == f"{SHOW} has ended\n"


@pytest.mark.parametrize("name", ["no-such-show", "../pellmarsh-hall", "song/pellmarsh-hall", ""])
def test_a_name_of_no_show_is_still_a_clear_error(book: Path, name: str) -> None:
    play = [sys.executable, "-m", "showrunner.cli", "--book", str(book), "play", name, "--status"]
    said = subprocess.run(play, capture_output=True, text=True, check=False)
    assert said.returncode == 2
    assert "Traceback" not in said.stderr
    assert said.stderr


def test_the_log_says_first_that_a_show_is_simulated(book: Path, waits: Any) -> None:
    log = book / "runs" / SHOW / "night.jsonl"
    first = json.loads(waits(lambda: log.exists() and log.read_text(), "the log").splitlines()[0])
    assert {name: first[name] for name in ("kind", "show", "simulated", "say")} == {
        "kind": "began",
        "show": SHOW,
        "simulated": True,
        "say": "SIMULATED",
    }


def test_a_show_that_is_tried_is_neither_joined_nor_ended_as_if_it_were_the_real_one(book: Path) -> None:
    play = [sys.executable, "-m", "showrunner.cli", "--book", str(book), "play", SHOW]
    for words in ((), ("--plain",), ("--full-house", "--json")):
        asked = subprocess.run([*play, *words], stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
        assert asked.returncode == 2
        assert "is being played simulated, without hardware" in asked.stdout + asked.stderr
    status = subprocess.run([*play, "--status", "--json"], capture_output=True, text=True, check=False)
    told = json.loads(status.stdout)
    assert (told["simulated"], told["full_house"], told["engine"]) == (True, False, "playing")
    assert (told["input_gain_db"], told["interface_volume_db"]) == (29.0, -10.0)
    with pytest.raises(OtherWayError, match="is being played simulated"):
        attach(run_folder(book, SHOW), night_of(read_book(book).book, SHOW, "full"))


def test_a_full_house_is_not_passed_over_where_a_show_was_begun_without(book: Path) -> None:
    play = [sys.executable, "-m", "showrunner.cli", "--book", str(book), "play", SHOW, "--simulated", "--full-house"]
    asked = subprocess.run(play, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    assert asked.returncode == 2
    assert f"{SHOW} was begun for an empty room" in asked.stderr


def test_nothing_is_heard_of_the_rig_through_a_show_that_is_played_without_it(book: Path) -> None:
    assert show_under_way(book, [SHOW], on_ports=True) is None
    found = show_under_way(book, [SHOW])
    assert found is not None
    found.close()
