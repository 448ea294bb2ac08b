"""What runs tell of guitars."""

import pytest

from showrunner.planning.performed import Mark, hours_in_hand


def marks(*lines):
    """Marks from (seconds, kind, song)."""
    return [Mark(*line) for line in lines]


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
    assert hours_in_hand([], {}) == {}
