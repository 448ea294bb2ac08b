"""What a night leaves in the book."""

import datetime

import pytest

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue
from showrunner.planning.closing import battery_use, song_lengths, visit_to_file
from showrunner.planning.evidence import expected_length
from showrunner.planning.night import Night, SongPlayed, TrimPlayed

DATE = datetime.date(2026, 11, 20)
GUITAR = {"tunings": {"standard": ["E2"]}}
RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Rig",
        "instruments": {
            "tenor": {**GUITAR, "battery": "cell"},
            "spare tenor": {**GUITAR, "battery": "cell"},
            "baritone": {**GUITAR, "battery": "old cell"},
        },
        "batteries": {
            "cell": {"capacity_mah": 550, "load_ma": 18, "used_h": 4},
            "old cell": {"capacity_mah": 550, "load_ma": 18, "fitted": "2026-11-21"},
            "pedal cell": {"capacity_mah": 550, "load_ma": 18},
        },
    },
    strict=False,
)


def night(**lasted_s: float | None) -> Night:
    return Night(tuple(SongPlayed(song, 0, s) for song, s in lasted_s.items()), (), (), (), {}, None)


def test_a_battery_takes_the_hours_of_every_guitar_that_carries_it():
    """As `battery_lives` reckons for a plan."""
    cell, pedal = battery_use(RIG, {"tenor": 0.5, "spare tenor": 0.25, "baritone": 1}, 1.2, DATE)
    assert (cell.battery, cell.guitars, cell.hours, cell.after_h) == ("cell", ("tenor", "spare tenor"), 0.75, 4.75)
    assert (pedal.battery, pedal.guitars, pedal.hours) == ("pedal cell", (), 1.2)


def test_a_battery_that_was_fitted_later_was_not_in():
    later = DATE + datetime.timedelta(1)
    assert "old cell" in {use.battery for use in battery_use(RIG, {"baritone": 1}, 0, later)}
    assert "old cell" not in {use.battery for use in battery_use(RIG, {"baritone": 1}, 0, DATE)}


def test_hours_that_would_be_written_as_none_are_left_out():
    assert battery_use(RIG, {"tenor": 0.004}, 0.004, DATE) == ()


def test_played_lengths_stand_beside_the_written_one_and_the_median():
    songs = {"ash": Song.model_validate({"format": 1, "title": "Ash", "duration": "4:00"})}
    show = Show.model_validate({"format": 1, "title": "Friday"})
    (ash,) = song_lengths(Book(songs=songs), show, night(ash=251.4, gone=100.0), {"ash": [240, 251.4, 249]})
    assert (ash.song, ash.written_s, ash.played_s, ash.median_s, ash.nights, ash.why_not) == (
        "ash",
        240,
        251,
        249,
        3,
        "",
    )


def test_a_song_that_was_broken_off_at_soundcheck_is_no_part_of_the_median():
    songs = {"ash": Song.model_validate({"format": 1, "title": "Ash", "duration": "4:00"})}
    show = Show.model_validate({"format": 1, "title": "Friday"})
    (ash,) = song_lengths(Book(songs=songs), show, night(ash=251.4), {"ash": [20, 251.4, 249, 9000]})
    assert (ash.median_s, ash.nights) == (250, 2)


@pytest.mark.parametrize(
    ("venue", "date", "why"),
    [
        (None, DATE, "the show names no venue"),
        ("gone", DATE, "the venue gone is not in the book"),
        ("room", None, "the run has no date"),
        ("room", datetime.date(2026, 11, 13), "this run was on 2026-11-13, and the show is there on 2026-11-20"),
        ("known", DATE, "a visit on 2026-11-20 is filed already"),
    ],
)
def test_why_there_is_no_visit_is_said(venue: str | None, date: datetime.date | None, why: str):
    room = {"format": 1, "title": "Room"}
    venues = {
        "room": Venue.model_validate(room),
        "known": Venue.model_validate({**room, "visits": [{"date": DATE}]}),
    }
    show = Show.model_validate({"format": 1, "title": "Friday", "date": DATE, "venue": venue})
    assert visit_to_file(Book(shows={"friday": show}, venues=venues), "friday", date, ()) == (None, why)


def test_the_visit_has_the_trims_as_they_were_left():
    venue = Venue.model_validate({"format": 1, "title": "Room", "trims": {"interface_volume_db": 1.5}})
    show = Show.model_validate(
        {"format": 1, "title": "Friday", "venue": "room", "trims": {"interface_volume_db": 0.5, "targets": {"wet": 2}}}
    )
    book = Book(shows={"friday": show}, venues={"room": venue})
    visit, _ = visit_to_file(book, "friday", DATE, (TrimPlayed("interface volume", 0.5, -1.0, "dB", 3),))
    assert visit is not None
    assert (visit.trims.interface_volume_db, dict(visit.trims.targets)) == (0.5, {"wet": 2})


def test_a_duration_that_was_taken_from_a_night_is_expected_as_it_stands_and_the_night_counts_once():
    assert expected_length(250, [250.3]).expected_s == pytest.approx(250.3)
    assert expected_length(250, [250.3]).rests_on == 1
    assert expected_length(250, [250.3, 240, 244]).expected_s == pytest.approx((2 * 250.3 + 2 * 242) / 4)
