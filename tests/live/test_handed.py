"""A disk that takes nothing: the place is kept by the watcher, and what can't be written is said until it can be."""

import gc
import threading
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from showrunner.live import runlog
from showrunner.live.door import Door
from showrunner.live.folder import LINK, STATE, read_json, write_json
from showrunner.live.frames import Frames, pack
from showrunner.live.freeze import from_json, to_json
from showrunner.live.night import Night
from showrunner.live.picture import Picture
from showrunner.live.process import Process, Up
from showrunner.live.runlog import RunLog, entries
from showrunner.live.saved import from_saved
from showrunner.live.watcher import Watcher
from showrunner.model.library import Book
from showrunner.state.values import State

NEW = State(order=("a", "b"), place=1, moment=2)


class Engine:
    """The other end of the pipes; `told` is what it was sent."""

    def __init__(self) -> None:
        self.told: list[Any] = []
        self.dead, self.speaks = False, True

    def send(self, message: Any) -> bool:
        self.told.append(message)
        return True


@pytest.fixture
def watcher(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Watcher:
    """A watcher whose engine said last where it stands; its run's folder takes nothing until it is made."""
    monkeypatch.setattr(Watcher, "_start", lambda _self: Engine())
    monkeypatch.setattr("showrunner.live.watcher.Door", lambda *_of: SimpleNamespace(way={"key": "k"}))
    made = Watcher(tmp_path / "begun", Night(Book(), "friday", "rig", str(tmp_path / "log")), engine=None)
    made._begins, made._folder = False, tmp_path / "run"
    made._heard({"picture": to_json(Picture(5.0, NEW, 1.0)), "said": [], "engine": 1, "done": ["x-1"]})
    return made


def test_what_can_not_be_saved_is_said_until_it_can_be(watcher: Watcher) -> None:
    watcher._save()
    said = [message["trouble"] for message in watcher._engine.told]
    assert said == [["saving", "where the show stands can't be saved: No such file or directory"]]
    watcher._folder.mkdir()
    watcher._save()
    assert watcher._engine.told[1:] == [{"trouble": ["saving", None]}]
    watcher._save()
    assert len(watcher._engine.told) == 2
    assert (read_json(watcher._folder / STATE) or {})["state"] == to_json(NEW)
    assert read_json(watcher._folder / LINK) == {"key": "k"}


@pytest.mark.parametrize(("blocked", "other"), [(LINK, STATE), (STATE, LINK)])
def test_where_one_file_can_not_be_written_the_other_is(watcher: Watcher, blocked: str, other: str) -> None:
    (watcher._folder / blocked).mkdir(parents=True)
    watcher._save()
    assert read_json(watcher._folder / other) is not None
    assert [message["trouble"][0] for message in watcher._engine.told] == ["saving"]


def test_a_new_engine_gets_the_state_that_the_disk_did_not_take(
    watcher: Watcher, monkeypatch: pytest.MonkeyPatch
) -> None:
    started = Engine()
    monkeypatch.undo()
    monkeypatch.setattr("showrunner.live.watcher.pipes.start", lambda *_of: started)
    watcher._start()
    (handed,) = (message["resume"] for message in started.told)
    stood = from_saved(handed)
    assert (stood.state, stood.at_s, stood.began_s, stood.done) == (NEW, 5.0, 1.0, ("x-1",))


def test_what_comes_before_there_is_a_player_waits_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("showrunner.live.process.pipes.own", lambda _pid, _heard: None)
    up, heard = Up(1), []
    reads = threading.Thread(
        target=lambda: [up._heard(message) for message in ({"resume": {"state": 1}}, {"ask": "next"}, {"beat": True})]
    )
    reads.start()
    assert up.handed() == {"state": 1}
    assert heard == []
    up.hear(heard.append)
    reads.join(10)
    assert heard == [{"ask": "next"}, {"beat": True}]


def test_an_engine_shows_what_can_not_be_written_and_no_longer() -> None:
    process, troubles = object.__new__(Process), {}
    process._player = SimpleNamespace(patch=SimpleNamespace(troubles=troubles))
    process.heard({"trouble": ["saving", "no room"]})
    process.heard({"trouble": ["log", "no room"]})
    assert troubles == {"saving": "no room", "log": "no room"}
    process.heard({"trouble": ["saving", None]})
    assert troubles == {"log": "no room"}


def test_a_log_is_written_as_soon_as_it_can_be_without_another_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(runlog, "AGAIN_AFTER_S", 0.01)
    (tmp_path / "runs").write_text("a file where a folder is wanted")
    failed, done = threading.Event(), threading.Event()
    log = RunLog(tmp_path / "runs" / "log", lambda _mark: done.set(), lambda _what: failed.set())
    log.put({"kind": "cue"}, 1)
    assert failed.wait(10)
    (tmp_path / "runs").unlink()
    assert done.wait(10)
    log.close()
    assert entries(tmp_path / "runs" / "log") == [{"kind": "cue"}]


def test_a_log_takes_any_text(tmp_path: Path) -> None:
    log = RunLog(tmp_path / "log", lambda _mark: None, lambda _what: None)
    for say in ("\ud800", "é", "after it"):
        log.put({"say": say})
    log.close()
    assert [entry["say"] for entry in entries(tmp_path / "log")][1:] == ["é", "after it"]


def test_the_way_in_stands_where_a_watcher_takes_anothers_place(tmp_path: Path) -> None:
    first = Door(tmp_path, lambda link: link.close())
    write_json(tmp_path / LINK, first.way)
    first.close()
    second = Door(tmp_path, lambda link: link.close())
    second.close()
    assert second.way == first.way


def test_nothing_that_is_done_again_and_again_leaves_cycles_behind(tmp_path: Path) -> None:
    """The engine collects no garbage, and the watcher's piles up until a rare collection of everything."""
    gc.collect()
    gc.disable()
    try:
        for number in range(20):
            write_json(tmp_path / STATE, {"state": to_json(NEW), "at_s": number})
            (message,) = Frames().feed(pack({"picture": to_json(NEW)}))
            from_json(State, message["picture"])
            runlog.append(tmp_path / "log", {"kind": "cue", "number": number})
        assert gc.collect() < 20
    finally:
        gc.enable()
