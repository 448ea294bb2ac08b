"""What stands in for missing controls: the choice over a show, the losses in words, and that the show is played so."""

from collections.abc import Callable, Iterator, Mapping
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.checks.run import check
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning.changeover import changeovers
from showrunner.planning.standin_costs import CHANGES_OVER_SHOW
from showrunner.planning.standin_search import show_cost
from showrunner.planning.standins import SongStandIns, choices, stand_ins
from showrunner.state.events import Moved
from showrunner.state.machine import open_show, run
from showrunner.state.moments import prepare_song
from showrunner.state.script import script_of_show

PEDAL = {"kind": "pedal", "limb": "right foot"}
SWITCH = {"kind": "switch", "limb": "left foot", "sends": "latching"}
STRIP = {"kind": "strip", "limb": "picking hand", "on_release": {"to": 0}}
SWEEP = {"travel": [0, 100], "moves": {"drive": [0, 12]}}


def rig(controls: Mapping[str, Any], **more: Any) -> Rig:
    percent = {"port": "host", "channel": 1, "range": [0, 100]}
    ports = {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}}
    named = {
        name: ({"port": "floor", "channel": 1, "cc": 70 + i} if control.get("kind") != "selector" else {}) | control
        for i, (name, control) in enumerate(controls.items())
    }
    targets = {"drive": {**percent, "cc": 20, "level": True}, "mix": {**percent, "cc": 21}}
    return Rig.model_validate(
        {"format": 1, "title": "Small rig", "ports": ports, "controls": named, "targets": targets} | more
    )


def song(**keys: Any) -> Song:
    return Song.model_validate({"format": 1, "title": "Low Lantern", "duration": "4:00"} | keys)


def show(songs: Mapping[str, Song], **keys: Any) -> Show:
    slots = [{"song": slug} for slug in songs]
    return Show.model_validate({"format": 1, "title": "Friday", "rig": "small", "sets": [{"songs": slots}]} | keys)


def book(songs: Mapping[str, Song], full: Rig, small: Rig, **keys: Any) -> Book:
    return Book(rig="full", songs=songs, rigs={"full": full, "small": small}, shows={"friday": show(songs, **keys)})


def found(songs: Mapping[str, Song], full: Rig, small: Rig, **keys: Any) -> tuple[SongStandIns, ...]:
    return stand_ins(book(songs, full, small, **keys), show(songs, **keys), small)


def one(a_song: Song, home: Mapping[str, Any], controls: Mapping[str, Any], **more: Any) -> SongStandIns:
    """The stand-ins of one song that wants a swell, on a rig with these controls."""
    return found({"lantern": a_song}, rig({"swell": home}), rig(controls, **more))[0]


def reasons(*given: Any, **more: Any) -> list[str]:
    return [loss.why for work in one(*given, **more).work for loss in work.losses]


PLAIN = song(curves={"verse": {"swell": SWEEP}})


def test_a_pedal_like_it_takes_the_work_and_nothing_is_lost() -> None:
    lantern = one(PLAIN, PEDAL, {"sw 3": SWITCH, "fade": PEDAL})
    assert (lantern.stand_ins, list(lantern.losses), lantern.unplayable) == ({"swell": "fade"}, [], {})


def test_a_switch_for_a_pedal_loses_the_middle() -> None:
    placed = song(curves={"verse": {"swell": SWEEP}}, cues=[{"name": "Half", "controls": {"swell": 50}}])
    assert reasons(placed, PEDAL, {"sw 3": SWITCH}) == [
        '50 % is wanted at cue 1 "Half", and a switch has none',
        "a switch has heel and toe and nothing between",
    ]


def test_a_row_that_steps_loses_no_middle_to_a_switch() -> None:
    steps = {"travel": [0, 100], "moves": {"drive": {"values": [0, 12], "shape": "step"}}}
    assert reasons(song(curves={"verse": {"swell": steps}}), PEDAL, {"sw 3": SWITCH}) == []


def test_a_strip_for_a_pedal_keeps_a_finger_busy_springs_back_and_needs_a_hand_that_is_needed() -> None:
    played = song(
        curves={"verse": {"swell": SWEEP}},
        cues=[
            {"name": "Theme", "controls": {"swell": 100}},
            {"name": "Solo"},
            {"name": "Damp", "stop": {"by": "picking hand"}},
        ],
    )
    lantern = one(played, PEDAL, {"strip": STRIP})
    assert list(lantern.losses) == [
        "in Low Lantern the strip takes swell: it springs back to 0 % when let go, where the song wants it to stay at "
        'cue 1 "Theme"',
        'in Low Lantern the strip takes swell: picking hand needed at cue 3 "Damp"',
        "in Low Lantern the strip takes swell: picking hand is busy with a finger on it",
    ]


