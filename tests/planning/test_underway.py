"""The new finish and what to drop, with the show under way."""

import pytest

from showrunner.planning.timing import running_time
from showrunner.planning.underway import plan_of

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
