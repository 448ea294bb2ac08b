"""The new finish and what to drop, with the show under way."""

from dataclasses import replace

import pytest

from showrunner.planning.timing import running_time
from showrunner.planning.underway import plan_of
from showrunner.state.events import Asked
from showrunner.state.machine import fold, open_show
from showrunner.state.script import script_of_show

NAMES = ("ash", "beck", "cove", "dune")
SONGS = {name: {} for name in (*NAMES, "elm")}
SONG_S = 240 * 1.04
EIGHT = 20 * 60


@pytest.fixture
def plan(make_book, make_show):
    """A plan of four songs of 4:00, the third optional, from eight o'clock, with one in reserve."""

    def make(*sets, songs=None, **more):
        listed = sets or (["ash", "beck", {"song": "cove", "optional": True}, "dune"],)
        book = make_book(songs or SONGS, curfew="20:20")
        show = make_show(*listed, **({"start": "20:00", "reserve": ["elm"], "venue": "ropewalk"} | more))
        return plan_of(book, show, book.rigs["full"]), running_time(book, show)

    return make


def test_before_the_first_note_the_finish_is_the_planned_one(plan):
    night, time = plan()
    ahead = night.ahead(NAMES, 0, EIGHT, EIGHT, None)
    assert ahead.remaining_s == pytest.approx(time.expected_s)
    assert ahead.finish == pytest.approx(time.finish)
    assert ahead.late_s == pytest.approx(0)
    assert ahead.spread_s == pytest.approx(time.spread_s)


def test_the_planned_finish_counts_what_songs_leave_to_the_ones_after_the_next(make_book, make_show):
    """Red is still in hand after a song for no guitar in particular, so that nothing has to be changed for cove."""
    guitars = {name: {"tunings": {"E": ["E2", "A2", "D3", "G3", "B3", "E4"]}} for name in ("red", "blue")}
    songs = {"ash": {"instrument": "red"}, "beck": {}, "cove": {"instrument": "red"}}
    book, show = make_book(songs, {"instruments": guitars}), make_show(list(songs), start="20:00")
    ahead = plan_of(book, show, book.rigs["full"]).ahead(tuple(songs), 0, EIGHT, EIGHT, None)
    assert ahead.remaining_s == pytest.approx(running_time(book, show).expected_s) == pytest.approx(3 * SONG_S + 24)


def test_a_late_start_is_late_all_night(plan):
    night, _ = plan()
    assert night.ahead(NAMES, 0, EIGHT + 5, EIGHT + 5, None).late_s == pytest.approx(300)


def test_a_song_that_goes_as_expected_changes_nothing(plan):
    night, _ = plan()
    assert night.ahead(NAMES, 0, EIGHT + 1, EIGHT, 60).late_s == pytest.approx(0)


def test_a_song_longer_than_expected_makes_the_show_late_only_by_what_it_is_over(plan):
    night, _ = plan()
    assert night.ahead(NAMES, 0, EIGHT + 6, EIGHT, 360).late_s == pytest.approx(360 - SONG_S)


def test_a_skipped_song_wins_its_length_and_its_pause(plan):
    night, _ = plan()
    assert night.ahead(("ash", "cove", "dune"), 0, EIGHT, EIGHT, None).late_s == pytest.approx(-SONG_S - 12)


def test_a_song_put_in_from_the_reserve_costs_its_length_and_applause(plan):
    night, _ = plan()
    assert night.ahead(("ash", "elm", *NAMES[1:]), 0, EIGHT, EIGHT, None).late_s == pytest.approx(SONG_S + 12)


def test_what_to_drop_is_an_optional_song_not_begun_yet(plan):
    night, _ = plan()
    assert night.ahead(NAMES, 1, EIGHT + 10, EIGHT, 0).drop == ("cove",)
    assert night.ahead(NAMES, 2, EIGHT + 15, EIGHT, 0).drop == ()


def test_with_time_to_spare_nothing_is_dropped(plan):
    night, _ = plan()
    ahead = night.ahead(NAMES, 3, EIGHT + 9, EIGHT, 0)
    assert ahead.over_s == pytest.approx(-(20 - 9) * 60 + SONG_S)
    assert ahead.drop == ()


