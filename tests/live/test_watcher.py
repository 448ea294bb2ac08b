"""The watcher's turns, and the end of a run, without starting a process."""

import threading
from pathlib import Path
from types import SimpleNamespace

import pytest

from showrunner.live import launch
from showrunner.live.faults import Faults
from showrunner.live.folder import ENDED, LINK, STATE, read_json, write_json
from showrunner.live.link import LinkError
from showrunner.live.night import Night
from showrunner.live.watcher import Watcher
from showrunner.model.library import Book


class Engine:
    """An engine that has ended; its last word is taken in just as the watcher comes to look."""

    def __init__(self, watcher: Watcher, *, says_ended: bool) -> None:
        self._watcher, self._says_ended = watcher, says_ended

    @property
    def dead(self) -> bool:
        if self._says_ended:
            self._watcher._heard({"ended": True})
        return True

    def send(self, _message: object) -> bool:
        return False

    def wait(self, _for_s: float) -> None:
        pass

    def kill(self) -> None:
        pass


@pytest.fixture
def watcher(tmp_path: Path) -> Watcher:
    """A watcher without engine, link or log; `started` has the engines that it starts, which end by a word."""
    made = object.__new__(Watcher)
    made._folder, made._screens, made._last, made._started_s, made._saved_s = tmp_path, set(), None, 0.0, 0.0
    made._door, made._refused, made._begins = None, "", False
    made._ended, made._night = threading.Event(), Night(Book(), "friday", "rig")
    made._unsaved, made._saving, made._faults = False, threading.Lock(), Faults()
    made._clock = lambda: 0.0
    made._put = lambda _entry: None
    made._log = SimpleNamespace(close=lambda: None)
    made.started = []

    def start() -> Engine:
        made.started.append(Engine(made, says_ended=True))
        return made.started[-1]

    made._start = start
    return made


@pytest.fixture(autouse=True)
def _nothing_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("showrunner.live.watcher.load", lambda _night: None)


def test_an_engine_that_was_told_to_end_is_not_started_again(watcher: Watcher) -> None:
    watcher._engine = Engine(watcher, says_ended=True)
    watcher.run()
    assert watcher.started == []


def test_an_engine_that_ends_without_a_word_is_started_again(watcher: Watcher) -> None:
    watcher._engine = Engine(watcher, says_ended=False)
    watcher.run()
    assert len(watcher.started) == 1


def test_no_engine_is_started_for_a_run_that_was_ended(watcher: Watcher, tmp_path: Path) -> None:
    (tmp_path / ENDED).touch()
    watcher._engine = Engine(watcher, says_ended=False)
    watcher.run()
    assert watcher.started == []


@pytest.mark.parametrize("same_run", [True, False])
def test_an_engine_that_is_refused_ends_a_watcher_that_has_begun_nothing(
    watcher: Watcher, tmp_path: Path, same_run: bool
) -> None:
    put: list[object] = []
    watcher._begins, watcher._put = True, put.append
    write_json(tmp_path / LINK, {"of": "another"})
    watcher._engine = Engine(watcher, says_ended=False)
    watcher._heard({"refused": "Friday is being played", "same_run": same_run})
    with pytest.raises(SystemExit, match="Friday is being played"):
        watcher.run()
    assert (watcher.started, put) == ([], [])
    assert read_json(tmp_path / LINK) == {"of": "another"}


def test_a_show_that_was_played_goes_on_trying_for_its_ports_and_leaves_its_run_to_its_other_engine(
    watcher: Watcher,
) -> None:
    watcher._last = {}
    watcher._heard({"refused": "Friday is being played", "same_run": False})
    assert watcher._refused == ""
    watcher._heard({"refused": "Friday is being played already", "same_run": True})
    assert watcher._refused != ""


class Shows:
    """A run that a screen reaches only every other time, and that loses the first orders to end."""

    def __init__(self, folder: Path, loses: int) -> None:
        self.loses, self.tries, self.asked = loses, 0, 0
        for name in (LINK, STATE):
            write_json(folder / name, {})

    def __call__(self, _folder: Path) -> "Shows":
        self.tries += 1
        if self.tries % 2:
            raise LinkError("the show does not answer")
        return self

    def end(self) -> None:
        self.asked += 1

    def close(self) -> None:
        pass

    def running(self, _folder: Path) -> bool:
        return self.asked <= self.loses


@pytest.fixture
def shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shows:
    monkeypatch.setattr(launch, "ASKS_AGAIN_S", 0.0)
    made = Shows(tmp_path, 2)
    monkeypatch.setattr(launch, "RemoteShow", made)
    monkeypatch.setattr(launch, "running", made.running)
    return made


def test_the_end_is_asked_for_until_the_run_has_ended(shows: Shows, tmp_path: Path) -> None:
    assert launch.end(tmp_path)
    assert shows.asked == 3
    assert [file.name for file in tmp_path.iterdir()] == [ENDED]
    assert not launch.end(tmp_path)


def test_a_run_that_can_not_be_ended_keeps_its_way_in(
    shows: Shows, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(launch, "STARTS_WITHIN_S", 0.0)
    shows.loses = 1_000_000
    with pytest.raises(LinkError, match="could not be ended"):
        launch.end(tmp_path)
    assert {file.name for file in tmp_path.iterdir()} == {LINK, STATE}
