"""What a soundcheck plays: everything is heard, in no more time than the plain way takes, ending as song one begins."""

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.model.library import Book
from showrunner.model.rig import Control, Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning.soundcheck import (
    Ground,
    Soundcheck,
    best,
    best_within,
    greedy,
    ground_of,
    played,
    soundcheck,
    weight,
)
from showrunner.planning.spots import Spot, getting_to_s
from showrunner.state.moments import prepare

PEDAL = {"kind": "pedal", "limb": "right foot", "port": "floor", "channel": 1}
RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Bench rig",
        "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}},
        "controls": {
            "swell": {**PEDAL, "cc": 11},
            "colour": {**PEDAL, "cc": 12},
            "string driver": {
                "kind": "selector",
                "positions": ["off", "low", "high"],
                "rest": "off",
                "seconds": 3,
            },
        },
        "targets": {
            "drive": {"port": "host", "channel": 1, "cc": 70, "unit": "dB", "range": [-12, 12], "level": True},
            "echo": {"port": "host", "channel": 1, "cc": 71, "range": [0, 100], "rest": 0},
            "tail": {"port": "host", "channel": 1, "cc": 72, "unit": "s", "range": [0.5, 20], "rest": 2},
        },
        "instruments": {
            "baritone": {
                "tunings": {"low": ["B1", "E2"], "drop": ["A1", "E2"]},
                "carries": ["string driver"],
                "swap_s": 30,
                "retune_s_per_string": 8,
            },
            "tenor": {"tunings": {"fifths": ["C3", "G3"]}, "swap_s": 20, "capo_s": 10},
        },
    }
)
PLAIN = {"format": 1, "title": "Low Water", "duration": "4:00"}


def _song(**changes: Any) -> Song:
    return Song.model_validate({**PLAIN, **changes})


def _curve(target: str, low: float = 0, high: float = 10) -> dict[str, Any]:
    return {"travel": [0, 100], "moves": {target: [low, high]}}


def _show(songs: Iterable[str]) -> Show:
    sets = [{"songs": [{"song": slug} for slug in songs]}]
    return Show.model_validate({"format": 1, "title": "Friday", "sets": sets})


def _plan(budget_s: float | None = None, **songs: Song) -> Soundcheck:
    return soundcheck(Book(songs=songs, rigs={"bench": RIG}), _show(songs), RIG, budget_s)


def _ground(**songs: Song) -> Ground:
    return ground_of(Book(songs=songs, rigs={"bench": RIG}), _show(songs), RIG)


TIDE = _song(instrument="tenor", curves={"all": {"swell": _curve("echo")}})
EBB = _song(
    instrument="baritone",
    tuning="drop",
    start={"by_hand": {"string driver": "low"}},
    curves={"calm": {"colour": _curve("drive", -6, 0)}, "storm": {"colour": _curve("drive", 0, 9)}},
    cues=[
        {"name": "Storm", "at": "1:00", "curves": "storm", "controls": {"colour": 100}},
        {"name": "High", "at": "2:00", "by_hand": {"string driver": "high"}, "targets": {"tail": 15}},
    ],
)


def test_every_control_target_guitar_tuning_and_curve_set_is_heard() -> None:
    found = _plan(tide=TIDE, ebb=EBB)
    heard = frozenset().union(*(step.spot.covers for step in found.steps))
    assert heard == {
        "control swell",
        "control colour",
        "control string driver",
        "target echo",
        "target drive",
        "target tail",
        "guitar tenor",
        "guitar baritone",
        "tuning fifths on tenor",
        "tuning drop on baritone",
        "curves all of tide",
        "curves calm of ebb",
        "curves storm of ebb",
        "string driver at low",
        "string driver at high",
        "loudest",
        "quietest",
        "longest tail",
    }
    assert found.uncovered == ()


def test_it_ends_as_song_one_begins() -> None:
    last = _plan(tide=TIDE, ebb=EBB).steps[-1].spot
    assert (last.song, last.name) == ("tide", "start")


def test_the_loudest_moment_is_where_level_targets_stand_highest_and_the_quietest_lowest() -> None:
    spots = _ground(ebb=EBB).spots
    assert [spot.name for spot in spots if "loudest" in spot.covers] == ["Storm", "High"]
    assert [spot.name for spot in spots if "quietest" in spot.covers] == ["start"]


def test_a_songs_measured_loudness_counts() -> None:
    loud = TIDE.model_copy(update={"level": _song(level={"integrated_lufs": -6}).level})
    found = _plan(tide=loud, ebb=EBB)
    assert [step.spot.song for step in found.steps if "loudest" in step.spot.covers] == ["tide"]


def test_the_longest_tail_is_heard_until_it_has_rung_out() -> None:
    tail = next(step.spot for step in _plan(ebb=EBB).steps if "longest tail" in step.spot.covers)
    assert (tail.name, tail.seconds) == ("High", 15 + 15)


def test_guitars_are_taken_once_each() -> None:
    songs = {f"song {index}": (TIDE, EBB)[index % 2] for index in range(6)}
    guitars = [step.spot.guitar for step in _plan(**songs).steps]
    assert sum(a != b for a, b in pairwise(guitars)) == 1


def test_changing_guitar_tuning_and_switch_takes_the_rigs_seconds() -> None:
    found = _plan(tide=TIDE, ebb=EBB)
    getting = {step.spot.name: step.getting_s for step in found.steps}
    assert found.total_s == sum(step.getting_s + step.spot.seconds for step in found.steps)
    assert getting["start"] == 2 + 3 + 20  # a press, the running driver off, and the tenor again