def test_the_slot_ends_when_it_was_agreed_to_even_after_a_late_start(plan):
    night, _ = plan(slot="16:00")
    assert night.ahead(("ash",), 0, EIGHT + 10, EIGHT + 10, None).over_s == pytest.approx(600 + SONG_S + 60 - 960)


def test_a_show_without_a_start_is_measured_from_its_first_note(plan):
    night, _ = plan(start=None)
    assert night.ahead(NAMES, 0, EIGHT, EIGHT, None).late_s == pytest.approx(0)


def test_the_break_between_sets_stays_when_the_song_before_it_is_skipped(plan):
    night, _ = plan(["ash", {"song": "beck", "then": "gap 10:00"}], ["cove", "dune"])
    ahead = night.ahead(("ash", "cove", "dune"), 0, EIGHT, EIGHT, None)
    assert ahead.remaining_s == pytest.approx(3 * SONG_S + 600 + 12)


def test_the_break_stays_when_a_song_of_the_reserve_comes_before_it(plan):
    night, _ = plan(["ash", {"song": "beck", "then": "gap 10:00"}], ["cove", "dune"])
    ahead = night.ahead(("ash", "beck", "elm", "cove", "dune"), 2, EIGHT, EIGHT, None)
    assert ahead.remaining_s == pytest.approx(3 * SONG_S + 600 + 12)


def test_a_segue_whose_second_song_is_skipped_ends_in_applause(plan):
    night, _ = plan([{"song": "ash", "then": "segue"}, "beck", "cove", "dune"])
    assert night.pauses_s([], ["ash", "beck"]) == [0]
    assert night.pauses_s([], ["ash", "cove"]) == [12]


def test_after_the_last_song_nothing_remains(plan):
    night, _ = plan()
    assert night.ahead(NAMES, 4, EIGHT + 18, EIGHT, None).remaining_s == 0


def test_songs_that_the_book_lacks_take_no_time(plan):
    night, _ = plan()
    assert night.ahead(("ash", "nobody's"), 0, EIGHT, EIGHT, None).remaining_s == pytest.approx(SONG_S)


TWO_SETS = [
    {"songs": [{"song": "ash"}, {"song": "beck", "optional": True, "then": "gap 10:00"}], "slot": "9:00"},
    {"songs": [{"song": "cove"}, {"song": "dune", "optional": True}, {"song": "fell"}], "slot": "13:00"},
]
FIVE = ("ash", "beck", "cove", "dune", "fell")


@pytest.fixture
def in_sets(make_book, make_show):
    """Two songs of 4:00 in 9:00 and three in 13:00, ten minutes between the sets, one of each set optional."""
    book = make_book({name: {} for name in (*FIVE, "elm")})
    show = make_show(sets=TWO_SETS, start="20:00", reserve=["elm"])
    return plan_of(book, show, book.rigs["full"])


def test_sets_that_fit_their_own_slots_lose_nothing(in_sets):
    # the first set takes 2 x 4:09.6 and applause of 0:12, 8:31; the second 12:53
    assert in_sets.ahead(FIVE, 0, EIGHT, EIGHT, None).drop == ()


def test_a_set_that_outgrows_its_own_slot_loses_a_song_of_its_own(in_sets):
    assert in_sets.ahead(("ash", "elm", *FIVE[1:]), 0, EIGHT, EIGHT, None).drop == ("elm",)
    assert in_sets.ahead((*FIVE[:4], "elm", "fell"), 0, EIGHT, EIGHT, None).drop == ("elm",)


def test_a_song_that_runs_over_costs_its_set_the_optional_one(in_sets):
    assert in_sets.ahead(FIVE, 0, EIGHT + 5, EIGHT, 300).drop == ("beck",)
    assert in_sets.ahead(FIVE, 2, EIGHT + 23, EIGHT, 10).drop == ()
    assert in_sets.ahead(FIVE, 2, EIGHT + 23, EIGHT, 300).drop == ("dune",)


def test_the_time_already_played_of_a_set_counts_against_its_slot(in_sets):
    assert in_sets.ahead(FIVE, 1, EIGHT + 4.5, EIGHT, None).drop == ()
    assert in_sets.ahead(FIVE, 1, EIGHT + 5, EIGHT, None).drop == ("beck",)
    assert in_sets.ahead((*FIVE[:3], "elm", "dune", "fell"), 4, EIGHT + 30, EIGHT, None).drop == ("dune",)


