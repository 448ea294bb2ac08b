"""The sum of the trims, and what becomes of it where a stage can't follow."""

import math
from collections.abc import Callable
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.levels.gain import Line, clamped, total_db, trims

Make = Callable[..., Any]
DB = st.floats(min_value=-100, max_value=100, allow_nan=False)
RANGE = st.tuples(DB, DB).map(lambda pair: (min(pair), max(pair)))


def test_the_input_gain_is_rig_and_guitar_and_venue_and_show(
    make_rig: Make, make_song: Make, make_venue: Make, make_show: Make
) -> None:
    venue, show = make_venue({"input_gain_db": 2}), make_show({"input_gain_db": -1.5})
    found = trims(make_rig(), make_song(), venue, show)
    assert found.input_gain.lines == (
        Line("rig", 32),
        Line("guitar baritone", -4),
        Line("venue", 2),
        Line("show", -1.5),
    )
    assert found.input_gain.set_db == 28.5


def test_the_interface_volume_is_rig_and_venue_and_show_and_song(
    make_rig: Make, make_song: Make, make_venue: Make, make_show: Make
) -> None:
    venue, show = make_venue({"interface_volume_db": 3, "full_house_db": 2}), make_show({"interface_volume_db": -1})
    found = trims(make_rig(), make_song(trim_db=1.5), venue, show)
    assert found.interface_volume.set_db == -12 + 3 - 1 + 1.5
    assert not found.remarks


def test_a_full_house_adds_the_rooms_offset_for_an_audience(make_rig: Make, make_song: Make, make_venue: Make) -> None:
    venue = make_venue({"full_house_db": 2})
    empty, full = trims(make_rig(), make_song(), venue), trims(make_rig(), make_song(), venue, full_house=True)
    assert full.interface_volume.set_db - empty.interface_volume.set_db == 2
    assert Line("full house", 2) in full.interface_volume.lines


def test_offsets_on_targets_add_up_and_those_the_rig_lacks_are_left_out(
    make_rig: Make, make_song: Make, make_venue: Make, make_show: Make
) -> None:
    venue, show = make_venue({"targets": {"echo": -10, "organ": 3}}), make_show({"targets": {"echo": 4, "drive": 1}})
    assert trims(make_rig(), make_song(), venue, show).targets == {"echo": -6, "drive": 1}


def test_an_offset_on_the_volumes_own_target_is_a_line_of_the_volume(
    make_rig: Make, make_song: Make, make_venue: Make
) -> None:
    found = trims(make_rig(), make_song(), make_venue({"targets": {"output": -2}}))
    assert Line("venue, on output", -2) in found.interface_volume.lines
    assert found.interface_volume.set_db == -14
    assert found.targets == {}


def test_a_song_alone_stands_at_the_rigs_reference(make_rig: Make, make_song: Make) -> None:
    found = trims(make_rig(), make_song(instrument=None))
    assert (found.input_gain.set_db, found.interface_volume.set_db) == (32, -12)


def test_a_gain_over_its_range_is_set_lower_and_said(make_rig: Make, make_song: Make, make_venue: Make) -> None:
    found = trims(make_rig(), make_song(), make_venue({"input_gain_db": 40}))
    assert (found.input_gain.asked_db, found.input_gain.set_db) == (68, 60)
    assert found.interface_volume.set_db == -12
    assert [(r.level, r.mend) for r in found.remarks] == [
        ("warning", "turn up 8 dB after interface input, or ask for less")
    ]


def test_a_gain_that_cannot_go_low_enough_is_made_up_for_by_the_volume(
    make_rig: Make, make_song: Make, make_venue: Make
) -> None:
    found = trims(make_rig(), make_song(), make_venue({"input_gain_db": -31}))
    assert (found.input_gain.asked_db, found.input_gain.set_db) == (-3, 0)
    assert found.interface_volume.set_db == -15
    assert "turn down 3 dB before interface input" in [r.mend for r in found.remarks]


def test_what_no_stage_can_take_away_is_an_error(make_rig: Make, make_song: Make, make_venue: Make) -> None:
    found = trims(make_rig(), make_song(), make_venue({"input_gain_db": -28, "interface_volume_db": -50}))
    assert (found.input_gain.set_db, found.interface_volume.set_db) == (0, -60)
    assert [r.level for r in found.remarks if "low enough" in r.what] == ["error"]


def test_the_volume_stays_inside_both_its_stage_and_its_target(make_rig: Make, make_song: Make) -> None:
    rig = make_rig(trims={"interface_volume_db": 20, "volume_target": "drive"})
    assert trims(rig, make_song(instrument=None)).interface_volume.set_db == 6


def test_a_rig_without_a_chain_sets_what_is_asked_for(make_rig: Make, make_song: Make) -> None:
    rig = make_rig(gain=[], trims={"input_gain_db": 90, "interface_volume_db": -90})
    found = trims(rig, make_song(instrument=None))
    assert (found.input_gain.set_db, found.interface_volume.set_db) == (90, -90)


@given(st.lists(DB, min_size=2, max_size=8), st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_the_sum_is_the_same_in_any_order(values: list[float], random: Random) -> None:
    lines = [Line(str(index), value) for index, value in enumerate(values)]
    shuffled = random.sample(lines, len(lines))
    assert total_db(tuple(shuffled)) == total_db(tuple(lines))


@given(DB, DB, RANGE, RANGE)
@settings(max_examples=150)
def test_clamping_never_raises_the_level(
    gain: float, volume: float, gain_range: tuple[float, float], volume_range: tuple[float, float]
) -> None:
    set_gain, set_volume, too_loud = clamped(gain, volume, gain_range, volume_range)
    assert gain_range[0] <= set_gain <= gain_range[1]
    assert volume_range[0] <= set_volume <= volume_range[1]
    assert set_gain + set_volume <= gain + volume + too_loud + 1e-9
    if too_loud > 1e-9:
        assert (set_gain, set_volume) == (gain_range[0], volume_range[0])


@given(DB, DB)
@settings(max_examples=30)
def test_what_fits_is_set_as_asked(gain: float, volume: float) -> None:
    anything = (-math.inf, math.inf)
    assert clamped(gain, volume, anything, anything) == (gain, volume, pytest.approx(0, abs=1e-9))
