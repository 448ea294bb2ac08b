"""Errors of the program itself, and orders that are none: refused, said and kept, while the show plays on."""

import contextlib
import os
import threading
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.live import pipes
from showrunner.live.fake import FakeSystem
from showrunner.live.faults import Faults
from showrunner.live.frames import Frames, pack
from showrunner.live.orders import is_order
from showrunner.live.player import Player
from showrunner.live.process import Process
from showrunner.live.watcher import Watcher
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.state import machine
from showrunner.state.events import Asked, Heard, Tick
from showrunner.state.machine import open_show, run, stilled, wakes_at
from showrunner.state.moments import prepare
from showrunner.state.script import Script
from showrunner.state.values import State

SWITCH = {"kind": "switch", "port": "floor", "channel": 1}
RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Test rig",
        "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*", "settle_ms": 20}},
        "controls": {
            "swell": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11},
            "strip": {"kind": "strip", "port": "floor", "channel": 1, "cc": 16, "on_release": {"to": 0}},
            "next": {**SWITCH, "cc": 80},
            "back": {**SWITCH, "cc": 81},
        },
        "targets": {n: {"port": "host", "channel": 1, "cc": 20 + i, "range": [0, 127]} for i, n in enumerate("ab")},
        "steps": {"next": "next", "back": "back"},
    }
)
SONG = Song.model_validate(
    {
        "format": 1,
        "title": "Low Lantern",
        "duration": "3:00",
        "program": {"port": "host", "channel": 1, "number": 5},
        "curves": {
            "verse": {
                "swell": {"travel": [0, 100], "moves": {"a": [0, 127]}, "entry": "glide"},
                "strip": {"travel": [0, 100], "moves": {"b": [127, 0]}},
            }
        },
        "cues": [{"name": "Lead", "targets": {"a": 9}}, {"name": "Verse"}],
    }
)


class BrokenError(Exception):
    """What the fold raises here."""


class Stage:
    """A player on ports in memory, whose fold fails whenever `fails` says so."""

    def __init__(self, monkeypatch: Any = None) -> None:
        self.now_s, self.fails = 0.0, lambda _event: False
        script = Script(RIG, {slug: prepare(slug, SONG, RIG) for slug in "abc"}, ("a", "b", "c"))
        self.system = FakeSystem(("Floor",), ("Host",))
        if monkeypatch is not None:
            folds = machine.fold
            monkeypatch.setattr(machine, "fold", lambda *of: self._fold(folds, *of))
        self.player = Player(script, self.system, lambda: self.now_s)

    def _fold(self, folds: Any, script: Script, state: State, event: Any) -> Any:
        if self.fails(event):
            raise BrokenError("by the test")
        return folds(script, state, event)

    def wait(self, for_s: float) -> None:
        until_s = self.now_s + for_s
        while self.now_s < until_s:
            self.now_s = min(until_s, self.now_s + max(0.001, self.player.engine.beat()))
        self.player.engine.beat()

    def said(self) -> list[str]:
        return [notice.say for _, notice in self.player.picture().notices if notice.kind == "nothing"]


def test_an_event_that_can_not_be_folded_changes_nothing_and_is_said_and_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    stage = Stage(monkeypatch)
    stage.wait(1.0)
    before = stage.player.picture().state
    stage.fails = lambda event: isinstance(event, Asked)
    stage.player.ask("next")
    assert stage.player.picture().state == before
    assert stage.said() == ["an error in the program; what was asked for is not done (BrokenError)"]
    (kept,) = stage.player.engine.faults.take()
    assert "BrokenError: by the test" in kept
    assert "in _fold" in kept
    stage.fails = lambda _event: False
    stage.player.ask("next")
    assert stage.player.picture().state.phase == "song"


def test_what_falls_due_and_can_not_be_folded_is_dropped_and_holds_up_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stage = Stage(monkeypatch)
    stage.wait(1.0)
    stage.player.ask("next")
    stage.system.play("Floor", b"\xb0\x10\x40")  # it will count as let go
    assert wakes_at(stage.player.script, stage.player.engine.look()) is not None
    ticks = []
    stage.fails = lambda event: isinstance(event, Tick) and not ticks.append(event)
    stage.wait(0.5)
    assert len(ticks) == 1  # nothing is due any more
    stage.player.ask("next")
    assert stage.player.picture().state.moment == 1


