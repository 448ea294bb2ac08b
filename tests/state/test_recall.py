"""What is sent on arriving, and in which order; entries; ports lost and found."""

from typing import Any

import pytest

from showrunner.state.events import PortFound, PortLost


def messages(sends: Any) -> list[bytes]:
    return [send.message for send in sends]


def test_bank_program_and_wait_come_before_the_values_of_a_song(player: Any) -> None:
    host = [(at_s, message) for at_s, port, message in player.sent if port == "host"]
    assert [message for _, message in host[1:4]] == [b"\xb0\x00\x01", b"\xb0\x20\x02", b"\xc0\x0c"]
    assert all(at_s == 0.3 for at_s, _ in host[4:])
    assert {message[:2] for _, message in host[4:]} == {
        b"\xb0\x07", b"\xb0\x14", b"\xb0\x15", b"\xb0\x16", b"\xb0\x0c", b"\xb0\x2c"
    }  # fmt: skip


def test_what_a_song_does_not_name_stands_at_the_rigs_rest(player: Any) -> None:
    assert player.state.known == {"mix": 6, "drive": 10, "width": 64, "pitch": 0, "output": 0}


def test_named_values_go_out_before_the_curves_of_pedals_that_are_heard(player: Any) -> None:
    player.move(1, "swell", 100)
    player.press("next")
    before = len(player.sent)
    player.press("back", for_s=0.8)
    player.wait(1)
    values = [message[1] for _, _, message in player.sent[before + 3 :]]
    assert values.index(21) > max(values.index(cc) for cc in (20, 22, 7))


def test_a_program_in_force_is_not_sent_again(make_script: Any, make_song: Any, make_player: Any) -> None:
    player = make_player(make_script({"one": make_song(cues=[]), "two": make_song()}))
    for _ in range(2):
        player.press("next")
    assert player.state.song == "two"
    assert sum(message[0] == 0xC0 for _, _, message in player.sent) == 1


def test_a_control_not_yet_heard_that_nothing_places_sends_nothing(player: Any) -> None:
    player.press("next")
    sends = player.press("next")
    assert messages(sends) == []
    assert messages(player.move(1, "swell", 0)) == [b"\xb0\x15\x7f", b"\xb0\x16\x00"]


def test_a_jump_gives_the_curves_value_at_once(player: Any) -> None:
    player.move(1, "swell", 100)
    player.press("next")
    assert messages(player.press("next")) == [b"\xb0\x15\x1b", b"\xb0\x16\x64"]


def lead(entry: str, **more: Any) -> dict[str, Any]:
    return {
        "verse": {"swell": {"travel": [0, 100], "moves": {"drive": [0, 127]}}},
        "lead": {"swell": {"travel": [0, 100], "entry": entry, "moves": {"drive": [127, 0]}, **more}},
    }


def at_theme(make_script: Any, make_song: Any, make_player: Any, curves: Any, raw: int) -> Any:
    player = make_player(make_script({"one": make_song(curves=curves)}))
    player.settle()
    player.move(1, "swell", raw)
    player.press("next")
    player.press("next")
    return player


