"""Moving through a show by foot."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.model.show import Then
from showrunner.state.events import Jump
from showrunner.state.steps import SONG_GUARD_S


def kinds(player: Any) -> list[str]:
    return [notice[0] for notice in player.notices]


def test_a_show_opens_muted_in_the_changeover_to_its_first_song(player: Any) -> None:
    assert (player.state.phase, player.state.muted, player.state.song) == ("changeover", True, "lantern")
    assert (player.state.sound, player.notices[0][0]) == ("muted", "muted")
    assert player.sent[0] == (0.0, "host", b"\xb0\x07\x00")


def test_next_lifts_the_mute_and_the_song_begins(player: Any) -> None:
    sends = player.press("next")
    assert [send.message for send in sends] == [b"\xb0\x07\x71"]
    assert player.state.phase == "song"
    assert player.state.clock.elapsed_s(player.at_s + 3) == pytest.approx(3)


def test_a_step_acts_on_release_where_the_switch_can_be_held(player: Any) -> None:
    player.move(2, "next", 127)
    assert player.state.phase == "changeover"
    player.move(0.1, "next", 0)
    assert player.state.phase == "song"


def test_a_latching_switch_steps_on_every_change(
    make_rig: Callable[..., Any], make_song: Callable[..., Any], make_script: Callable[..., Any], make_player: Any
) -> None:
    controls = {**make_rig().model_dump()["controls"]}
    controls["next"] = {"kind": "switch", "port": "floor", "channel": 1, "cc": 80, "sends": "latching"}
    player = make_player(make_script({"lantern": make_song()}, rig=make_rig(controls=controls)))
    player.move(2, "next", 127)
    assert player.state.phase == "song"
    player.move(2, "next", 0)
    assert player.state.moment == 1
    player.move(2, "next", 127)
    assert player.state.moment == 2


def test_a_second_press_inside_the_guard_is_too_soon_and_does_nothing(player: Any) -> None:
    player.press("next")
    player.press("next", after_s=1.5)
    assert player.state.moment == 1
    player.press("next", after_s=0.15)
    assert player.state.moment == 1
    assert kinds(player)[-1] == "too soon"


def test_a_song_change_ignores_presses_for_a_second(player: Any) -> None:
    # Common practice, no source: 1 s.
    player.press("next")
    player.press("next", after_s=0.7)
    assert (player.state.moment, kinds(player)[-1]) == (0, "too soon")
    player.press("next", after_s=1.0)
    assert player.state.moment == 1


def test_contact_bounce_of_30_ms_makes_one_step(player: Any) -> None:
    # Common practice, no source: contacts bounce for up to 30 ms.
    player.press("next")
    for raw in (127, 0, 127, 0, 127, 0):
        player.move(2 if raw == 127 and player.at_s < 3 else 0.005, "next", raw)
    player.wait(0.05)
    assert player.state.moment == 1
    player.settle()
    assert (player.state.moment, kinds(player)[-1]) == (1, "cue")


@pytest.mark.parametrize("apart_s", [0.001, 0.01, 0.029])
def test_a_contact_that_bounces_as_a_hold_begins_keeps_the_hold_and_makes_no_step(player: Any, apart_s: float) -> None:
    # Common practice, no source: contacts bounce for up to 30 ms.
    player.press("next")
    player.move(2, "next", 127)
    player.move(apart_s, "next", 0)
    player.move(apart_s, "next", 127)
    player.wait(0.8)
    player.move(0.1, "next", 0)
    player.wait(0.1)
    assert (player.state.moment, player.state.choice is not None) == (0, True)


def test_a_contact_that_opens_for_a_moment_in_a_hold_goes_on_being_held(player: Any) -> None:
    # Common practice, no source: contacts bounce for up to 30 ms.
    player.press("next")
    for after_s, raw in ((2, 127), (0.8, 127), (0.1, 0), (0.01, 127), (0.01, 0)):
        player.move(after_s, "next", raw)
    player.settle()
    assert kinds(player).count("choosing") == 1
    assert player.state.moment == 0


def test_a_release_steps_at_once_and_one_too_soon_to_be_a_foot_waits_for_the_contact(player: Any) -> None:
    player.press("next")
    player.move(2, "next", 127)
    player.move(0.06, "next", 0)
    assert player.state.moment == 1
    player.move(2, "next", 127)
    player.move(0.01, "next", 0)
    assert player.state.moment == 1
    player.wait(0.031)
    assert player.state.moment == 2


def test_contact_bounce_at_the_end_of_a_slow_press_makes_one_step(player: Any) -> None:
    # Common practice, no source: contacts bounce for up to 30 ms.
    player.press("next")
    player.move(2, "next", 127)
    for raw in (0, 127, 0, 127, 0):
        player.move(0.4 if player.at_s < 4.2 else 0.005, "next", raw)
    player.settle()
    assert (player.state.moment, kinds(player)[-1]) == (1, "cue")


def test_after_the_last_cue_next_opens_the_changeover_with_silence_before_the_program(player: Any) -> None:
    for _ in range(4):
        player.press("next")
    assert player.state.moment == 3
    before = len(player.sent)
    player.press("next")
    assert (player.state.phase, player.state.song) == ("changeover", "plain")
    assert [message for _, _, message in player.sent[before:]] == [b"\xb0\x07\x00"]
    opened_s = player.at_s
    player.wait(1.0)
    assert player.sent[before + 1][1:] == ("host", b"\xc0\x03")
    assert player.sent[before + 1][0] == pytest.approx(opened_s + SONG_GUARD_S)


def test_a_segue_goes_straight_through(make_script: Any, make_song: Any, make_player: Any) -> None:
    script = make_script({"one": make_song(cues=[]), "two": make_song()}, then={"one": Then("segue", 0)})
    player = make_player(script)
    player.press("next")
    player.press("next")
    assert (player.state.song, player.state.phase, player.state.muted) == ("two", "song", False)
    assert "program" not in kinds(player)[1 + kinds(player).index("program") :]


def test_a_song_that_only_came_to_follow_tonight_is_not_segued_into(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    songs = {slug: make_song(cues=[], program=None) for slug in ("one", "two", "three", "four")}
    player = make_player(make_script(songs, then={"two": Then("segue", 0)}))
    player.press("next")
    for step in ("choose", "next", "take", "next", "next", "next", "next"):
        player.ask(step)
    assert player.state.order == ("one", "three", "two", "four")
    assert (player.state.song, player.state.phase, player.state.muted) == ("four", "changeover", True)


def test_back_undoes_one_step(player: Any) -> None:
    for _ in range(3):
        player.press("next")
    player.press("back")
    assert player.state.moment == 1
    player.press("back")
    assert player.state.moment == 0
    player.press("back")
    assert (player.state.phase, player.state.muted) == ("changeover", True)


def test_back_from_a_changeover_returns_to_the_last_cue_of_the_song_before(player: Any) -> None:
    for _ in range(5):
        player.press("next")
    player.press("back")
    assert (player.state.song, player.state.moment, player.state.phase, player.state.muted) == (
        "lantern",
        3,
        "song",
        False,
    )


def test_back_where_the_show_starts_says_so(player: Any) -> None:
    player.press("back")
    assert player.notices[-1][0] == "nothing"
    assert player.state.phase == "changeover"


def test_back_on_an_open_cue_goes_where_the_cue_says(player: Any) -> None:
    for _ in range(4):
        player.press("next")
    assert player.state.moment == 3
    player.press("back")
    assert player.state.moment == 1


def test_the_songs_clock_waits_in_an_open_cue(player: Any) -> None:
    for _ in range(4):
        player.press("next")
    at_solo = player.state.clock.elapsed_s(player.at_s)
    player.wait(60)
    assert player.state.clock.elapsed_s(player.at_s) == at_solo


def test_holding_next_chooses_and_sends_nothing_until_a_song_is_taken(player: Any) -> None:
    player.press("next")
    before = len(player.sent)
    player.press("next", for_s=0.8)
    assert player.state.choice.songs == ("plain", "reserve song")
    player.press("next", after_s=1)
    player.press("back", after_s=1)
    player.press("back", after_s=1)
    assert player.state.choice.songs[player.state.choice.shown] == "reserve song"
    assert len(player.sent) == before
    player.press("next", after_s=1, for_s=0.8)
    assert player.state.order == ("lantern", "reserve song", "plain")
    assert (player.state.song, player.state.phase) == ("reserve song", "changeover")
    player.wait(1.0)
    assert b"\xc0\x03" in [message for _, _, message in player.sent[before:]]


def test_a_choice_left_untouched_for_eight_seconds_is_cancelled(player: Any) -> None:
    player.press("next")
    player.press("next", for_s=0.8)
    player.wait(9)
    assert player.state.choice is None
    assert kinds(player)[-1] == "cancelled"
    assert player.state.song == "lantern"


def test_taking_a_song_in_a_changeover_leaves_the_one_that_was_up_for_after_it(player: Any) -> None:
    for _ in range(5):
        player.press("next")
    player.press("next", for_s=0.8)
    player.press("next", for_s=0.8)
    assert player.state.order == ("lantern", "reserve song", "plain")
    assert player.state.song == "reserve song"


def test_a_jump_while_another_song_is_chosen_cancels_the_choice_and_plays_no_song_twice(player: Any) -> None:
    player.ask("choose")
    assert player.state.choice.songs == ("plain", "reserve song")
    player.do(Jump(player.at_s + 1, "plain", 0))
    assert (player.state.song, player.state.choice) == ("plain", None)
    assert "cancelled" in kinds(player)
    player.ask("take")
    assert player.state.order == ("lantern", "plain")


def test_holding_back_asks_for_the_program_again(player: Any) -> None:
    player.press("next")
    before = len(player.sent)
    player.press("back", for_s=0.8)
    assert [m for _, _, m in player.sent[before : before + 3]] == [b"\xb0\x00\x01", b"\xb0\x20\x02", b"\xc0\x0c"]
    assert player.state.phase == "song"


def test_the_mute_switch_mutes_and_unmutes_at_any_time(player: Any) -> None:
    player.press("next")
    assert [send.message for send in player.press("tune")] == [b"\xb0\x07\x00"]
    assert [send.message for send in player.press("tune")] == [b"\xb0\x07\x71"]


def test_contact_bounce_of_30_ms_mutes_once(player: Any) -> None:
    # Common practice, no source: contacts bounce for up to 30 ms.
    player.press("next")
    for raw in (127, 0, 127, 0, 127, 0):
        player.move(2 if player.at_s < 3 else 0.005, "tune", raw)
    assert player.state.muted
    assert kinds(player)[-1] == "too soon"
    player.press("tune", after_s=0.3)
    assert not player.state.muted


def test_a_song_taken_by_a_hold_ignores_presses_for_a_second_too(player: Any) -> None:
    # Common practice, no source: 1 s.
    player.press("next")
    player.press("next", for_s=0.8)
    player.press("next", for_s=0.8)
    player.press("next", after_s=0.6)
    assert (player.state.phase, kinds(player)[-1]) == ("changeover", "too soon")


def test_the_show_ends_muted_after_its_last_song_and_back_returns_to_it(player: Any) -> None:
    for _ in range(7):
        player.press("next")
    assert (player.state.phase, player.state.muted) == ("over", True)
    player.press("next")
    assert player.notices[-1][0] == "nothing"
    player.press("back")
    assert (player.state.phase, player.state.song, player.state.muted) == ("song", "plain", False)


def test_a_song_whose_first_cue_is_at_the_start_begins_there(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    player = make_player(make_script({"one": make_song(cues=[{"name": "In", "at": "0:00", "targets": {"mix": 77}}])}))
    player.settle()
    assert player.state.moment == 1
    assert player.state.known["mix"] == 98


def test_a_show_without_songs_says_so_and_stays(make_script: Any, make_player: Any) -> None:
    player = make_player(make_script({}))
    player.press("next")
    assert player.notices[-1][0] == "nothing"
    assert player.move(1, "swell", 64) == []


def test_taking_another_song_in_a_changeover_by_foot_leaves_the_one_that_was_up(
    make_script: Any, make_song: Any, make_player: Any
) -> None:
    """The song that was up stands at a cue that the one that is taken doesn't have."""
    cues = [{"name": "In", "at": "0:00"}]
    songs = {"one": make_song(cues=[]), "two": make_song(cues=cues), "three": make_song(cues=[], curves={})}
    player = make_player(make_script(songs))
    player.press("next")
    player.press("next")
    assert (player.state.song, player.state.moment) == ("two", 1)
    player.press("tune")
    player.press("next", for_s=0.8)
    player.press("next", for_s=0.8)
    assert (player.state.order, player.state.song, player.state.moment) == (("one", "three", "two"), "three", 0)
    assert player.state.muted


