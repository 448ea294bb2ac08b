"""The gain chain worked by hand, as the developers' page prints it: every line of it is checked here."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.levels.gain import Trims, trims
from showrunner.levels.headroom import StageLevel, along_chain, first_to_clip

Make = Callable[..., Any]


@pytest.fixture
def worked(make_rig: Make, make_song: Make, make_venue: Make, make_show: Make) -> tuple[Trims, dict[str, StageLevel]]:
    rig = make_rig()
    song = make_song(trim_db=1.5, level={"integrated_lufs": -17, "true_peak_dbtp": -9})
    venue = make_venue({"input_gain_db": 2, "interface_volume_db": 3, "full_house_db": 2})
    show = make_show({"input_gain_db": -1.5, "interface_volume_db": -1})
    found = trims(rig, song, venue, show, full_house=True)
    return found, {level.stage: level for level in along_chain(rig, song, found)}


def test_the_input_gain_comes_to_28_and_a_half(worked: tuple[Trims, Any]) -> None:
    assert [line.db for line in worked[0].input_gain.lines] == [32, -4, 2, -1.5]
    assert worked[0].input_gain.set_db == 28.5


def test_the_interface_volume_comes_to_minus_six_and_a_half(worked: tuple[Trims, Any]) -> None:
    assert [line.db for line in worked[0].interface_volume.lines] == [-12, 3, -1, 2, 1.5]
    assert worked[0].interface_volume.set_db == -6.5


@pytest.mark.parametrize(
    ("stage", "working", "loudest", "headroom"),
    [
        ("interface input", -17.5, -11.5, 11.5),
        ("software", -16.5, -8.5, 8.5),
        ("interface output", -11, -3, 3),
        ("desk", -13, -5, 5),
    ],
)
def test_each_stage_stands_where_the_sum_by_hand_puts_it(
    worked: tuple[Any, dict[str, StageLevel]], stage: str, working: float, loudest: float, headroom: float
) -> None:
    level = worked[1][stage]
    assert (level.working_dbfs, level.loudest_dbfs, level.headroom_db) == (working, loudest, headroom)


def test_the_output_is_first_to_clip_and_just_keeps_its_ceiling(worked: tuple[Any, dict[str, StageLevel]]) -> None:
    first = first_to_clip(worked[1].values())
    assert first is not None
    assert (first.stage, first.spare_db) == ("interface output", 0)
