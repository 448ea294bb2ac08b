"""A rig's ports on a system of ports in memory: pulled, plugged, answering, looping, and fed any bytes."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.live.fake import FakeSystem
from showrunner.live.player import Player
from showrunner.live.ports import PortError
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.state.moments import prepare
from showrunner.state.script import Script

ANSWERS = {"cc": 119, "channel": 16, "within_ms": 500}
RIG: dict[str, Any] = {
    "format": 1,
    "title": "Test rig",
    "ports": {
        "floor": {"input": "Floor*", "unmapped": "pass host"},
        "host": {"input": "Host*", "output": "Host*", "settle_ms": 20, "answers": ANSWERS},
    },
    "controls": {
        "swell": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11},
        "wide": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 21},
    },
    "targets": {name: {"port": "host", "channel": 1, "cc": 20 + i, "range": [0, 127]} for i, name in enumerate("ab")},
}
SONG: dict[str, Any] = {
    "format": 1,
    "title": "Low Lantern",
    "duration": "3:00",
    "program": {"port": "host", "channel": 1, "number": 5},
    "curves": {
        "verse": {
            "swell": {"travel": [0, 100], "entry": "jump", "moves": {"a": [0, 127]}},
            "wide": {"travel": [0, 100], "entry": "jump", "moves": {"b": [127, 0]}},
        }
    },
    "cues": [{"name": "Lead"}],
}


class Stage:
    """A player with its system and a clock that a test sets."""

    def __init__(self, system: FakeSystem | None = None, *, two_way: bool = False) -> None:
        swell = {**RIG["controls"]["swell"], "port": "host" if two_way else "floor"}
        rig = Rig.model_validate({**RIG, "controls": {**RIG["controls"], "swell": swell}})
        self.now_s = 0.0
        self.system = system or FakeSystem(("Floor 1", "Host"), ("Host",))
        song = prepare("a", Song.model_validate(SONG), rig)
        self.player = Player(Script(rig, {"a": song}, ("a",)), self.system, lambda: self.now_s)
        self.wait(0.1)

    def wait(self, for_s: float) -> None:
        until_s = self.now_s + for_s
        while self.now_s < until_s:
            self.now_s = min(until_s, self.now_s + 0.005)
            self.player.look()
            self.player.engine.beat()

    def sent(self) -> list[bytes]:
        sent = [message for _, message in self.system.sent]
        self.system.sent.clear()
        return sent


class Mute(FakeSystem):
    """A system that does not answer until it is said to."""

    answers = False

    def inputs(self) -> tuple[str, ...]:
        if not self.answers:
            raise PortError("the system's inputs", "no answer")
        return super().inputs()


@pytest.fixture
def stage() -> Stage:
    stage = Stage()
    stage.sent()
    return stage


def test_a_port_pulled_and_plugged_is_told_and_plays_again(stage: Stage) -> None:
    stage.system.pull("Floor 1")
    stage.wait(0.1)
    assert stage.player.picture().state.lost == {"floor"}
    stage.system.plug_input("Floor 1")
    stage.wait(0.1)
    assert not stage.player.picture().state.lost
    stage.system.play("Floor 1", b"\xb0\x0b\x40")
    assert stage.sent() == [b"\xb0\x14\x40"]


class OneSided(FakeSystem):
    """A device whose input and output come and go apart."""

    def pull_side(self, side: str, name: str) -> None:
        names = self._inputs if side == "input" else self._outputs
        names.remove(name)


@pytest.fixture
def two_way() -> Stage:
    """A board that is heard and sent to over one port: its pedal moves what it has itself."""
    stage = Stage(OneSided(("Floor 1", "Host"), ("Host",)), two_way=True)
    stage.system.play("Host", b"\xb0\x0b\x10")
    stage.sent()
    return stage


def test_a_lost_input_leaves_the_output_of_its_port_playing(two_way: Stage) -> None:
    two_way.system.pull_side("input", "Host")
    two_way.wait(0.1)
    state = two_way.player.picture().state
    assert (state.missing, state.owed, "swell" in state.travels) == ({("host", "input")}, frozenset(), False)
    two_way.system.play("Floor 1", b"\xb0\x15\x40")
    assert two_way.sent() == [b"\xb0\x15\x3f"]
    two_way.system.plug_input("Host")
    two_way.wait(0.1)
    assert not two_way.player.picture().state.missing
    assert two_way.sent() == []
    two_way.system.play("Host", b"\xb0\x0b\x20")
    assert two_way.sent() == [b"\xb0\x14\x20"]
    said = [notice.say for _, notice in two_way.player.picture().notices if notice.kind.startswith("port")]
    assert said == ["host input", "host input"]


def test_a_lost_output_leaves_the_input_of_its_port_heard(two_way: Stage) -> None:
    two_way.system.pull_side("output", "Host")
    two_way.wait(0.1)
    state = two_way.player.picture().state
    assert (state.missing, "swell" in state.travels) == ({("host", "output")}, True)
    two_way.system.play("Host", b"\xb0\x0b\x30")
    two_way.wait(0.02)
    assert two_way.player.picture().state.raws["swell"] == 0x30
    assert two_way.sent() == []
    two_way.system.plug_output("Host")
    two_way.wait(0.1)
    assert b"\xb0\x14\x30" in two_way.sent()


def test_an_output_that_refuses_a_message_takes_no_input_with_it(two_way: Stage) -> None:
    two_way.player.patch.drop("host", "output", two_way.now_s)
    assert two_way.player.patch.missing == {("host", "output")}
    two_way.system.play("Host", b"\xb0\x0b\x30")
    two_way.wait(0.05)
    assert two_way.player.picture().state.raws["swell"] == 0x30
    assert not two_way.player.patch.missing


def test_a_port_of_two_sides_that_goes_whole_is_said_once(two_way: Stage) -> None:
    two_way.system.pull("Host")
    two_way.wait(0.1)
    said = [notice.say for _, notice in two_way.player.picture().notices if notice.kind == "port lost"]
    assert said == ["host"]
    assert two_way.player.picture().state.missing == {("host", "input"), ("host", "output")}


def test_a_show_that_opens_without_its_host_says_no_program_was_sent() -> None:
    stage = Stage(FakeSystem(("Floor 1",), ()))
    said = [(notice.kind, notice.say) for _, notice in stage.player.picture().notices]
    assert ("port lost", "host") in said
    assert "program" not in [kind for kind, _ in said]
    assert stage.player.picture().state.owed == {"host"}


def test_a_system_that_does_not_answer_is_trouble_and_is_asked_again() -> None:
    system = Mute(("Floor 1", "Host"), ("Host",))
    stage = Stage(system)
    assert stage.player.picture().troubles == {"ports": "no answer"}
    assert stage.player.picture().state.lost == {"floor", "host"}
    system.answers = True
    stage.wait(0.1)
    assert not stage.player.picture().troubles
    assert not stage.player.picture().state.lost
    system.answers = False
    stage.wait(0.1)
    assert stage.player.picture().troubles == {"ports": "no answer"}


def test_a_port_under_another_number_is_found_by_its_pattern(stage: Stage) -> None:
    stage.system.pull("Floor 1")
    stage.wait(0.1)
    stage.system.plug_input("Floor 2")
    stage.wait(0.1)
    assert stage.player.patch.last["floor.input"] == "Floor 2"


def test_a_host_back_gets_targets_and_owes_its_program(stage: Stage) -> None:
    stage.system.play("Floor 1", b"\xb0\x0b\x40")
    stage.system.pull("Host")
    stage.wait(0.1)
    stage.sent()
    stage.system.plug_input("Host")
    stage.system.plug_output("Host")
    stage.wait(0.1)
    assert stage.sent() == [b"\xb0\x14\x40"]
    assert stage.player.picture().state.owed == {"host"}


def test_sent_becomes_answered_by_the_hosts_echo_and_only_by_it(stage: Stage) -> None:
    stage.player.ask("next")
    asked = next(message for message in stage.sent() if message[:2] == b"\xbf\x77")
    assert stage.player.picture().answers == {"host": "sent"}
    stage.system.play("Host", asked)
    assert stage.player.picture().answers == {"host": "answered"}


def test_a_host_that_does_not_echo_gives_no_answer(stage: Stage) -> None:
    stage.player.ask("next")
    stage.wait(0.6)
    assert stage.player.picture().answers == {"host": "no answer"}


def test_a_host_that_sends_everything_back_is_stopped_and_said(stage: Stage) -> None:
    stage.system.play("Floor 1", b"\x90\x40\x40")
    for _ in range(40):
        stage.wait(0.005)
        for message in stage.sent():
            stage.system.play("Floor 1", message)
    assert stage.player.picture().loops == ("floor",)
    assert stage.sent() == []
    assert any(notice.kind == "loop" for _, notice in stage.player.picture().notices)


def test_a_pedal_that_hears_its_own_target_turned_round_is_stopped(stage: Stage) -> None:
    stage.system.play("Floor 1", b"\xb0\x15\x05")
    for _ in range(60):
        stage.wait(0.005)
        for message in stage.sent():
            stage.system.play("Floor 1", message)
    assert stage.player.picture().loops == ("floor",)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(st.sampled_from(["Floor 1", "Host"]), st.binary(min_size=1, max_size=5)), max_size=30))
def test_any_bytes_on_any_input_send_only_what_was_asked_for_or_passed(playing: list[tuple[str, bytes]]) -> None:
    stage = Stage()
    for port, message in playing:
        stage.system.play(port, message)
        stage.wait(0.005)
    passed = {message for port, message in playing if port == "Floor 1"}
    for message in stage.sent():
        assert message in passed or message[:1] == b"\xc0" or message[:2] in (b"\xb0\x14", b"\xb0\x15", b"\xbf\x77")
    assert not stage.player.picture().state.lost
