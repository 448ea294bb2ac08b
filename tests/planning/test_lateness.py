"""How late the show is, by where it will end."""

import pytest

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning.lateness import late_s, remaining_s
from showrunner.planning.timing import RunningTime, running_time
from showrunner.state.events import Asked, Event
from showrunner.state.machine import fold, open_show
from showrunner.state.script import Script, script_of_show
from showrunner.state.values import State

RIG = Rig.model_validate({"format": 1, "title": "Rig"})
SONG = {"format": 1, "duration": "3:00"}
SHOW = Show.model_validate(
    {
        "format": 1,
        "title": "Night",
        "sets": [{"songs": [{"song": "one", "then": "gap 0:30"}, {"song": "two"}]}],
        "reserve": ["three"],
    }
)
BOOK = Book(
    songs={name: Song.model_validate({**SONG, "title": name}) for name in ("one", "two", "three")},
    shows={"night": SHOW},
    rigs={"rig": RIG},
)


@pytest.fixture
def script() -> Script:
    return script_of_show(BOOK, SHOW, RIG)


@pytest.fixture
def timed() -> RunningTime:
    return running_time(BOOK, SHOW)


def after(script: Script, *events: Event) -> State:
    state, _ = open_show(script, 0.0)
    for event in events:
        state, _ = fold(script, state, event)
    return state


def test_a_show_that_has_just_begun_is_on_time(script: Script, timed: RunningTime) -> None:
    assert late_s(timed, script, after(script, Asked(10, "next")), 10, 10) == pytest.approx(0)


def test_a_song_that_runs_over_makes_the_show_late(script: Script, timed: RunningTime) -> None:
    state = after(script, Asked(0, "next"))
    length_s = timed.sets[0].songs[0].expected_s
    assert late_s(timed, script, state, 0, length_s) == pytest.approx(0)
    assert late_s(timed, script, state, 0, length_s + 40) == pytest.approx(40)


def test_early_runs_down_over_the_pause(script: Script, timed: RunningTime) -> None:
    length_s = timed.sets[0].songs[0].expected_s
    state = after(script, Asked(0, "next"), Asked(length_s, "next"))
    pause_s = timed.sets[0].songs[0].pause_s
    assert late_s(timed, script, state, 0, length_s) == pytest.approx(-pause_s)
    assert late_s(timed, script, state, 0, length_s + pause_s) == pytest.approx(0)


def test_a_song_from_the_reserve_makes_the_show_longer(script: Script, timed: RunningTime) -> None:
    before = after(script, Asked(0, "next"), Asked(1, "next"))
    with_reserve = after(script, Asked(0, "next"), Asked(1, "choose"), Asked(2, "back"), Asked(3, "take"))
    assert with_reserve.order == ("one", "three", "two")
    assert remaining_s(timed, script, with_reserve, 3) > remaining_s(timed, script, before, 3)


def test_nothing_remains_when_the_show_is_over(script: Script, timed: RunningTime) -> None:
    state = after(script, *(Asked(at, "next") for at in (0.0, 1.0, 2.0, 3.0)))
    assert state.phase == "over"
    assert remaining_s(timed, script, state, 9) == 0