def test_the_first_guitar_its_tuning_and_what_is_set_on_it_take_their_seconds_too() -> None:
    """By hand: take the baritone, 30 s, turn its one string that differs, 8 s, and set the driver, 3 s."""
    song = _song(instrument="baritone", tuning="drop", start={"by_hand": {"string driver": "low"}})
    found = _plan(only=song)
    assert [step.getting_s for step in found.steps] == [30 + 8 + 3]
    assert found.total_s == 30 + 8 + 3 + found.steps[0].spot.seconds
    assert (_plan(30 + 8 + 3 + 17, only=song).steps, _plan(30 + 8 + 3 + 16, only=song).steps) == (found.steps, ())


def test_the_first_moment_is_chosen_by_what_getting_ready_for_it_takes_too() -> None:
    """By hand: tuned down first, one string takes 8 s before and 8 s after; what rings lasts 15 + 2 s."""
    ground = _ground(low=_song(instrument="baritone"), drop=_song(instrument="baritone", tuning="drop"))
    assert ground.ready_s == (30, 38)
    assert ground.put_in((0,), 1) == (1, 0)
    assert ground.total_s((1, 0)) - ground.total_s((0,)) == 38 + 17 + (2 + 8) - 30


def test_what_a_moment_takes_follows_from_all_that_were_played_before_it() -> None:
    """By hand: the knob stays at full through the song that does not name it, and the baritone is still in hand."""
    knob = {"kind": "knob", "limb": "picking hand", "seconds": 5}
    rig = RIG.model_copy(update={"controls": {**RIG.controls, "fuzz": Control.model_validate(knob)}})
    full = {"start": {"by_hand": {"fuzz": "full"}}}
    songs = {
        "low": _song(instrument="baritone", **full),
        "any": _song(curves={"all": {"swell": _curve("echo")}}),
        "loud": _song(instrument="baritone", curves={"all": {"colour": _curve("drive", 0, 9)}}, **full),
    }
    spots = ground_of(Book(songs=songs, rigs={"bench": rig}), _show(songs), rig).spots
    ground = Ground(spots, tuple((0.0,) * 3 for _ in range(3)), (0.0,) * 3)
    first, *then = played(ground, (2, 1, 0))
    assert [step.what for step in first.hands] == ["guitar", "fuzz"]
    assert [(step.hands, step.getting_s) for step in then] == [((), 2), ((), 2)]
    found = soundcheck(Book(songs=songs, rigs={"bench": rig}), _show(songs), rig)
    assert found.steps == played(ground, tuple(spots.index(step.spot) for step in found.steps))


def test_a_moment_played_whole_leads_into_the_next_without_a_pause() -> None:
    song = _song(cues=[{"name": "One", "at": "0:00"}, {"name": "Two", "at": "0:12"}, {"name": "Three", "at": "1:30"}])
    one, two, three = _ground(tide=song).spots
    assert (getting_to_s(one, two), getting_to_s(two, three)) == (0, 2)


def test_with_few_minutes_the_most_important_is_heard_and_the_rest_is_named() -> None:
    found = _plan(120, tide=TIDE, ebb=EBB)
    assert found.total_s <= 120
    assert "guitar baritone" not in found.uncovered
    assert found.uncovered
    assert [weight(name) for name in found.uncovered] == sorted(map(weight, found.uncovered), reverse=True)


def test_with_no_time_nothing_is_played() -> None:
    found = _plan(3, tide=TIDE, ebb=EBB)
    assert (found.steps, found.total_s) == ((), 0)
    assert "guitar tenor" in found.uncovered


def test_enough_minutes_change_nothing() -> None:
    assert _plan(3600, tide=TIDE, ebb=EBB) == _plan(tide=TIDE, ebb=EBB)


def test_a_show_without_songs_needs_no_soundcheck() -> None:
    assert _plan() == ((), 0, ())


@st.composite
def grounds(draw: st.DrawFn) -> Ground:
    """Spots that cover a few of eight things, any way apart."""
    size = draw(st.integers(1, 9))
    things = st.frozensets(st.sampled_from([f"target {name}" for name in "abcdefgh"]), max_size=4)
    spots = tuple(
        Spot(
            song=f"song {draw(st.integers(0, 3))}",
            number=index,
            name=str(index),
            to="end",
            seconds=draw(st.integers(5, 30)),
            whole=False,
            covers=draw(things),
            guitar=draw(st.sampled_from(["baritone", "tenor"])),
            tuning=draw(st.sampled_from(["low", "drop"])),
            capo=0,
            piece=prepare("tide", TIDE, RIG),
        )
        for index in range(size)
    )
    seconds = st.lists(st.integers(0, 40), min_size=size, max_size=size).map(tuple)
    return Ground(spots, tuple(draw(seconds) for _ in range(size)), draw(seconds))


@given(grounds())
@settings(max_examples=80, deadline=None)
def test_the_plan_covers_everything_and_is_never_longer_than_the_plain_greedy_one(ground: Ground) -> None:
    plain = greedy(ground)
    plan = best(ground)
    assert ground.covered(plain) == ground.covered(plan) == ground.everything
    assert ground.total_s(plan) <= ground.total_s(plain)
    assert plan[-1] == plain[-1] == 0


@given(grounds(), st.integers(0, 200))
@settings(max_examples=60, deadline=None)
def test_a_plan_for_few_minutes_keeps_to_them(ground: Ground, budget_s: int) -> None:
    plan = best_within(ground, budget_s)
    assert not plan or (ground.total_s(plan) <= budget_s and plan[-1] == 0)


@pytest.mark.parametrize(
    ("name", "more_than"),
    [("loudest", "guitar tenor"), ("guitar tenor", "longest tail"), ("string driver at high", "control swell")],
)
def test_loud_and_quiet_matter_most_then_guitars_then_the_driver(name: str, more_than: str) -> None:
    assert weight(name) > weight(more_than)