def test_a_message_whose_fold_fails_is_no_error_of_the_port_that_it_came_on(monkeypatch: pytest.MonkeyPatch) -> None:
    stage = Stage(monkeypatch)
    stage.wait(1.0)
    stage.fails = lambda event: isinstance(event, Heard)
    stage.system.play("Floor", b"\xb0\x50\x7f")
    stage.fails = lambda _event: False
    for value in (127, 0):
        stage.system.play("Floor", bytes((0xB0, 80, value)))
        stage.wait(0.1)
    assert stage.player.picture().state.phase == "song"


def test_roads_that_can_not_be_laid_leave_none_by_the_state_before(monkeypatch: pytest.MonkeyPatch) -> None:
    stage = Stage()
    stage.wait(1.0)
    stage.player.ask("next")
    stage.player.ask("next")
    stage.wait(0.1)
    stage.system.play("Floor", b"\xb0\x10\x20")

    def fails(*_of: Any) -> None:
        raise BrokenError

    monkeypatch.setattr("showrunner.live.engine.lanes", fails)
    stage.player.ask("back")
    stage.system.play("Floor", b"\xb0\x10\x30")
    assert stage.player.picture().state.raws["strip"] == 0x30
    assert stage.said() != []


def test_a_show_that_can_not_be_opened_says_so_and_can_be_taken_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_of: Any) -> None:
        raise BrokenError

    monkeypatch.setattr("showrunner.live.player.open_show", fails)
    stage = Stage()
    stage.wait(0.1)
    assert stage.said() != []
    stage.player.jump("b", 1)
    assert stage.player.picture().state.song == "b"


steps = st.one_of(
    st.sampled_from(["next", "back", "choose", "take", "cancel", "mute", "program"]),
    st.tuples(st.sampled_from([11, 16, 80, 81]), st.integers(0, 127)),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(steps, st.booleans(), st.sampled_from([0.001, 0.05, 0.7, 9.0])), max_size=25))
def test_whatever_fails_the_show_stands_as_without_it_and_goes_on(
    playing: list[tuple[Any, bool, float]],
) -> None:
    """Of every event the fold is done as a whole or not at all, and the next one is taken."""
    with pytest.MonkeyPatch.context() as patch:
        stage = Stage(patch)
        failing = False
        stage.fails = lambda _event: failing
        for step, fails, pause_s in playing:
            failing = fails
            before = stage.player.engine.look()
            if isinstance(step, str):
                stage.player.ask(step)
            else:
                stage.system.play("Floor", bytes((0xB0, *step)))
            after = stage.player.engine.look()
            if fails:
                assert (after.order, after.place, after.moment) == (before.order, before.place, before.moment)
            stage.wait(pause_s)
        failing = False
        stage.player.jump("c", 1)
        assert stage.player.picture().state.song == "c"


def test_a_state_with_nothing_under_way_wakes_for_nothing() -> None:
    script = Script(RIG, {"a": prepare("a", SONG, RIG)}, ("a",))
    state, _ = open_show(script, 0.0)
    events = [
        Asked(0.1, "next"),
        Heard(0.2, "floor", b"\xb0\x0b\x40"),
        Heard(0.2, "floor", b"\xb0\x10\x40"),
        Heard(0.2, "floor", b"\xb0\x50\x7f"),
    ]
    *_, (_, state, _) = run(script, state, events)
    assert state.silences
    assert state.presses
    assert wakes_at(script, state) is not None
    assert wakes_at(script, stilled(state)) is None


def nested(depth: int) -> Any:
    made: Any = "next"
    for _ in range(depth):
        made = [made]
    return made


garbage = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.just(10**400)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=4), inner, max_size=3)),
    max_leaves=6,
)
kinds = st.sampled_from(["ask", "jump", "move", "trim", "withhold", "end", "id", "logged", "trouble", "beat", "x"])
orders = st.one_of(
    st.dictionaries(kinds, garbage, max_size=3),
    st.fixed_dictionaries({"ask": st.sampled_from(["next", "Next", "take", "\ud800"])}),
    st.tuples(kinds, st.sampled_from(["a", "swell", "b\x1b[2J", "\ud800", "x" * 300]), garbage).map(
        lambda of: {of[0]: [of[1], of[2]]}
    ),
    st.just({"ask": nested(200)}),
)


@pytest.fixture(scope="module")
def process() -> Process:
    """The engine's process around a player, without pipes or threads."""
    made = object.__new__(Process)
    made._player = Stage().player
    made._ended, made._ordering, made._done = threading.Event(), threading.Lock(), []
    return made


