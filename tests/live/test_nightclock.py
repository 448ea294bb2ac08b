"""The time of day of a show over the end and the beginning of summer time, in both halves of the world.

The rules are POSIX TZ strings (POSIX.1, 8.3), so that no table of zones is needed: the European Union's (Directive
2000/84/EC, articles 2 and 3), and as in IANA's tz database those of Sydney, Lord Howe Island and Santiago.
"""

import datetime
import time
from collections.abc import Callable, Iterator

import pytest
from needs import did_not_run

from showrunner.live.nightclock import clock, counted, minutes_of

BERLIN = "CET-1CEST,M3.5.0,M10.5.0/3"
SYDNEY = "AEST-10AEDT,M10.1.0,M4.1.0/3"
LORD_HOWE = "<+1030>-10:30<+11>-11,M10.1.0,M4.1.0"
SANTIAGO = "<-04>4<-03>,M9.1.6/24,M4.1.6/24"

NIGHTS = [
    (BERLIN, datetime.date(2026, 10, 24), 60, 27),
    (BERLIN, datetime.date(2026, 3, 28), -60, 26),
    (SYDNEY, datetime.date(2027, 4, 3), 60, 27),
    (SYDNEY, datetime.date(2026, 10, 3), -60, 26),
    (LORD_HOWE, datetime.date(2027, 4, 3), 30, 26),
    (SANTIAGO, datetime.date(2027, 4, 3), 60, 24),
    (SANTIAGO, datetime.date(2026, 9, 5), -60, 24),
]
"""A zone, a show's date, by how much the clock is put back in that night, minutes, and at which hour of it."""


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Lets the machine's zone be another."""
    if not hasattr(time, "tzset"):
        did_not_run("this system has no other zone for one program")

    def be(rule: str) -> None:
        monkeypatch.setenv("TZ", rule)
        time.tzset()

    yield be
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize(("rule", "date", "back_min", "hour"), NIGHTS)
def test_a_minute_is_as_long_as_any_other_while_the_clock_is_put_back_or_on(
    zone, rule: str, date: datetime.date, back_min: int, hour: int
) -> None:
    zone(rule)
    six_s = datetime.datetime.combine(date, datetime.time(18)).timestamp()
    last_min = 12 * 60 + back_min
    for gone_min in range(0, last_min, 7):
        minutes = minutes_of(date, six_s + 60 * gone_min)
        assert minutes == 18 * 60 + gone_min
        put_back = back_min if minutes >= 60 * hour else 0
        assert clock(date, minutes) == minutes - put_back
    assert minutes_of(date, six_s + 60 * last_min) is None
    assert clock(date, 60 * hour - 1) == 60 * hour - 1
    assert clock(date, 60 * hour) == 60 * hour - back_min


@pytest.mark.parametrize(("rule", "date", "back_min", "hour"), NIGHTS)
def test_what_is_written_is_the_clock_on_the_wall(
    zone, rule: str, date: datetime.date, back_min: int, hour: int
) -> None:
    zone(rule)
    for written in (8 * 60, 20 * 60 + 30, 60 * hour - max(0, back_min) - 1):
        assert counted(date, written) == written
    after = 60 * hour + max(0, -back_min) + 30
    found = counted(date, after)
    assert found == after + back_min
    assert clock(date, found) == after


def test_on_any_other_night_all_are_the_same(zone) -> None:
    zone(BERLIN)
    date = datetime.date(2026, 11, 28)
    for minutes in range(6 * 60, 30 * 60, 11):
        at = datetime.datetime.combine(date, datetime.time()) + datetime.timedelta(minutes=minutes)
        assert minutes_of(date, at.timestamp()) == counted(date, minutes) == clock(date, minutes) == minutes
    assert minutes_of(None, 0.0) is None
    assert (counted(None, 1230), counted(date, None), clock(None, 1.5)) == (1230, None, 1.5)


def test_the_day_of_the_change_itself_counts_from_its_own_clock(zone) -> None:
    zone(BERLIN)
    sunday = datetime.date(2026, 10, 25)
    eight = datetime.datetime.combine(sunday, datetime.time(20)).timestamp()
    assert minutes_of(sunday, eight) == counted(sunday, 20 * 60) == 20 * 60