def test_a_by_hand_state_needs_the_hand_too() -> None:
    selector = {"kind": "selector", "limb": "picking hand", "positions": ["off", "octave"], "rest": "off"}
    played = song(curves={"v": {"swell": SWEEP}}, cues=[{"name": "Theme", "by_hand": {"driver": "octave"}}])
    assert 'picking hand needed at cue 1 "Theme"' in reasons(played, PEDAL, {"strip": STRIP, "driver": selector})


def test_a_foot_that_steps_is_needed_at_every_cue_that_places_the_pedal() -> None:
    played = song(
        curves={"verse": {"swell": SWEEP}},
        cues=[{"name": "Theme", "at": "1:00", "controls": {"swell": 100}}],
    )
    left = {"kind": "pedal", "limb": "left foot"}
    more = {"steps": {"next": "sw 1"}}
    assert reasons(played, PEDAL, {"wah": left, "sw 1": SWITCH}, **more) == ['left foot needed at cue 1 "Theme"']


def test_a_pedal_under_a_foot_that_has_another_is_said() -> None:
    curves = {"verse": {"swell": SWEEP, "wah": {"travel": [0, 100], "moves": {"mix": [0, 50]}}}}
    home = {"kind": "pedal", "limb": "left foot"}
    assert reasons(song(curves=curves), home, {"wah": PEDAL, "fade": PEDAL}) == ["right foot has wah too"]


def test_fewer_steps_are_said_for_fourteen_bits_done_by_seven() -> None:
    assert reasons(PLAIN, PEDAL | {"bits": 14, "cc": 4}, {"fade": PEDAL}) == [
        "it has 127 steps, where swell has 16,383"
    ]


def test_ends_that_the_calibration_never_reaches_are_said() -> None:
    short = PEDAL | {"calibration": [[0, 10], [127, 90]]}
    assert reasons(PLAIN, PEDAL, {"fade": short}) == ["it reaches only 10 to 90 %, and not the ends of drive"]
    assert reasons(PLAIN, short, {"fade": short}) == []


def test_a_control_that_stays_is_said_where_the_wanted_one_springs_back() -> None:
    assert reasons(PLAIN, STRIP, {"fade": PEDAL}) == [
        "it stays where it is left, where swell goes back to 0 % by itself"
    ]


def test_another_rest_is_said_unless_the_song_says_where_to_start() -> None:
    rests, fade = PEDAL | {"rest": 0}, PEDAL | {"rest": 100}
    assert reasons(PLAIN, rests, {"fade": fade}) == ["it rests at 100 %, swell at 0 %: move it there before the song"]
    placed = song(curves={"verse": {"swell": SWEEP}}, start={"controls": {"swell": 0}})
    assert reasons(placed, rests, {"fade": fade}) == []


def test_a_control_busy_in_the_song_is_taken_only_if_its_own_job_is_smaller() -> None:
    mixes = {"travel": [0, 100], "moves": {"mix": [0, 50]}}
    both = {"travel": [0, 100], "moves": {"mix": [0, 50], "drive": [0, 12]}}
    small = one(song(curves={"verse": {"swell": both, "fade": mixes}}), PEDAL, {"fade": PEDAL})
    assert [loss.why for work in small.work for loss in work.losses] == ["its own job is lost: mix"]
    large = one(song(curves={"verse": {"swell": SWEEP, "fade": both}}), PEDAL, {"fade": PEDAL})
    assert large.work == ()
    assert list(large.losses) == ["in Low Lantern nothing takes swell: whatever could would lose more of its own"]


def test_switches_of_the_show_are_never_taken() -> None:
    lantern = one(
        PLAIN,
        PEDAL,
        {"a": SWITCH, "b": SWITCH, "c": SWITCH},
        steps={"next": "a", "back": "b"},
        mute={"target": "drive", "value": 0, "switch": "c"},
    )
    assert lantern.unplayable == {"swell": "the rig has nothing left that could"}


