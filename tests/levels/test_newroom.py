"""Where to start in a room never played."""

from collections.abc import Callable
from typing import Any

from showrunner.levels.newroom import needed, never_played, starting_trims

Make = Callable[..., Any]


def _visit(date: str, volume: float) -> dict[str, Any]:
    from datetime import date as day

    return {"date": day.fromisoformat(date), "trims": {"interface_volume_db": volume}}


def test_rooms_of_the_same_kind_and_size_say_where_to_start(make_venue: Make) -> None:
    venues = {
        "new": make_venue(kind="club", capacity=200),
        "cellar": make_venue({"interface_volume_db": -4}, kind="club", capacity=120),
        "shed": make_venue({"interface_volume_db": -1}, kind="club", capacity=300),
        "barn": make_venue({"interface_volume_db": 8}, kind="club", capacity=900),
        "park": make_venue({"interface_volume_db": 9}, kind="open air", capacity=200),
    }
    start = starting_trims("new", venues)
    assert start is not None
    assert start.rooms == ("cellar", "shed")
    assert start.interface_volume == (-2.5, -4, -1)
    assert start.because == "of the same kind and about as large"


def test_kind_counts_before_size(make_venue: Make) -> None:
    venues = {
        "new": make_venue(kind="hall", capacity=500),
        "big hall": make_venue({"input_gain_db": 1}, kind="hall", capacity=5000),
        "club": make_venue({"input_gain_db": 3}, kind="club", capacity=500),
    }
    start = starting_trims("new", venues)
    assert start is not None
    assert start.rooms == ("big hall",)


def test_where_no_room_is_like_it_all_rooms_count_and_that_is_said(make_venue: Make) -> None:
    venues = {"new": make_venue(kind="hall"), "park": make_venue({"input_gain_db": 3}, kind="open air")}
    start = starting_trims("new", venues)
    assert start is not None
    assert (start.rooms, start.because) == (("park",), "the rooms played so far, though none is like it")


def test_a_room_never_played_says_nothing_about_another(make_venue: Make) -> None:
    venues = {"new": make_venue(kind="club"), "other": make_venue(kind="club")}
    assert starting_trims("new", venues) is None


def test_the_last_visit_counts_before_the_file(make_venue: Make) -> None:
    venue = make_venue({"interface_volume_db": 1}, visits=[_visit("2026-05-02", -3), _visit("2025-01-30", -9)])
    assert needed(venue).interface_volume_db == -3
    assert not never_played(venue)
