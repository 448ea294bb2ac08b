"""What went wrong in a take, and what to practise next."""

from collections.abc import Iterator, Mapping, Sequence

import pytest

from showrunner.model.rig import Rig
from showrunner.model.show import Then
from showrunner.model.song import Song
from showrunner.planning.practice import ON_TIME_S, OVER_S, Arrival, Change, Review, review, spots
from showrunner.planning.practice_words import change_said
from showrunner.state.events import Asked, Event, Jump, Moved, Out
from showrunner.state.machine import open_show, run
from showrunner.state.moments import prepare
from showrunner.state.rehearsal import LEAD_S
from showrunner.state.script import Script
from showrunner.state.values import State

SWITCH = {"kind": "switch", "port": "floor", "channel": 1}
RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Test rig",
        "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}},
        "controls": {
            "swell": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11},
            "colour": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 13},
            "next": {**SWITCH, "cc": 80},
            "octave switch": {"kind": "selector", "positions": ["off", "octave"], "rest": "off"},
        },
        "targets": {"drive": {"port": "host", "channel": 1, "cc": 70, "range": [0, 127], "rest": 0}},
        "steps": {"next": "next", "guard_ms": 300},
    }
)
SONG = {
    "format": 1,
    "title": "Low Lantern",
    "duration": "2:00",
    "start": {"controls": {"swell": 0}},
    "cues": [
        {"name": "Theme", "at": "0:20", "controls": {"swell": 100, "colour": 0}},
        {"name": "Ring", "at": "0:40", "by_hand": {"octave switch": "octave"}},
        {"name": "Solo", "open": True, "back_to": "Ring"},
        {"name": "Out", "at": "1:40"},
    ],
}
PIECES = {
    "low": prepare("low", Song.model_validate(SONG), RIG),
    "steps": prepare("steps", Song.model_validate({**SONG, "title": "Harbour Steps"}), RIG),
}
SCRIPT = Script(RIG, PIECES, ("low", "steps"))


def answers(script: Script, events: Sequence[Event]) -> Iterator[tuple[float, State, Out]]:
    state, out = open_show(script, 0.0)
    yield 0.0, state, out
    for event, after, answer in run(script, state, events):
        yield event.at_s, after, answer


def played(*events: Event, goes: Mapping[float, float | None] | None = None, script: Script = SCRIPT) -> Review:
    return review(script, answers(script, events), goes or {}, {("low", "steps"): 30.0})


def nexts(*times: float) -> list[Event]:
    return [Asked(at_s, "next") for at_s in times]


def test_a_cue_is_late_by_the_seconds_after_its_place_from_the_songs_first_note():
    found = played(*nexts(5.0, 25.5, 48.0))
    assert [(a.cue, a.late_s) for a in found.arrivals] == [("start", None), ("Theme", 0.5), ("Ring", 3.0)]
    assert [a.faults for a in found.arrivals] == [(), (), ("late",)]


def test_within_a_second_a_cue_is_on_time():
    for off_s, faults in ((ON_TIME_S, ()), (-ON_TIME_S, ()), (ON_TIME_S + 0.01, ("late",)), (-1.01, ("early",))):
        assert played(*nexts(5.0, 25.0 + off_s)).arrivals[-1].faults == faults


def test_a_pedal_is_judged_where_the_cue_says_it_should_be_and_an_unheard_one_is_not():
    theme = played(Asked(5.0, "next"), Moved(10.0, "swell", 64), Asked(25.0, "next")).arrivals[-1]
    assert [(p.control, p.should, None if p.was is None else round(p.was), p.there) for p in theme.pedals] == [
        ("swell", 100, 50, False),
        ("colour", 0, None, None),
    ]
    assert theme.faults == ("swell not there",)


def test_a_pedal_within_a_tenth_of_its_travel_is_there():
    assert played(Asked(5.0, "next"), Moved(10.0, "swell", 115), Asked(25.0, "next")).arrivals[-1].faults == ()


def test_what_the_hands_had_to_set_is_listed_and_never_judged():
    ring = played(*nexts(5.0, 25.0, 45.0)).arrivals[-1]
    assert ring.by_hand == (("octave switch", "octave"),)
    assert ring.faults == ()


def test_what_the_song_before_left_otherwise_is_for_the_hands_of_the_next():
    """Low Lantern ends with the octave switch at octave; Harbour Steps wants it off, where it rests."""
    begun = played(*nexts(5.0, 25.0, 45.0, 60.0, 105.0, 110.0, 140.0)).arrivals[-1]
    assert (begun.song, begun.cue, begun.by_hand) == ("steps", "start", (("octave switch", "off"),))
    assert played(*nexts(5.0)).arrivals[-1].by_hand == ()


def test_a_press_inside_the_guard_counts_against_the_cue_before_it():
    press = [Moved(25.0, "next", 127), Moved(25.05, "next", 0), Moved(25.2, "next", 127), Moved(25.3, "next", 0)]
    theme = played(Asked(5.0, "next"), *press).arrivals[-1]
    assert (theme.cue, theme.too_soon, theme.faults) == ("Theme", 1, ("pressed too soon",))


def test_going_back_is_a_fault_and_ends_the_reckoning_of_time():
    found = played(*nexts(5.0, 25.0, 45.0), Asked(46.0, "back"), Asked(60.0, "next"))
    assert [(a.cue, a.back, a.late_s) for a in found.arrivals[3:]] == [("Theme", True, None), ("Ring", False, None)]


def test_going_back_out_of_a_changeover_is_a_fault():
    found = played(*nexts(5.0, 25.0, 45.0, 60.0, 105.0, 110.0), Asked(111.0, "back"))
    assert [(a.cue, a.faults) for a in found.arrivals[-2:]] == [("Out", ()), ("Out", ("gone back",))]


