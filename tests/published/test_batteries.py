"""Battery run times against a published discharge test of three makes of 9 V alkaline cells, read as published."""

import pytest

from showrunner.model.rig import Battery
from showrunner.planning.batteries import capacity_at, life_h

DISCHARGED = [(310, 170, 90), (450, 330, 230), (440, 290, 140)]
"""mAh of three makes of 9 V alkaline at 100, 500 and 1000 mA: a published discharge test."""


def test_a_light_load_runs_a_day_and_a_half():
    """170 mAh at 4.4 mA: 38.6 h computed, 30 to 40 h observed (a published discharge test)."""
    assert life_h(170, 4.4) == pytest.approx(38.6, abs=0.05)
    assert 30 <= life_h(170, 4.4) <= 40


@pytest.mark.parametrize("measured", DISCHARGED)
def test_each_measured_load_gives_the_capacity_measured(measured):
    """The published discharge test of three 9 V alkalines."""
    for load_ma, capacity in zip((100, 500, 1000), measured, strict=True):
        pairs = list(zip((100, 500, 1000), measured, strict=True))
        battery = Battery.model_validate({"capacity_mah": pairs, "load_ma": load_ma})
        assert capacity_at(battery) == (capacity, True)


@pytest.mark.parametrize("measured", DISCHARGED)
def test_between_the_lightest_and_the_heaviest_load_a_straight_line_is_within_a_quarter(measured):
    """What lies between two measured loads, from the same test with its middle load left out."""
    battery = Battery.model_validate({"capacity_mah": [(100, measured[0]), (1000, measured[2])], "load_ma": 500})
    assert capacity_at(battery)[0] == pytest.approx(measured[1], rel=0.25)
