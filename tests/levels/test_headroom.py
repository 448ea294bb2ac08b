"""Levels along the chain, and which stage clips first."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.levels.gain import trims
from showrunner.levels.headroom import Moved, StageLevel, advice, along_chain, first_to_clip

Make = Callable[..., Any]
LOUD = {"level": {"integrated_lufs": -17, "true_peak_dbtp": -4}}


@pytest.fixture
def chain(make_rig: Make, make_song: Make) -> Callable[..., dict[str, StageLevel]]:
    def levels(song: dict[str, Any] | None = None, *, by: Moved | None = None, **room: Any) -> dict[str, StageLevel]:
        rig, made = make_rig(), make_song(**(song or {}))
        return {level.stage: level for level in along_chain(rig, made, trims(rig, made, **room), by)}

    return levels


def test_at_the_reference_the_input_peaks_at_minus_twelve(chain: Make) -> None:  # common practice, no source
    level = chain()["interface input"]
    assert (level.working_dbfs, level.loudest_dbfs, level.headroom_db) == (-18, -12, 12)


def test_a_measured_song_peaks_where_it_was_measured(chain: Make) -> None:
    level = chain(LOUD)["software"]
    assert (level.working_dbfs, level.loudest_dbfs, level.headroom_db, level.measured) == (-17, -4, 4, True)


def test_a_song_never_measured_counts_as_peaking_at_the_ceiling(chain: Make) -> None:  # common practice, no source
    level = chain()["software"]
    assert (level.loudest_dbfs, level.measured) == (-3, False)


def test_a_stage_with_another_working_level_shifts_the_peaks_with_it(chain: Make) -> None:
    assert chain(LOUD)["desk"].loudest_dbfs == -6


def test_more_input_gain_moves_every_stage(chain: Make, make_venue: Make) -> None:
    levels = chain(LOUD, venue=make_venue({"input_gain_db": 2}))
    assert [level.headroom_db for level in levels.values()] == [10, 2, 2, 4]


def test_more_volume_moves_only_the_output_and_what_follows(chain: Make, make_venue: Make) -> None:
    levels = chain(LOUD, venue=make_venue({"interface_volume_db": 2}))
    assert [level.headroom_db for level in levels.values()] == [12, 4, 2, 4]


def test_what_a_song_sends_moves_the_software_and_what_follows(chain: Make) -> None:
    levels = chain(LOUD, by=Moved(host_db=1.5, volume_db=2))
    assert [level.headroom_db for level in levels.values()] == [12, 2.5, 0.5, 2.5]


def test_a_guitars_own_trim_is_part_of_the_reference(chain: Make) -> None:
    assert chain({"instrument": "tenor"})["interface input"].headroom_db == 12


def test_the_quietest_moment_lies_below_the_loudest_by_the_songs_swing(chain: Make) -> None:
    level = chain(LOUD, by=Moved(0, 0, swing_db=9))["software"]
    assert level.loudest_dbfs - level.quietest_dbfs == 9


def test_without_level_targets_a_solo_is_four_decibels_over_the_rest(chain: Make) -> None:
    level = chain(LOUD)["software"]  # common practice, no source: 3 to 4 dB
    assert level.loudest_dbfs - level.quietest_dbfs == 4


def test_the_stage_with_least_to_spare_clips_first(chain: Make, make_venue: Make) -> None:
    levels = chain(LOUD, venue=make_venue({"interface_volume_db": 3}))
    first = first_to_clip(levels.values())
    assert first is not None
    assert first.stage == "interface output"


def test_no_stages_clip_nowhere() -> None:
    assert first_to_clip([]) is None


@pytest.mark.parametrize(
    ("true_peak_dbtp", "room", "turn"),
    [
        (-14, {"input_gain_db": 14}, "turn the input gain down 8.0 dB"),
        (-4, {"interface_volume_db": 3}, "turn the interface volume down 2.0 dB"),
        (-2, {}, "turn the song in the host down 1.0 dB"),
    ],
)
def test_advice_says_what_to_turn_and_by_how_much(
    make_rig: Make, make_song: Make, make_venue: Make, true_peak_dbtp: float, room: dict[str, Any], turn: str
) -> None:
    rig, song = make_rig(), make_song(level={"true_peak_dbtp": true_peak_dbtp})
    remark = advice(rig, along_chain(rig, song, trims(rig, song, make_venue(room))))
    assert remark is not None
    assert remark.mend == turn


def test_a_stage_over_its_clipping_point_is_an_error(make_rig: Make, make_song: Make, make_venue: Make) -> None:
    rig, song = make_rig(), make_song(**LOUD)
    remark = advice(rig, along_chain(rig, song, trims(rig, song, make_venue({"interface_volume_db": 5}))))
    assert remark is not None
    assert (remark.level, "no headroom" in remark.what) == ("error", True)


def test_a_chain_with_enough_headroom_needs_no_advice(make_rig: Make, make_song: Make) -> None:
    rig, song = make_rig(), make_song(**LOUD)
    assert advice(rig, along_chain(rig, song, trims(rig, song))) is None


def test_a_chain_of_one_stage_is_only_the_input(make_rig: Make, make_song: Make) -> None:
    rig, song = make_rig(gain=[{"stage": "interface input", "range_db": [0, 60]}]), make_song(**LOUD)
    assert [level.headroom_db for level in along_chain(rig, song, trims(rig, song))] == [12]