PHASES = {
    "changeover": [],
    "song": ["next"],
    "choosing": ["next", "choose"],
    "choosing in a changeover": ["choose"],
    "over": ["next"] * 6,
}


@pytest.mark.parametrize("by", ["key", "foot"])
@pytest.mark.parametrize("phase", PHASES)
def test_mute_and_unmute_in_every_phase_by_key_and_by_foot(phase: str, by: str, player: Any) -> None:
    for step in PHASES[phase]:
        player.ask(step)
    player.wait(2)
    was = player.state
    for muted in (not was.muted, was.muted):
        sends = player.press("tune", after_s=1) if by == "foot" else player.ask("mute", after_s=1)
        assert [send.message for send in sends] == [b"\xb0\x07\x00" if muted else b"\xb0\x07\x71"]
        assert player.state.muted == muted
    after = player.state
    assert (after.phase, after.song, after.moment, after.choice) == (was.phase, was.song, was.moment, was.choice)


def test_a_key_sounds_again_what_a_foot_has_muted_in_a_song(player: Any) -> None:
    player.press("next")
    player.press("tune")
    assert [send.message for send in player.ask("mute")] == [b"\xb0\x07\x71"]


@pytest.mark.parametrize("by", ["key", "foot"])
def test_a_show_without_songs_can_be_muted_and_sounds_again_as_the_rig_rests(
    by: str, make_script: Any, make_player: Any
) -> None:
    player = make_player(make_script({}))
    sent = []
    for _ in range(2):
        sends = player.press("tune") if by == "foot" else player.ask("mute")
        sent += [send.message for send in sends]
    assert sent == [b"\xb0\x07\x00", b"\xb0\x07\x71"]
