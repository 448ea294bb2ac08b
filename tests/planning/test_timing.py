"""Running time against slot and curfew."""

from typing import Any

import pytest

from showrunner.planning.lineup import BREAK_S, line_up
from showrunner.planning.timing import FINISH_EARLY_S, running_time

SONGS: dict[str, dict[str, Any]] = {name: {} for name in ("ash", "beck", "cove", "dune")}


def test_a_show_is_its_songs_and_what_comes_between(make_book, make_show):
    show = make_show([{"song": "ash", "then": "talk 1:30"}, {"song": "beck", "then": "segue"}, "cove", "dune"])
    assert running_time(make_book(SONGS), show).planned_s == 4 * 240 + 90 + 0 + 12


def test_songs_run_four_percent_long_and_applause_lasts_twelve_seconds(make_book, make_show):
    """Common practice, no source."""
    time = running_time(make_book(SONGS), make_show(["ash", "beck"]))
    assert time.expected_s == pytest.approx(2 * 240 * 1.04 + 12)


def test_leaving_the_stage_between_sets_and_before_the_encore_takes_a_break(make_book, make_show):
    """Common practice, no source: applause 12 s, 60 s to walk off, 30 s of talk on coming back."""
    time = running_time(make_book(SONGS), make_show(["ash"], ["beck"], encore=["cove"]))
    assert time.planned_s == 3 * 240 + 2 * (12 + 60 + 30)
    assert [part.title for part in time.sets] == ["set 1", "set 2", "encore"]


def test_a_written_pause_after_a_set_is_the_break(make_show):
    show = make_show([{"song": "ash", "then": "gap 20:00"}], ["beck"])
    assert line_up(show)[0].pause.seconds == 1200


def test_nothing_follows_the_last_song(make_show):
    assert line_up(make_show([{"song": "ash", "then": "talk 2:00"}]))[-1].pause.seconds == 0


def test_the_finish_is_a_clock_time_after_midnight_too(make_book, make_show):
    time = running_time(make_book({"ash": {"duration": "1:00:00"}}), make_show(["ash"], start="23:30"))
    assert time.finish == pytest.approx(23 * 60 + 30 + 62.4)


def test_a_show_without_a_start_has_no_finish(make_book, make_show):
    assert running_time(make_book(SONGS), make_show(["ash"])).finish is None


def test_the_slot_has_to_hold_the_walk_off(make_book, make_show):
    time = running_time(make_book(SONGS), make_show(["ash"], slot="6:00"))
    assert time.over_s == pytest.approx(240 * 1.04 + 60 - 360)


def test_the_tighter_of_slot_and_curfew_counts(make_book, make_show):
    show = make_show(["ash"], slot="40:00", start="22:58", venue="ropewalk")
    time = running_time(make_book(SONGS, curfew="23:00"), show)
    assert time.over_s == pytest.approx(240 * 1.04 - 120)
    assert time.early_s == pytest.approx(240 * 1.04 - 120 + FINISH_EARLY_S)


def test_a_curfew_after_midnight_lies_ahead(make_book, make_show):
    time = running_time(make_book(SONGS, curfew="00:30"), make_show(["ash"], start="22:00", venue="ropewalk"))
    assert time.over_s is not None
    assert time.over_s < -2 * 3600


def test_without_a_limit_nothing_is_over(make_book, make_show):
    time = running_time(make_book(SONGS), make_show([{"song": "ash", "optional": True}]))
    assert time.over_s is None
    assert time.drop == ()


def test_the_one_optional_song_that_wins_back_enough_and_loses_least_is_dropped(make_book, make_show):
    book = make_book(SONGS | {"beck": {"duration": "6:00"}, "cove": {"duration": "1:00"}})
    show = make_show(
        [*({"song": name, "optional": True} for name in ("ash", "beck", "cove")), "dune"], slot="17:00", encore=[]
    )
    time = running_time(book, show)
    assert time.early_s == pytest.approx(180 + 60 + 36 + 900 * 1.04 - 1020)
    assert time.drop == ("ash",)


def test_of_equal_songs_the_later_is_dropped(make_book, make_show):
    show = make_show([*({"song": name, "optional": True} for name in ("ash", "beck", "cove")), "dune"], slot="18:00")
    assert running_time(make_book(SONGS), show).drop == ("cove",)


def test_all_optional_songs_go_where_that_is_still_not_enough(make_book, make_show):
    show = make_show([{"song": "ash", "optional": True}, "beck", "cove"], slot="5:00")
    assert running_time(make_book(SONGS), show).drop == ("ash",)


def test_a_changeover_longer_than_its_pause_delays_the_next_song(make_book, make_show):
    rig = {"instruments": {name: {"tunings": {"E": ["E2"]}, "swap_s": 45} for name in ("red", "blue")}}
    songs = {"ash": {"instrument": "red"}, "beck": {"instrument": "blue"}}
    time = running_time(make_book(songs, rig), make_show(["ash", "beck"]))
    assert time.sets[0].songs[1].starts_s == pytest.approx(240 * 1.04 + 45)


def test_a_song_the_book_lacks_is_named_and_left_out(make_book, make_show):
    time = running_time(make_book(SONGS), make_show(["ash", "elm"]))
    assert time.missing == ("elm",)
    assert time.planned_s == 240


def test_a_shorter_version_tonight_counts(make_book, make_show):
    show = make_show(["ash"], tonight={"ash": {"duration": "2:00"}})
    time = running_time(make_book(SONGS), show, played={"ash": [480.0] * 1000})
    assert time.planned_s == 120
    assert time.expected_s == pytest.approx(240, rel=0.01)


def test_a_show_of_nothing_takes_no_time(make_book, make_show):
    assert running_time(make_book(SONGS), make_show()).expected_s == 0


def test_a_break_is_made_of_its_three_parts():
    assert BREAK_S == 102


def test_a_set_is_measured_against_its_own_slot_without_the_break_after_it(make_book, make_show):
    """Two songs of 4:00, 4 % longer live, and 12 s of applause between them."""
    book = make_book({name: {} for name in ("ash", "beck", "cove")})
    show = make_show(["ash", {"song": "beck", "then": "gap 20:00"}], ["cove"])
    show = show.model_copy(update={"sets": (show.sets[0].model_copy(update={"slot": 480}), show.sets[1])})
    first, second = running_time(book, show).sets
    assert first.expected_s == pytest.approx(2 * 240 * 1.04 + 12)
    assert first.over_s == pytest.approx(2 * 240 * 1.04 + 12 - 480)
    assert (second.slot_s, second.over_s) == (None, None)


def test_a_set_over_its_slot_drops_one_of_its_own_songs(make_book, make_show):
    book = make_book({name: {} for name in ("ash", "beck", "cove", "dune")})
    show = make_show(
        ["ash", {"song": "beck", "optional": True}], [{"song": "cove", "optional": True}, "dune"], slot="1:00:00"
    )
    show = show.model_copy(update={"sets": (show.sets[0], show.sets[1].model_copy(update={"slot": 480}))})
    time = running_time(book, show)
    assert time.over_s < 0
    assert time.is_over
    assert time.drop == ("cove",)
