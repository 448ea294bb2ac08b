"""What runs tell of songs and guitars."""

import pytest

from showrunner.planning.performed import Mark, hours_in_hand, songs_played


def marks(*lines):
    """Marks from (seconds, kind, song)."""
    return [Mark(*line) for line in lines]


def test_a_song_lasts_from_its_beginning_to_the_changeover():
    run = marks((0, "changeover", "ash"), (10, "song", "ash"), (100, "cue", "ash"), (250, "changeover", "beck"))
    assert songs_played(run) == [("ash", 240)]


def test_a_segue_ends_one_song_and_begins_the_next():
    run = marks((0, "song", "ash"), (200, "song", "beck"), (500, "over", "beck"))
    assert songs_played(run) == [("ash", 200), ("beck", 300)]


def test_a_song_begun_anew_counts_from_its_last_beginning():
    run = marks((0, "song", "ash"), (20, "changeover", "ash"), (60, "song", "ash"), (300, "over", "ash"))
    assert songs_played(run) == [("ash", 240)]


def test_a_song_left_too_soon_and_gone_back_to_lasts_until_it_is_left_for_good():
    run = marks((0, "song", "ash"), (200, "changeover", "beck"), (203, "cue", "ash"), (240, "changeover", "beck"))
    assert songs_played(run) == [("ash", 240)]


def test_a_song_that_a_broken_log_never_ends_is_not_counted():
    assert songs_played(marks((0, "song", "ash"), (30, "cue", "ash"))) == []


def test_a_guitar_is_in_hand_through_pauses_until_another_is_taken_up():
    run = marks(
        (0, "changeover", "ash"), (3600, "song", "ash"), (7200, "changeover", "beck"), (9000, "song", "beck"),
        (10800, "changeover", "cove"), (10900, "song", "cove"), (14400, "over", "cove"), (99999, "ended", None),
    )  # fmt: skip
    held = hours_in_hand(run, {"ash": "red", "beck": "red", "cove": "blue"})
    assert held == {"red": pytest.approx(2), "blue": pytest.approx(1)}


def test_a_song_for_no_guitar_in_particular_is_played_on_the_one_in_hand():
    run = marks((0, "song", "ash"), (3600, "song", "beck"), (7200, "over", "beck"))
    assert hours_in_hand(run, {"ash": "red", "beck": None}) == {"red": pytest.approx(2)}


def test_nothing_played_tells_nothing():
    assert songs_played([]) == []
    assert hours_in_hand([], {}) == {}
