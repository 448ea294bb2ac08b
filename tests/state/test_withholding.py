"""A control withheld for a moment: nothing of it goes out, and then the receiver catches up with it."""

from typing import Any

import pytest

from showrunner.state.events import Jump, PortLost, Withhold
from showrunner.state.lanes import lanes
from showrunner.state.withholding import WAITS_FOR_S, WITHHELD_S


@pytest.fixture
def playing(player: Any) -> Any:
    """In the first song, the pedal heard."""
    player.press("next")
    player.move(1, "swell", 10)
    player.settle()
    player.do(Withhold(player.at_s + 1, "swell"))
    return player


def test_nothing_goes_out_while_it_moves_and_then_the_last_value_alone(playing: Any) -> None:
    sent = [send for raw in range(20, 60) for send in playing.move(0.04, "swell", raw)]
    assert sent == []
    assert playing.state.travels["swell"] == pytest.approx(59 / 1.27)
    caught_up = playing.wait(WITHHELD_S)
    assert [send.message for send in caught_up] == [bytes((0xB0, 21, 59))]
    assert playing.state.withheld == {}
    assert [send.message for send in playing.move(0.1, "swell", 60)] == [bytes((0xB0, 21, 60))]


def test_two_seconds_count_from_the_first_movement(playing: Any) -> None:
    playing.wait(5)
    playing.move(1, "swell", 40)
    assert playing.wait(WITHHELD_S - 0.1) == []
    assert playing.wait(0.2) != []


def test_a_control_that_is_not_moved_is_passed_on_again_by_itself(playing: Any) -> None:
    playing.wait(WAITS_FOR_S + 0.1)
    assert playing.state.withheld == {}
    assert playing.move(0.1, "swell", 50) != []


def test_other_controls_and_cues_go_out_meanwhile(playing: Any) -> None:
    playing.move(0.1, "swell", 90)
    playing.ask("next", 0.1)
    playing.ask("next", 0.1)
    assert playing.state.known["mix"] == round(40 * 1.27)


def test_a_song_recalled_meanwhile_is_right_afterwards(playing: Any) -> None:
    playing.move(0.1, "swell", 90)
    playing.do(Jump(playing.at_s + 0.1, "lantern", 1))
    assert playing.state.known["drive"] == 10
    playing.settle()
    assert playing.state.known["drive"] == 127 - 90


def test_it_is_on_no_fast_road_while_it_is_withheld(playing: Any) -> None:
    assert "swell" not in lanes(playing.script, playing.state)
    playing.move(0.1, "swell", 11)
    playing.settle()
    assert "swell" in lanes(playing.script, playing.state)


def test_it_is_told_when_it_begins_and_ends(playing: Any) -> None:
    playing.move(0.1, "swell", 11)
    playing.settle()
    assert [notice[0] for notice in playing.notices[-2:]] == ["withheld", "passed on"]
    assert playing.notices[-1][3] == "swell"


def test_a_port_lost_meanwhile_ends_it(playing: Any) -> None:
    playing.do(PortLost(playing.at_s + 0.1, "floor"))
    assert playing.state.withheld == {}


@pytest.mark.parametrize("control", ["octave switch", "attic"])
def test_what_does_not_pass_through_is_said(playing: Any, control: str) -> None:
    playing.do(Withhold(playing.at_s + 0.1, control))
    assert playing.notices[-1][0] == "nothing"
    assert control not in playing.state.withheld