def test_a_control_on_another_guitar_is_lacking_and_takes_nothing() -> None:
    notes = {"E standard": ["E2", "A2", "D3", "G3", "B3", "E4"]}
    guitars = {"six": {"tunings": notes}, "twelve": {"tunings": notes, "carries": ["strip"]}}
    on_six = song(instrument="six", curves={"verse": {"swell": SWEEP}})
    assert one(on_six, PEDAL, {"strip": STRIP}, instruments=guitars).stand_ins == {}
    on_twelve = song(instrument="twelve", curves={"verse": {"swell": SWEEP}})
    assert one(on_twelve, PEDAL, {"strip": STRIP}, instruments=guitars).stand_ins == {"swell": "strip"}


def test_a_by_hand_state_that_is_not_there_is_unplayable_unless_it_is_off() -> None:
    wants = song(start={"by_hand": {"driver": "octave"}})
    assert one(wants, PEDAL, {}).unplayable == {
        "driver": 'a hand should set it to "octave" at the start, and the rig has none'
    }
    assert one(song(start={"by_hand": {"driver": "off"}}), PEDAL, {}).unplayable == {}


def test_nobody_relearns_a_pedal_for_a_small_gain_in_one_song() -> None:
    early = song(curves={"verse": {"swell": SWEEP}})
    needed = song(
        curves={"verse": {"swell": SWEEP}}, cues=[{"name": "Damp", "stop": {"by": "picking hand"}}], title="Harbour"
    )
    strip = {"kind": "strip", "limb": "picking hand"}
    controls = {"strip": strip, "sw 3": SWITCH}
    both = found({"a": early, "b": needed}, rig({"swell": PEDAL}), rig(controls))
    alone = found({"b": needed}, rig({"swell": PEDAL}), rig(controls))
    assert [s.stand_ins for s in both] == [{"swell": "strip"}, {"swell": "strip"}]
    assert [s.stand_ins for s in alone] == [{"swell": "sw 3"}]


def test_two_stand_ins_for_two_feet_do_not_meet_under_one() -> None:
    curves = {"verse": {"swell": SWEEP, "tilt": {"travel": [0, 100], "moves": {"mix": [0, 50]}}}}
    cues = [{"name": "Both", "controls": {"swell": 100, "tilt": 100}}]
    left = {"kind": "pedal", "limb": "left foot"}
    full = rig({"swell": PEDAL, "tilt": left})
    picked = found({"a": song(curves=curves, cues=cues)}, full, rig({"fade": PEDAL, "wah": PEDAL, "roll": left}))[0]
    assert picked.stand_ins == {"swell": "fade", "tilt": "roll"}
    crowded = found({"a": song(curves=curves, cues=cues)}, full, rig({"fade": PEDAL, "wah": PEDAL}))[0]
    assert 'right foot has wah to move too at cue 1 "Both"' in " ".join(crowded.losses)


def test_what_the_show_has_for_a_control_that_is_there_stays() -> None:
    controls = {"swell": PEDAL, "fade": PEDAL, "wah": PEDAL}
    of = found({"a": PLAIN}, rig(controls), rig(controls), stand_ins={"a": {"swell": "fade"}})[0]
    assert (of.kept, of.stand_ins, of.work) == ({"swell": "fade"}, {"swell": "fade"}, ())


@pytest.fixture
def played() -> Callable[[Book], list[bytes]]:
    """What a show on the small rig sends when its first song is on and `fade` moves to the toe."""

    def play(of: Book) -> list[bytes]:
        script = script_of_show(of, of.shows["friday"], of.rigs["small"])
        state, _ = open_show(script, 0.0)
        events = [Moved(5.0, "sw 1", 127), Moved(5.1, "sw 1", 0), Moved(9.0, "fade", 127)]
        outs = [out for passed, _, out in run(script, state, events) if passed.at_s == 9.0]
        return [send.message for out in outs for send in out.sends]

    return play


def test_the_machine_and_the_check_honour_what_was_found(played: Callable[[Book], list[bytes]]) -> None:
    songs = {"a": PLAIN}
    small = rig({"fade": PEDAL, "sw 1": SWITCH | {"sends": "momentary"}}, steps={"next": "sw 1"})
    without = book(songs, rig({"swell": PEDAL}), small)
    table = {s.song: s.stand_ins for s in stand_ins(without, without.shows["friday"], small)}
    with_them = book(songs, rig({"swell": PEDAL}), small, stand_ins=table)
    assert played(without) == []
    assert played(with_them) == [b"\xb0\x14\x0f"]  # drive 12 of 0–100, on controller 20
    assert "missing-control" in {finding.rule for finding in check(without, show="friday")}
    assert "missing-control" not in {finding.rule for finding in check(with_them, show="friday")}


