"""A night beside its plan."""

import pytest

from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue
from showrunner.planning.compared import Compared, compare
from showrunner.planning.night import Line, night_of
from showrunner.planning.timing import running_time

SONGS = {
    slug: Song.model_validate({"format": 1, "title": slug.title(), "duration": length})
    for slug, length in (("ash", "4:00"), ("beck", "3:00"), ("cove", "5:00"))
}
SHOW = Show.model_validate(
    {
        "format": 1,
        "title": "Friday",
        "venue": "room",
        "sets": [
            {"songs": [{"song": "ash", "then": "talk 1:00"}, {"song": "beck", "then": "segue"}, {"song": "cove"}]}
        ],
    }
)
ROOM = Venue.model_validate({"format": 1, "title": "Room", "curfew": "00:30"})
BOOK = Book(songs=SONGS, shows={"friday": SHOW}, venues={"room": ROOM})


def told(*rows: tuple[float, str, str], clock_min: float | None = None) -> Compared:
    night = night_of([Line(at_s, kind, song, clock_min=clock_min) for at_s, kind, song in rows], {})
    assert night is not None
    return compare(night, running_time(BOOK, SHOW), {("ash", "beck"): 50.0})


def test_songs_and_changeovers_come_in_the_order_they_were_played_each_beside_its_plan():
    parts = told(
        (0, "song", "ash"), (250, "changeover", "beck"), (300, "song", "beck"), (480, "song", "cove"), (800, "over", "")
    ).parts
    assert [(p.song, p.after, p.planned_starts_s, p.planned_s, p.starts_s, p.played_s) for p in parts] == [
        ("ash", None, 0, 240, 0, 250),
        ("ash", "beck", 240, 60, 250, 50),
        ("beck", None, 300, 180, 300, 180),
        ("beck", "cove", 480, 0, 480, 0),
        ("cove", None, 480, 300, 480, 320),
    ]
    assert [part.over_s for part in parts] == [10, -10, 0, 0, 20]
    assert parts[1].needs_s == 50


def test_a_song_that_was_not_planned_has_no_plan_and_a_planned_one_left_out_is_named():
    compared = told((0, "song", "ash"), (240, "changeover", "dune"), (250, "song", "dune"), (400, "over", ""))
    assert compared.not_played == ("beck", "cove")
    dune = compared.parts[-1]
    assert (dune.planned_s, dune.planned_starts_s, dune.over_s) == (None, None, None)
    assert compared.parts[1].planned_s is None


def test_a_song_that_was_not_left_has_no_length_and_no_difference():
    (part,) = told((0, "song", "ash")).parts
    assert (part.played_s, part.over_s) == (None, None)


@pytest.mark.parametrize(("clock_min", "late_s"), [(24 * 60 + 20, -150.0), (24 * 60 + 29, 390.0), (None, None)])
def test_the_finish_stands_against_a_curfew_past_midnight(clock_min: float | None, late_s: float | None):
    compared = told((0, "song", "ash"), (450, "over", ""), clock_min=clock_min)
    assert compared.late_s == (None if late_s is None else pytest.approx(late_s))


def test_the_whole_is_from_the_first_note_to_the_last():
    compared = told((0, "song", "ash"), (300, "over", ""))
    assert (compared.planned_s, compared.lasted_s, compared.over_s) == (780, 300, -480)
