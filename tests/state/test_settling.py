"""A step taken back costs no program, and nothing sounds before what was sent has settled, on whichever port."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.live.freeze import from_json, to_json
from showrunner.live.player import resumed
from showrunner.model.show import Then
from showrunner.state.events import Asked, Jump, Moved, PortFound, PortLost
from showrunner.state.moments import prepare
from showrunner.state.script import Script
from showrunner.state.steps import DEBOUNCE_S, SONG_GUARD_S
from showrunner.state.values import State

DOWN, UP = b"\xb0\x07\x00", b"\xb0\x07\x71"


def at_the_end_of_one(player: Any) -> int:
    """Past the last cue but one press; how many messages went out until then."""
    while player.state.moment < 3:
        player.press("next")
    player.settle()
    return len(player.sent)


def test_back_is_accepted_right_after_a_stray_next_and_costs_no_program(player: Any) -> None:
    before = at_the_end_of_one(player)
    known = dict(player.state.known)
    player.press("next")
    assert [message for _, _, message in player.sent[before:]] == [DOWN]
    player.press("back", after_s=0.05, for_s=0.05)
    assert (player.state.song, player.state.moment, player.state.phase) == ("lantern", 3, "song")
    player.settle()
    assert [message for _, _, message in player.sent[before:]] == [DOWN, UP]
    assert player.state.known == known
    assert "too soon" not in [notice[0] for notice in player.notices]


def test_back_after_the_guard_unmutes_only_once_the_program_has_settled(player: Any) -> None:
    before = at_the_end_of_one(player)
    player.press("next")
    player.press("back", after_s=2.0)
    back_s = player.at_s
    player.settle()
    host = [(at_s - back_s, message) for at_s, _, message in player.sent[before:] if at_s >= back_s]
    assert host[0] == (pytest.approx(0.0), b"\xc0\x0c")
    assert all(at_s == pytest.approx(0.3) for at_s, _ in host[1:])
    assert UP in [message for _, message in host]


def test_the_mute_is_at_once_and_the_program_comes_as_the_guard_ends(player: Any) -> None:
    before = at_the_end_of_one(player)
    player.press("next")
    opened_s = player.at_s
    player.settle()
    sent = [(round(at_s - opened_s, 6), message) for at_s, _, message in player.sent[before:]]
    assert sent[0] == (0.0, DOWN)
    assert sent[1] == (SONG_GUARD_S, b"\xc0\x03")
    assert all(at_s >= SONG_GUARD_S + 0.3 for at_s, _ in sent[2:])


def test_a_song_begun_by_key_before_its_program_went_out_gets_it_first(player: Any) -> None:
    before = at_the_end_of_one(player)
    player.ask("next")
    player.ask("next", after_s=0.1)
    begun_s = player.at_s
    assert (player.state.song, player.state.phase) == ("plain", "song")
    player.settle()
    sent = [(round(at_s - begun_s, 6), message) for at_s, _, message in player.sent[before + 1 :]]
    assert sent[0] == (0.0, b"\xc0\x03")
    assert all(at_s >= 0.3 for at_s, _ in sent[1:])
    assert UP in [message for _, message in sent]


def test_a_mute_lifted_by_hand_waits_for_the_program(player: Any) -> None:
    before = at_the_end_of_one(player)
    player.ask("next")
    opened_s = player.at_s
    player.ask("mute", after_s=0.5)
    player.settle()
    sounds_s = next(at_s for at_s, _, message in player.sent[before:] if message == UP)
    assert sounds_s == pytest.approx(opened_s + SONG_GUARD_S + 0.3)


@pytest.mark.parametrize("by", ["key", "foot"])
def test_a_mute_while_its_own_port_settles_is_at_once_and_again_after_the_settle(player: Any, by: str) -> None:
    at_the_end_of_one(player)
    player.ask("next")
    player.ask("next", after_s=0.5)
    begun_s, before = player.at_s, len(player.sent)
    assert "host" in player.state.settling
    if by == "key":
        player.ask("mute", after_s=0.1)
    else:
        player.move(0.1, "tune", 127)
    assert [(round(at_s - begun_s, 6), message) for at_s, _, message in player.sent[before:]] == [(0.1, DOWN)]
    player.settle()
    output = [(round(at_s - begun_s, 6), each) for at_s, _, each in player.sent[before:] if each[:2] == DOWN[:2]]
    assert output == [(0.1, DOWN), (0.3, DOWN)]
    player.ask("mute")
    assert player.sent[-1][2] == UP


def test_a_mute_lifted_again_while_its_port_settles_sounds_once_that_is_over(player: Any) -> None:
    at_the_end_of_one(player)
    player.ask("next")
    player.ask("next", after_s=0.5)
    begun_s, before = player.at_s, len(player.sent)
    player.ask("mute", after_s=0.1)
    player.ask("mute", after_s=0.1)
    player.settle()
    output = [(round(at_s - begun_s, 6), each) for at_s, _, each in player.sent[before:] if each[:2] == DOWN[:2]]
    assert output == [(0.1, DOWN), (0.3, UP)]


def test_an_engine_that_ended_meanwhile_sends_the_program_that_was_still_to_come(player: Any) -> None:
    before = at_the_end_of_one(player)
    player.ask("next")
    again(player, 0.2)
    player.settle()
    messages = [message for _, _, message in player.sent[before:]]
    assert messages[:2] == [DOWN, b"\xc0\x03"]
    assert UP not in messages
    player.ask("next")
    assert player.sent[-1][2] == UP


def test_pedals_moved_while_the_song_is_still_to_be_brought_send_nothing_and_count(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    second = make_song(program={"port": "host", "channel": 1, "number": 3}, cues=[])
    player = make_player(make_script({"one": make_song(cues=[]), "two": second}))
    player.settle()
    player.ask("next")
    player.ask("next")
    assert player.move(0.2, "swell", 100) == []
    player.settle()
    assert player.state.known["drive"] == 100


@pytest.mark.parametrize("sends", ["momentary", "latching"])
def test_a_back_switch_that_bounces_goes_back_once(
    sends: str, make_rig: Any, make_song: Any, make_script: Any, make_player: Any
) -> None:
    """Common practice, no source: contacts bounce for up to 30 ms."""
    controls = make_rig().model_dump()["controls"]
    controls["back"] = {**controls["back"], "sends": sends}
    player = make_player(make_script({"one": make_song()}, rig=make_rig(controls=controls)))
    for _ in range(4):
        player.ask("next")
    assert player.state.moment == 3
    player.do(Jump(player.at_s + 1, "one", 2))
    for raw in (127, 0, 127, 0, 127):
        player.move(0.005, "back", raw)
    player.move(0.1, "back", 0) if sends == "momentary" else player.wait(0.1)
    player.settle()
    assert player.state.moment == 1
    if sends == "latching":
        player.move(2 * DEBOUNCE_S, "back", 0)
        assert player.state.moment == 0


def again(player: Any, after_s: float) -> None:
    """The engine ends and another goes on from what was kept."""
    player.at_s += after_s
    kept = json.loads(json.dumps(to_json(player.state)))
    player.state = resumed(from_json(State, kept), player.script.rig, player.at_s)


happenings = st.lists(
    st.tuples(
        st.sampled_from([0.01, 0.2, 0.5, 1.2]),
        st.one_of(
            st.sampled_from(["next", "next", "back", "choose", "take", "mute", "program", "again"]),
            st.tuples(st.just("foot"), st.sampled_from(["next", "back", "tune"])),
            st.tuples(st.sampled_from(["lose", "find"]), st.sampled_from(["host", "light", "floor"])),
            st.tuples(st.just("jump"), st.sampled_from(["a", "b", "c"])),
            st.tuples(st.just("pedal"), st.integers(0, 127)),
        ),
    ),
    max_size=30,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    playing=happenings,
    mutes_on=st.sampled_from(["host", "light"]),
    settles=st.fixed_dictionaries({"host": st.sampled_from([0, 300, 900]), "light": st.sampled_from([0, 500])}),
    ports=st.lists(st.sampled_from(["host", "light", None]), min_size=3, max_size=3),
    segue=st.booleans(),
)
def test_nothing_is_unmuted_before_every_program_has_settled(
    playing: Any, mutes_on: str, settles: Any, ports: Any, segue: bool, make_rig: Any, make_player: Any, make_song: Any
) -> None:
    plain = make_rig().model_dump()
    targets = {**plain["targets"], "output": {**plain["targets"]["output"], "port": mutes_on}}
    with_settling = {name: {**port, "settle_ms": settles.get(name, 0)} for name, port in plain["ports"].items()}
    rig = make_rig(targets=targets, ports=with_settling)
    then = {"a": Then("segue", 0)} if segue else {}
    made = {
        slug: make_song(
            cues=[{"name": "One"}], program=None if port is None else {"port": port, "channel": 2, "number": n}
        )
        for n, (slug, port) in enumerate(zip("abc", ports, strict=True))
    }
    player = make_player(
        Script(rig, {slug: prepare(slug, song, rig) for slug, song in made.items()}, ("a", "b"), ("c",), then)
    )
    lost: list[tuple[float, str]] = []
    for after_s, what in playing:
        at_s = player.at_s + after_s
        if what == "again":
            again(player, after_s)
        elif isinstance(what, str):
            player.do(Asked(at_s, what))
        elif what[0] == "foot":
            player.do(Moved(at_s, what[1], 127))
            player.do(Moved(at_s + 0.1, what[1], 0))
        elif what[0] == "lose":
            player.do(PortLost(at_s, what[1]))
            lost.append((at_s, what[1]))
        elif what[0] == "find":
            player.do(PortFound(at_s, what[1]))
        elif what[0] == "jump":
            if what[1] in player.state.order:
                player.do(Jump(at_s, what[1], 0))
        else:
            player.do(Moved(at_s, "swell", what[1]))
    player.settle()
    settled: dict[str, float] = {}
    down = False
    for at_s, port, message in player.sent:
        for lost_s, name in lost:
            if lost_s <= at_s:
                settled.pop(name, None) if settled.get(name, 0.0) - settles.get(name, 0) / 1000 < lost_s else None
        if message[0] & 0xF0 == 0xC0:
            settled[port] = at_s + settles[port] / 1000
        elif (port, message[:2]) == (mutes_on, b"\xb0\x07"):
            lifted, down = down and message[2] > 0, message[2] == 0
            assert not lifted or all(at_s >= until_s - 1e-9 for until_s in settled.values())
    assert player.state.known.get("output", 113) == (0 if player.state.muted else 113) or mutes_on in player.state.lost