def test_meet_keeps_the_value_in_force_until_the_curve_crosses_it(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    player = at_theme(make_script, make_song, make_player, lead("meet"), 100)
    assert player.state.known["drive"] == 100
    assert messages(player.move(1, "swell", 80)) == []
    assert messages(player.move(0.1, "swell", 40)) == []
    assert messages(player.move(0.1, "swell", 20)) == [b"\xb0\x15\x6b"]
    assert messages(player.move(0.1, "swell", 40)) == [b"\xb0\x15\x57"]


def test_meet_counts_as_met_within_three_percent_of_the_range(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    # Common practice, no source: 3 %.
    player = at_theme(make_script, make_song, make_player, lead("meet"), 100)
    assert messages(player.move(1, "swell", 32)) == []
    assert messages(player.move(0.1, "swell", 30)) == [b"\xb0\x15\x61"]


def test_meet_gives_up_at_the_toe_and_glides_in(make_script: Any, make_song: Any, make_player: Any) -> None:
    player = at_theme(make_script, make_song, make_player, lead("meet"), 100)
    assert messages(player.move(1, "swell", 127)) == []
    glide = messages(player.wait(0.3))
    assert glide[-1] == b"\xb0\x15\x00"
    assert [message[2] for message in glide] == sorted((message[2] for message in glide), reverse=True)
    assert len(glide) > 15


def test_meet_gives_up_after_two_seconds_of_movement(make_script: Any, make_song: Any, make_player: Any) -> None:
    # Common practice, no source: 2 s.
    player = at_theme(make_script, make_song, make_player, lead("meet"), 100)
    player.move(5, "swell", 101)
    for step in range(19):
        assert messages(player.move(0.1, "swell", 102 + step % 2)) == []
    player.move(0.11, "swell", 101)
    player.wait(0.3)
    assert player.state.known["drive"] == 26


def test_glide_takes_its_time_from_the_value_that_sounds(make_script: Any, make_song: Any, make_player: Any) -> None:
    player = at_theme(make_script, make_song, make_player, lead("glide", glide_ms=500), 127)
    start_s = player.at_s
    player.wait(1)
    drive = [(at_s - start_s, message[2]) for at_s, _, message in player.sent if message[1] == 21 and at_s >= start_s]
    assert drive[0][1] > 120
    assert drive[-1][1] == 0
    assert abs(drive[-1][0] - 0.5) < 0.02


def test_a_cues_targets_stand_until_the_control_moves(make_script: Any, make_song: Any, make_player: Any) -> None:
    cues = [{"name": "Theme", "targets": {"drive": 90}}, {"name": "Look", "say": "watch the drums"}]
    player = make_player(make_script({"one": make_song(cues=cues)}))
    player.settle()
    player.move(1, "swell", 20)
    player.press("next")
    assert messages(player.press("next")) == [b"\xb0\x15\x5a"]
    assert messages(player.press("next")) == []
    assert messages(player.move(1, "swell", 21)) == []
    assert messages(player.move(1, "swell", 24)) == [b"\xb0\x15\x18"]


def test_a_row_that_the_next_set_drops_goes_back_to_what_is_named_or_rests(player: Any) -> None:
    player.move(1, "swell", 127)
    for _ in range(2):
        player.press("next")
    assert player.state.known["width"] == 127
    player.press("back")
    assert player.state.known["width"] == 64


def test_strip_returns_to_where_its_release_says(make_script: Any, make_song: Any, make_player: Any) -> None:
    curves = {"verse": {"strip": {"travel": [0, 100], "moves": {"width": [0, 127 / 1.27]}}}}
    player = make_player(make_script({"one": make_song(curves=curves, cues=[], start={})}))
    player.settle()
    player.press("next")
    player.move(1, "strip", 127)
    start_s = player.at_s
    player.settle()
    width = [(at_s - start_s, message[2]) for at_s, _, message in player.sent if message[1] == 22 and at_s > start_s]
    assert width[0][0] >= 0.06
    assert width[-1][1] == 0
    assert abs(width[-1][0] - 0.3) < 0.02
    assert player.state.travels["strip"] == 0


def test_a_lost_port_gets_nothing_and_a_found_one_its_values_but_no_program(player: Any) -> None:
    player.press("next")
    player.do(PortLost(player.at_s + 1, "host"))
    assert player.move(1, "swell", 90) == []
    sends = player.do(PortFound(player.at_s + 1, "host"))
    assert not any(message[0] & 0xF0 == 0xC0 for message in messages(sends))
    assert {message[1] for message in messages(sends)} == {7, 20, 21, 22, 12, 44}
    assert messages(sends)[-1] == b"\xb0\x15\x5a"
    assert player.notices[-1][0] == "program owed"
    assert [m[0] for m in messages(player.press("back", for_s=0.8))][:3] == [0xB0, 0xB0, 0xC0]
    assert player.state.owed == frozenset()


def test_a_pedal_whose_port_was_lost_is_unknown_and_comes_in_anew(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    curves = {"verse": {"swell": {"travel": [0, 100], "entry": "meet", "moves": {"drive": [0, 127]}}}}
    player = make_player(make_script({"one": make_song(curves=curves, cues=[])}))
    player.settle()
    player.press("next")
    for raw in (8, 12, 60):
        player.move(0.1, "swell", raw)
    player.do(PortLost(player.at_s + 1, "floor"))
    player.do(PortFound(player.at_s + 1, "floor"))
    assert player.state.known["drive"] == 60
    assert messages(player.move(0.1, "swell", 120)) == []
    assert messages(player.move(0.1, "swell", 50)) == [b"\xb0\x15\x32"]


def test_beside_recalls_and_shows_but_sends_no_curve(
    make_rig: Any, make_script: Any, make_song: Any, make_player: Any
) -> None:
    player = make_player(make_script({"one": make_song()}, rig=make_rig(routing="beside")))
    player.settle()
    assert b"\xc0\x0c" in [message for _, _, message in player.sent]
    player.press("next")
    assert player.move(1, "swell", 90) == []
    assert player.state.travels["swell"] > 70
    player.press("next")
    assert messages(player.press("next")) == [b"\xb0\x14\x33"]


def test_fourteen_bits_arrive_msb_first_and_the_lsb_may_follow_alone(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    # MIDI 1.0 Detailed Specification v4.2.1, p. 12.
    curves = {"verse": {"fine": {"travel": [0, 100], "moves": {"pitch": [0, 100]}}}}
    player = make_player(make_script({"one": make_song(curves=curves, cues=[])}))
    player.settle()
    player.press("next")
    assert player.hear(1, "floor", 0xB0, 4, 64) == []
    assert messages(player.hear(0.001, "floor", 0xB0, 36, 5)) == [b"\xb0\x0c\x40", b"\xb0\x2c\x05"]
    assert messages(player.hear(0.1, "floor", 0xB0, 36, 6)) == [b"\xb0\x0c\x40", b"\xb0\x2c\x06"]
    assert player.hear(0.1, "floor", 0xB0, 4, 65) == []
    assert messages(player.wait(0.01)) == [b"\xb0\x0c\x41", b"\xb0\x2c\x00"]


def test_what_no_control_owns_is_passed_or_dropped_as_the_rig_says(player: Any) -> None:
    assert messages(player.hear(1, "floor", 0x90, 60, 100)) == [b"\x90\x3c\x64"]
    assert player.hear(1, "guitar", 0x90, 60, 100) == []
    assert player.hear(1, "nowhere", 0x90, 60, 100) == []


def test_a_port_that_needs_no_settling_gets_its_values_at_once(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    program = {"port": "light", "channel": 1, "number": 9}
    player = make_player(make_script({"one": make_song(program=program, start={"targets": {"lamp": 100}})}))
    assert [(at_s, message) for at_s, port, message in player.sent if port == "light"] == [
        (0.0, b"\xc0\x09"),
        (0.0, b"\xb0\x17\x7f"),
    ]


def programs_of(
    make_song: Any, make_script: Any, make_player: Any, *programs: dict[str, int] | None
) -> list[list[bytes]]:
    """The banks and programs that go out as each song of a show comes up, by their programs."""
    songs = {
        f"song {n}": make_song(cues=[], program=program and {"port": "host", "channel": 1, **program})
        for n, program in enumerate(programs)
    }
    player, found = make_player(make_script(songs)), []
    for _ in songs:
        player.settle()
        sent = [m for _, _, m in player.sent if m[0] == 0xC0 or (m[0] == 0xB0 and m[1] in (0, 32))]
        found.append(sent[sum(map(len, found)) :])
        player.ask("next")
        player.ask("next")
    return found


MSB, LSB = b"\xb0\x00", b"\xb0\x20"


def test_a_bank_that_holds_is_not_sent_again_nor_a_program_that_is_in_force(
    make_song: Any, make_script: Any, make_player: Any
) -> None:
    """MIDI 1.0 Detailed Specification v4.2.1, pp. 13-14: a bank select holds until the next one."""
    one = {"bank_msb": 1, "bank_lsb": 2}
    sent = programs_of(
        make_song,
        make_script,
        make_player,
        {**one, "number": 5},
        {**one, "number": 6},
        {"number": 7},
        {**one, "number": 7},
        None,
        {"bank_msb": 1, "bank_lsb": 3, "number": 7},
        {"bank_msb": 1, "number": 7},
        {**one, "number": 7},
    )
    assert sent == [
        [MSB + b"\x01", LSB + b"\x02", b"\xc0\x05"],
        [b"\xc0\x06"],
        [b"\xc0\x07"],
        [],
        [],
        [MSB + b"\x01", LSB + b"\x03", b"\xc0\x07"],
        [],
        [MSB + b"\x01", LSB + b"\x02", b"\xc0\x07"],
    ]


def test_a_program_that_the_floor_passed_on_is_no_longer_known_to_be_in_force(
    make_song: Any, make_script: Any, make_player: Any
) -> None:
    player = make_player(make_script({"one": make_song(cues=[]), "two": make_song(cues=[])}))
    player.settle()
    assert messages(player.hear(1, "floor", 0xC0, 99)) == [b"\xc0\x63"]
    player.ask("next")
    player.ask("next")
    player.settle()
    assert [m for _, _, m in player.sent if m[0] == 0xC0] == [b"\xc0\x0c", b"\xc0\x63", b"\xc0\x0c"]


def unheard(make_script: Any, make_song: Any, make_player: Any, entry: str = "jump", **of: Any) -> Any:
    """At a song whose pedal moves `drive` from 40 at the heel to 100 at the toe, and was never heard."""
    curve = {"travel": [0, 100], "entry": entry, "moves": {"drive": [40, 100]}}
    song = make_song(**{"curves": {"verse": {"swell": curve}}, "cues": [], **of})
    player = make_player(make_script({"one": song}))
    player.settle()
    return player


def test_a_song_starts_with_what_a_control_gives_where_the_song_wants_it_although_it_was_never_heard(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    at_heel = unheard(make_script, make_song, make_player, start={"controls": {"swell": 0}})
    assert at_heel.state.known["drive"] == 40
    half_way = unheard(make_script, make_song, make_player, start={"controls": {"swell": 50}})
    assert half_way.state.known["drive"] == 70


def test_where_the_song_says_nothing_an_unheard_control_counts_as_at_its_rest_and_else_nothing_changes(
    make_script: Any, make_song: Any, make_player: Any, make_rig: Any
) -> None:
    assert unheard(make_script, make_song, make_player, start={}).state.known["drive"] == 10
    controls = make_rig().model_dump()["controls"]
    rig = make_rig(controls={**controls, "swell": {**controls["swell"], "rest": 100}})
    curve = {"travel": [0, 100], "moves": {"drive": [40, 100]}}
    song = make_song(curves={"verse": {"swell": curve}}, cues=[], start={})
    player = make_player(make_script({"one": song}, rig=rig))
    player.settle()
    assert player.state.known["drive"] == 100


def test_what_a_song_names_for_a_target_itself_stands_over_an_unheard_control(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    start = {"controls": {"swell": 0}, "targets": {"drive": 90}}
    assert unheard(make_script, make_song, make_player, start=start).state.known["drive"] == 90


@pytest.mark.parametrize(("entry", "sent"), [("jump", [b"\xb0\x15\x5e"]), ("meet", []), ("glide", [b"\xb0\x15\x5e"])])
def test_once_it_is_heard_the_curves_entry_rules_from_the_assumed_value(
    entry: str, sent: list[bytes], make_script: Any, make_song: Any, make_player: Any
) -> None:
    player = unheard(make_script, make_song, make_player, entry, start={"controls": {"swell": 0}})
    player.ask("next")
    first = player.move(1, "swell", 114)
    if entry == "glide":
        assert first == []
        glide = [message[2] for message in messages(player.wait(0.3))]
        assert glide == sorted(glide)
        assert glide[0] < 50
        assert glide[-1] == 0x5E
    else:
        assert messages(first) == sent
    assert messages(player.move(1, "swell", 0)) == ([b"\xb0\x15\x28"] if entry != "meet" else [])


def test_a_cue_places_an_unheard_control_too_by_next_and_by_recall_until_it_is_heard(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    cues = [{"name": "Up", "controls": {"swell": 100}}, {"name": "Down", "controls": {"swell": 0}}]
    player = unheard(make_script, make_song, make_player, start={"controls": {"swell": 50}}, cues=cues)
    player.ask("next")
    assert messages(player.ask("next")) == [b"\xb0\x15\x64"]
    assert messages(player.ask("next")) == [b"\xb0\x15\x28"]
    assert messages(player.ask("back")) == [b"\xb0\x15\x64"]
    player.move(1, "swell", 0)
    assert messages(player.ask("next")) == []
    assert messages(player.ask("back")) == []