@settings(max_examples=200, deadline=None)
@given(order=orders.filter(lambda order: order.get("end") is not True))
def test_no_order_at_all_ends_the_engine_or_is_taken_for_another(process: Process, order: dict[str, Any]) -> None:
    before = process._player.engine.look()
    process.heard(order)
    assert not process._ended.is_set()
    if not is_order(order):
        assert process._player.engine.look() == before
    pack({"done": process._done, "state": None})
    process._player.engine.beat()


@pytest.mark.parametrize(
    "order",
    [
        {"ask": "next", "id": "x"},
        {"jump": ["a", 0]},
        {"move": ["swell", 5], "id": "y"},
        {"trim": ["interface volume", -1]},
        {"trim": ["interface volume", 0.5]},
        {"withhold": "swell"},
        {"end": True},
    ],
)
def test_what_screens_ask_for_is_an_order(order: dict[str, Any]) -> None:
    assert is_order(order)
    assert not is_order({**order, "id": 5})
    assert not is_order({**order, "more": 1})
    assert not is_order({next(iter(order)): None})


@pytest.mark.parametrize(
    "order",
    [
        {},
        {"id": "x"},
        {"move": ["swell", True]},
        {"trim": ["a", float("nan")]},
        {"trim": ["a", 10**400]},
        {"jump": ["a", 0], "ask": "next"},
        {"jump": ["a", 0, 0]},
        {"ask": "next", "id": "x" * 1000},
    ],
)
def test_what_only_looks_like_one_is_none(order: dict[str, Any]) -> None:
    assert not is_order(order)


class Deaf:
    """A screen that hears nothing."""

    def show(self, _frame: bytes) -> None:
        pass


def test_a_watcher_passes_on_orders_alone_and_listens_on() -> None:
    watcher, passed = object.__new__(Watcher), []
    watcher._night, watcher._faults = SimpleNamespace(), Faults()
    watcher._last, watcher._screens = None, set()
    watcher._engine = SimpleNamespace(send=passed.append, speaks=True)
    odd = [{"ask": nested(300)}, {"sight": None}, {"move": [[], {}]}, {"id": [], "jump": "a"}, {"ask": "next"}]
    pieces = [b"".join(map(pack, odd)), b""]
    link = SimpleNamespace(recv=lambda _most: pieces.pop(0))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("showrunner.live.watcher.Looker", lambda _night: None)
        watcher._listen_to(link, Deaf())
    assert passed == [{"ask": "next"}]


def test_one_frame_that_is_none_of_ours_or_that_can_not_be_done_ends_no_pipe(capsys: pytest.CaptureFixture) -> None:
    heard, reads, writes = [], *os.pipe()

    def hears(message: dict[str, Any]) -> None:
        heard.append(message)
        if "fails" in message:
            raise BrokenError("by the test")

    source = os.fdopen(reads, "rb", buffering=0)
    end = pipes.Pipes(source, SimpleNamespace(), 0, hears)
    bad = [b"[1]", b"\xff\xfe{", b"{" * 50_000, b"[" * 100_000, b'{"a":'] * 300
    stream = b"".join(len(body).to_bytes(4, "big") + body for body in bad)
    with os.fdopen(writes, "wb") as into:
        into.write(pack({"fails": 1}) + stream + pack({"last": 2}))
    for thread in threading.enumerate():
        if thread.name == "pipe" and thread is not threading.current_thread():
            thread.join(10)
    source.close()
    assert heard == [{"fails": 1}, {"last": 2}]
    assert end.broken
    assert "BrokenError: by the test" in capsys.readouterr().err


def test_a_fault_that_can_not_be_written_is_no_second_one(monkeypatch: pytest.MonkeyPatch) -> None:
    faults = Faults()
    with contextlib.suppress(OSError), Path("/dev/full").open("w") as full:  # closing it fails as well
        monkeypatch.setattr("sys.stderr", full)
        with faults.written():
            raise BrokenError
        monkeypatch.undo()
    assert faults.take() == []


def test_the_same_error_is_said_and_kept_once_a_second() -> None:
    now_s = 0.0
    faults = Faults(lambda: now_s)
    said = []
    for step in range(30):
        now_s = step / 10
        said.append(faults.add(BrokenError(str(step))))
    assert [at for at, say in enumerate(said) if say is not None] == [0, 10, 20]
    assert len(faults.take()) == 3


def test_frames_after_one_that_is_none_of_ours_are_read_on() -> None:
    frames = Frames()
    with pytest.raises(Exception, match="no object"):
        list(frames.feed(b"\x00\x00\x00\x01" + b"5" + pack({"a": 1})))
    assert list(frames.feed(b"")) == [{"a": 1}]
