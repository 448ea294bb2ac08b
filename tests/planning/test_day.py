"""A day sheet from the first note back to the load-in."""

from itertools import pairwise

import pytest

from showrunner.model.checklist import Checklist
from showrunner.planning.day import DOORS_MIN, LAST_MIN, SOUNDCHECK_MIN, day_sheet
from showrunner.planning.timing import running_time

SONGS = {name: {"duration": "25:00"} for name in ("ash", "beck")}


@pytest.fixture
def day(make_book, make_show):
    """The day of a show, its parts by name."""

    def make(*sets, checklists=(), **more):
        book = make_book(SONGS, curfew="22:00")._replace(
            checklists={
                slug: Checklist.model_validate({"format": 1, "title": slug, "when": when}) for slug, when in checklists
            }
        )
        show = make_show(*sets, venue="ropewalk", checklists=[slug for slug, _ in checklists], **more)
        return day_sheet(book, show, running_time(book, show))

    return make


def test_the_day_is_counted_back_from_the_first_note(day):
    parts = {part.what: part for part in day(["ash"], start="20:45")}
    assert parts["tune, last checks"].at == 20 * 60 + 45 - LAST_MIN
    assert parts["soundcheck"].at == 20 * 60 + 45 - LAST_MIN - DOORS_MIN - SOUNDCHECK_MIN
    assert next(iter(parts)) == "load-in"


def test_parts_before_the_show_follow_each_other_without_a_gap(day):
    before = [part for part in day(["ash"], start="20:45") if part.at <= 20 * 60 + 45]
    for part, following in pairwise(before):
        assert part.at + part.minutes == following.at


def test_sets_and_the_break_between_them_have_their_times(day):
    parts = day(["ash"], ["beck"], start="20:45")
    first, pause, second = (part for part in parts if part.what in ("set 1", "break", "set 2"))
    assert first.minutes == pytest.approx(26)
    assert pause.at == pytest.approx(20 * 60 + 45 + 26)
    assert second.at == pytest.approx(pause.at + pause.minutes)


def test_after_the_last_note_come_walking_off_and_packing(day):
    parts = {part.what: part for part in day(["ash"], start="20:45")}
    assert parts["walk off"].at == pytest.approx(20 * 60 + 45 + 26)
    assert parts["pack-down"].at == pytest.approx(parts["walk off"].at + 1)
    assert parts["curfew"].at == 22 * 60


def test_checklists_stand_at_their_part_of_the_day(day):
    lists = [("arriving", "on arrival"), ("lines", "before soundcheck"), ("end", "after the show"), ("van", "Sundays")]
    parts = {part.what: part.checklists for part in day(["ash"], start="20:45", checklists=lists)}
    assert (parts["load-in"], parts["line check"], parts["pack-down"]) == (("arriving",), ("lines",), ("end",))


def test_a_show_without_a_start_has_no_day(day):
    assert day(["ash"]) == ()