def test_where_an_open_cue_goes_back_to_is_no_fault_and_nothing_after_it_is_late():
    found = played(*nexts(5.0, 25.0, 45.0, 60.0), Asked(70.0, "back"), *nexts(90.0, 200.0))
    assert [a.faults for a in found.arrivals[3:]] == [(), (), (), ()]
    assert found.arrivals[-1].late_s is None


def test_after_a_jump_with_a_count_in_time_runs_from_where_the_song_went_on():
    found = played(Jump(5.0, "low", 1), Asked(31.0, "next"), goes={5.0: 9.0})
    assert [(a.cue, a.late_s) for a in found.arrivals] == [("Theme", None), ("Ring", 2.0)]


def test_after_a_jump_with_a_count_in_pedals_have_until_the_song_goes_on():
    for moved_s, there in ((8.0, True), (9.5, False)):
        events = [Moved(4.0, "swell", 0), Jump(5.0, "low", 1), Moved(moved_s, "swell", 127), Asked(29.0, "next")]
        theme = played(*events, goes={5.0: 9.0}).arrivals[0]
        assert theme.pedals[0].there is there


def test_a_moment_put_there_to_lead_up_to_something_is_not_judged():
    found = played(Moved(4.0, "swell", 0), Jump(5.0, "low", 1), Asked(31.0, "next"), goes={5.0: None})
    assert [(a.cue, a.lead, a.faults) for a in found.arrivals] == [("Theme", True, ()), ("Ring", False, ())]
    assert [a.cue for a in found.judged] == ["Ring"]


def test_a_jump_back_by_the_clock_is_no_step_back_of_the_players():
    found = played(*nexts(5.0, 25.0, 45.0), Jump(50.0, "low", 1), Asked(72.0, "next"), goes={50.0: 52.0})
    assert [(a.cue, a.back, a.late_s) for a in found.arrivals[3:]] == [("Theme", False, None), ("Ring", False, 0.0)]


def test_a_changeover_is_held_to_its_pause():
    ends = nexts(5.0, 25.0, 45.0, 60.0, 105.0, 125.0)
    for took_s, faults in ((30.0 + OVER_S, ()), (30.1 + OVER_S, ("too long",))):
        (change,) = played(*ends, *nexts(125.0 + took_s)).changes
        assert (change.before, change.after, change.planned_s) == ("low", "steps", 30.0)
        assert change.took_s == pytest.approx(took_s)
        assert change.faults == faults


SEGUE = Script(RIG, PIECES, ("low", "steps"), then={"low": Then("segue", 0)})
"""The same show, the first song going straight into the second."""


def test_a_song_gone_straight_into_belongs_where_the_one_before_ends():
    # Low Lantern lasts 2:00, and its clock runs on from the last cue, which stands at 1:40.
    for off_s, faults in ((0.4, ()), (2.0, ("late",)), (-3.0, ("early",))):
        found = played(Jump(5.0, "low", 4), Asked(27.0 + off_s, "next"), goes={5.0: 7.0}, script=SEGUE)
        (change,) = found.changes
        assert (change.before, change.after, change.took_s, change.straight) == ("low", "steps", 0.0, True)
        assert change.late_s == pytest.approx(off_s)
        assert change.faults == faults
        assert found.arrivals[-1].late_s is None


def test_led_up_to_by_the_end_of_the_song_before_it_belongs_there_as_well():
    found = played(Jump(5.0, "low", 4), Asked(5.0 + LEAD_S + 1.7, "next"), goes={5.0: None}, script=SEGUE)
    assert [change.late_s for change in found.changes] == [pytest.approx(1.7)]
    assert change_said(found.changes[0]) == "straight on, 1.7 s late"


def test_after_a_pause_or_an_open_cue_nothing_says_when_a_song_is_to_begin():
    (paused,) = played(Jump(5.0, "low", 4), *nexts(25.0, 60.0), goes={5.0: 7.0}).changes
    opened = {**SONG, "cues": SONG["cues"][:3]}
    pieces = {**PIECES, "low": prepare("low", Song.model_validate(opened), RIG)}
    script = Script(RIG, pieces, ("low", "steps"), then={"low": Then("segue", 0)})
    (straight,) = played(*nexts(5.0, 25.0, 45.0, 60.0, 300.0), script=script).changes
    assert (paused.straight, straight.straight) == (False, True)
    for change in (paused, straight):
        assert (change.after, change.late_s, change.faults) == ("steps", None, ())


def one(*faults: str) -> Review:
    late_s = {"late": 2.0}
    return Review(
        tuple(Arrival(0.0, "low", cue, late_s.get(fault)) for cue, fault in zip("abc", faults, strict=True)), ()
    )


def test_what_failed_most_in_the_latest_takes_comes_first():
    found = spots([one("", "late", ""), one("", "late", "late"), one("", "", "late")])
    assert [(spot.cue, spot.clean, len(spot.goes)) for spot in found] == [("b", 1, 3), ("c", 1, 3), ("a", 3, 3)]
    assert found[0].goes == (("late",), ("late",), ())
    assert found[0].faults == (("late", 2),)


def test_old_failures_that_five_clean_takes_followed_no_longer_count():
    found = spots([one("late", "", "late")] * 4 + [one("", "", "late")] * 5)
    assert [(spot.cue, spot.worst) for spot in found] == [("c", 1.0), ("a", 0.0), ("b", 0.0)]


def test_changeovers_have_their_own_place():
    slow = Review((), (Change(0.0, "low", "steps", 60.0, 30.0),))
    (spot,) = spots([slow])
    assert (spot.before, spot.song, spot.cue, spot.faults) == ("low", "steps", None, (("too long", 1),))