def test_a_song_dropped_for_its_set_counts_for_the_show_too(make_book, make_show):
    book = make_book({name: {} for name in FIVE})
    show = make_show(sets=[TWO_SETS[0] | {"slot": "6:00"}, TWO_SETS[1]], start="20:00", slot="33:30")
    night = plan_of(book, show, book.rigs["full"])
    ahead = night.ahead(FIVE, 0, EIGHT, EIGHT, None)
    assert ahead.early_s is not None
    assert ahead.early_s > 0
    assert ahead.drop == ("beck",)


@pytest.fixture
def night(make_book, make_show):
    """The plan of two songs, half a minute between them and a third in reserve, and the machine's state after steps."""
    listed = [{"song": "ash", "then": "gap 0:30"}, "beck"]
    book, show = make_book({name: {} for name in NAMES}), make_show(listed, reserve=["cove"])
    script = script_of_show(book, show, book.rigs["full"])

    def after(*steps):
        state, _ = open_show(script, 0.0)
        for at_s, what in steps:
            state, _ = fold(script, state, Asked(at_s, what))
        return state

    return plan_of(book, show, book.rigs["full"]), after


def test_a_show_that_has_just_begun_is_on_time(night):
    plan, after = night
    assert plan.ahead_of(after((10, "next")), 10, 10, None).late_s == pytest.approx(0)


def test_a_song_that_runs_over_makes_the_show_late(night):
    plan, after = night
    state = after((0, "next"))
    assert plan.ahead_of(state, SONG_S, 0, None).late_s == pytest.approx(0)
    assert plan.ahead_of(state, SONG_S + 40, 0, None).late_s == pytest.approx(40)


def test_early_runs_down_over_the_pause(night):
    plan, after = night
    state = after((0, "next"), (SONG_S, "next"))
    assert plan.ahead_of(state, SONG_S, 0, None).late_s == pytest.approx(-30)
    assert plan.ahead_of(state, SONG_S + 30, 0, None).late_s == pytest.approx(0)


def test_a_song_of_the_reserve_makes_the_show_longer(night):
    plan, after = night
    state = after((0, "next"), (SONG_S, "next"), (SONG_S + 1, "choose"), (SONG_S + 2, "back"), (SONG_S + 3, "take"))
    assert state.order == ("ash", "cove", "beck")
    assert plan.ahead_of(state, SONG_S + 30, 0, None).late_s == pytest.approx(SONG_S + 12)


def test_nothing_remains_when_the_show_is_over(night):
    plan, after = night
    state = after(*((at_s, "next") for at_s in (0.0, 1.0, 2.0, 3.0)))
    assert state.phase == "over"
    assert plan.ahead_of(state, 9, 0, None).remaining_s == 0


def test_by_the_time_of_day_a_late_start_counts(plan, night):
    """Four songs from eight o'clock, begun five minutes late; on another day they begin when they begin."""
    made, _ = plan()
    _, after = night
    state = replace(after((0, "next")), order=NAMES)
    assert made.ahead_of(state, 60, 0, EIGHT + 6).late_s == pytest.approx(300)
    assert made.ahead_of(state, 60, 0, None).late_s == pytest.approx(0)


@pytest.mark.parametrize("set_min", [0.0, 60.0, -60.0, 1.5])
def test_a_time_of_day_that_is_set_moves_the_finish_and_not_how_late_the_show_is(plan, night, set_min: float) -> None:
    made, _ = plan()
    _, after = night
    state = replace(after((0, "next")), order=NAMES)
    began_min = EIGHT + 5
    usual = made.ahead_of(state, 60, 0, began_min + 1, began_min)
    found = made.ahead_of(state, 60, 0, began_min + 1 + set_min, began_min)
    assert found.late_s == usual.late_s == pytest.approx(300)
    assert found.remaining_s == usual.remaining_s
    assert found.finish == pytest.approx(usual.finish + set_min)
    assert made.ahead_of(state, 60, 0, None, began_min).late_s == usual.late_s
