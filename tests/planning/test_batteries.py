"""Hours left in batteries against the hours a show asks of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.model.rig import Battery
from showrunner.planning.batteries import SOUNDCHECK_H, battery_lives, capacity_at, life_h
from showrunner.planning.timing import running_time

STRINGS = {"E": ["E2", "A2", "D3", "G3", "B3", "E4"]}
HOUR = {"duration": "57:41"}
"""With 4 % on top, an hour."""


@pytest.fixture
def lives(make_book, make_show):
    """The batteries of a show of one song an hour long on the red guitar, by name."""

    def make(cell=None, run_h=None, red=None, blue=None, songs=None):
        rig = {
            "instruments": {
                "red": {"tunings": STRINGS, "battery": "cell"} | (red or {}),
                "blue": {"tunings": STRINGS} | (blue or {}),
            },
            "batteries": {
                "cell": {"capacity_mah": 100, "load_ma": 10} | (cell or {}),
                "other": {"capacity_mah": 100, "load_ma": 10},
            },
        }
        book = make_book(songs or {"ash": HOUR | {"instrument": "red"}}, rig)
        show = make_show(list(book.songs))
        found = battery_lives(book, show, book.rigs["full"], running_time(book, show), run_h)
        return {life.battery: life for life in found}

    return make


def test_seventy_percent_of_the_rated_capacity_are_counted_on(lives):
    """Common practice, no source."""
    assert lives()["cell"].hours_left == pytest.approx(0.7 * 100 / 10)


def test_a_show_needs_its_hours_and_the_soundcheck_s_one_and_a_half_times(lives):
    """The margin is common practice, no source."""
    life = lives()["cell"]
    assert life.show_h == pytest.approx(1, rel=1e-3)
    assert life.hours_needed == pytest.approx(1.5 * (1 + SOUNDCHECK_H), rel=1e-3)
    assert life.enough


def test_hours_written_by_hand_and_hours_of_runs_are_used_up(lives):
    life = lives(cell={"used_h": 2}, run_h={"cell": 3})["cell"]
    assert life.hours_left == pytest.approx(7 - 2 - 3)
    assert not life.enough
    assert life.fresh_is_enough


def test_an_empty_battery_has_no_hours_left_and_none_below(lives):
    assert lives(cell={"used_h": 500})["cell"].hours_left == 0


def test_a_battery_that_no_guitar_carries_works_through_the_whole_show(lives):
    assert lives()["other"].show_h == pytest.approx(1, rel=1e-3)


def test_a_guitar_that_is_not_played_asks_nothing_of_its_battery(lives):
    life = lives(blue={"battery": "other"})["other"]
    assert (life.show_h, life.hours_needed, life.enough) == (0, 0, True)


def test_a_spare_guitar_s_battery_may_have_to_last_as_long(lives):
    assert lives(red={"spare": "blue"}, blue={"battery": "other"})["other"].show_h == pytest.approx(1, rel=1e-3)


def test_only_the_songs_on_its_guitar_and_the_pauses_after_them_count(lives):
    songs = {"ash": HOUR | {"instrument": "red"}, "beck": HOUR | {"instrument": "blue"}}
    assert lives(songs=songs)["cell"].show_h == pytest.approx(1 + 30 / 3600, rel=1e-3)


def test_a_cell_too_small_for_the_show_is_not_enough_even_fresh(lives):
    assert not lives(cell={"capacity_mah": 20})["cell"].fresh_is_enough


PAIRS = Battery.model_validate({"capacity_mah": [[50, 470], [10, 560], [20, 540]], "load_ma": 15})


def test_between_measured_loads_the_capacity_lies_on_a_straight_line():
    assert capacity_at(PAIRS) == (550, True)


@pytest.mark.parametrize(("load_ma", "capacity"), [(5, 560), (80, 470)])
def test_beyond_measured_loads_the_nearest_counts_and_it_is_said(load_ma, capacity):
    assert capacity_at(PAIRS.model_copy(update={"load_ma": load_ma})) == (capacity, False)


@given(st.floats(0.1, 200), st.floats(0.1, 200))
def test_a_battery_that_holds_less_under_load_never_holds_more_at_a_higher_one(one, other):
    low, high = sorted((one, other))
    at_low, at_high = (capacity_at(PAIRS.model_copy(update={"load_ma": load}))[0] for load in (low, high))
    assert at_high <= at_low


def test_typical_nine_volts_at_the_load_of_a_string_driver_last_a_day():
    """565 mAh, citing IEC 60086-2:2011 as quoted by others; 18 mA is invented."""
    assert life_h(565, 18) == pytest.approx(31.4, abs=0.05)
