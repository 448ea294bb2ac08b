"""What a night leaves behind."""

from collections.abc import Callable
from datetime import date
from typing import Any

from showrunner.levels.kept import as_ended, last_visit, moved
from showrunner.model.venue import RoomTrims

Make = Callable[..., Any]


def test_the_room_needed_its_own_trims_and_the_shows(make_venue: Make, make_show: Make) -> None:
    venue = make_venue({"input_gain_db": 1, "full_house_db": 2, "targets": {"echo": -6}})
    show = make_show({"input_gain_db": -0.5, "interface_volume_db": 1.5, "targets": {"echo": 2, "drive": 1}})
    assert as_ended(venue, show) == RoomTrims(
        input_gain_db=0.5, interface_volume_db=1.5, full_house_db=2, targets={"echo": -4, "drive": 1}
    )


def test_the_last_visit_is_the_latest_by_date(make_venue: Make) -> None:
    venue = make_venue(visits=[{"date": date(2026, 5, 1)}, {"date": date(2026, 9, 1)}, {"date": date(2025, 1, 1)}])
    last = last_visit(venue)
    assert last is not None
    assert last.date == date(2026, 9, 1)


def test_a_room_never_visited_has_no_last_visit(make_venue: Make) -> None:
    assert last_visit(make_venue()) is None


def test_two_trims_that_sum_past_what_a_visit_can_say_are_held_to_it(make_venue: Make, make_show: Make) -> None:
    """±200 dB is as far as a document's trim goes (`model.document.Decibels`), ±1e12 any other value."""
    venue = make_venue({"input_gain_db": 150, "interface_volume_db": -150, "targets": {"echo": 1e12}})
    show = make_show({"input_gain_db": 150, "interface_volume_db": -150, "targets": {"echo": 1e12}})
    assert as_ended(venue, show) == RoomTrims(input_gain_db=200, interface_volume_db=-200, targets={"echo": 1e12})


def test_more_trims_than_a_document_can_hold_end_no_screen(make_venue: Make, make_show: Make) -> None:
    show = moved(make_show(), [(f"t{number}", 1.0) for number in range(5000)])
    assert len(as_ended(make_venue(), show).targets) == 1000