@pytest.mark.parametrize(
    ("start", "rests", "stands"),
    [({}, 100, 100.0), ({}, 0, 0.0), ({"swell": 20}, 100, 20.0), ({"fade": 30}, 100, 100.0), ({}, None, 70.0)],
)
def test_a_stand_in_starts_where_the_control_rests_that_it_stands_in_for(start: Any, rests: Any, stands: float) -> None:
    home = rig({"swell": PEDAL | ({} if rests is None else {"rest": rests})})
    of = book(
        {"a": song(curves={"verse": {"swell": SWEEP}}, start={"controls": start})},
        home,
        rig({"fade": PEDAL | {"rest": 70}}),
        stand_ins={"a": {"swell": "fade"}},
    )
    piece = prepare_song(of, "a", of.rigs["small"], of.shows["friday"])
    assert [moment.controls["fade"] for moment in piece.moments] == [stands]


def test_a_switch_that_stands_in_is_not_placed_between_heel_and_toe() -> None:
    of = book(
        {"a": PLAIN}, rig({"swell": PEDAL | {"rest": 50}}), rig({"sw 3": SWITCH}), stand_ins={"a": {"swell": "sw 3"}}
    )
    assert "sw 3" not in prepare_song(of, "a", of.rigs["small"], of.shows["friday"]).moments[0].controls


def test_the_changeover_parks_a_stand_in_where_the_missing_control_would_rest() -> None:
    songs = {"a": song(start={"controls": {"fade": 70}}), "b": PLAIN}
    of = book(
        songs,
        rig({"swell": PEDAL | {"rest": 0}}),
        rig({"fade": PEDAL | {"rest": 70}}),
        stand_ins={"b": {"swell": "fade"}},
    )
    (change,) = changeovers(of, of.shows["friday"], of.rigs["small"])
    assert [(step.what, step.before, step.after) for step in change.steps] == [("fade", 70, 0)]


CONTROLS = {
    "swell": PEDAL | {"rest": 0},
    "fade": PEDAL | {"bits": 14, "cc": 4, "rest": 100},
    "strip": STRIP,
    "sw 3": SWITCH,
    "sw 4": SWITCH | {"sends": "momentary"},
}
NAMES = tuple(CONTROLS)


@st.composite
def any_song(draw: st.DrawFn) -> Song:
    name = st.sampled_from(NAMES)
    moves = st.dictionaries(st.sampled_from(["drive", "mix"]), st.just([0, 50]), min_size=1)
    curve = st.builds(lambda rows: {"travel": [0, 100], "moves": rows}, moves)
    sets = draw(st.dictionaries(st.sampled_from(["verse", "lead"]), st.dictionaries(name, curve, max_size=3)))
    places = st.dictionaries(name, st.sampled_from([0, 50, 100]), max_size=2)
    stops = st.sampled_from([None, {"by": "picking hand"}])
    cues = [
        {"name": f"Cue {i}", "controls": draw(places), "stop": draw(stops)}
        | ({"curves": draw(st.sampled_from(sorted(sets)))} if sets else {})
        for i in range(draw(st.integers(0, 2)))
    ]
    return song(curves=sets, cues=cues)


def every_pick(costs: Mapping[str, Mapping[str | None, int]]) -> Iterator[dict[str, str]]:
    for used in product(*costs.values()):
        picked = {w: u for w, u in zip(costs, used, strict=True) if u is not None}
        if len(set(picked.values())) == len(picked):
            yield picked


@settings(max_examples=60, deadline=None)
@given(st.lists(any_song(), min_size=1, max_size=3), st.sets(st.sampled_from(NAMES), min_size=2, max_size=4))
def test_no_way_to_play_a_small_show_loses_less(songs: list[Song], there: set[str]) -> None:
    by_slug = {f"song {i}": of for i, of in enumerate(songs)}
    full, small = rig(CONTROLS), rig({name: CONTROLS[name] for name in NAMES if name in there})
    of = book(by_slug, full, small)
    costs = choices(of, of.shows["friday"], small)
    picked = [{w.wanted: w.used for w in s.work} for s in stand_ins(of, of.shows["friday"], small)]
    ways = product(*(tuple(every_pick(song.costs)) for song in costs))
    assert show_cost(costs, picked, CHANGES_OVER_SHOW) == min(show_cost(costs, way, CHANGES_OVER_SHOW) for way in ways)
