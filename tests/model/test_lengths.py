import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.model.units import (
    format_clock,
    format_clocks,
    format_length,
    format_lengths,
    parse_length,
    parse_spoken_length,
)


@pytest.mark.parametrize(
    ("typed", "seconds"), [("90s", 90), ("47m37s", 2857), ("1h24m", 5040), ("90m", 5400), ("2h5s", 7205), ("6:40", 400)]
)
def test_a_length_is_typed_as_one_says_it(typed: str, seconds: int) -> None:
    assert parse_spoken_length(typed) == seconds


@pytest.mark.parametrize("typed", ["1h99m", "1h60m", "5m75s", "1h90s", "2h59m60s"])
def test_only_the_largest_unit_goes_past_59(typed: str) -> None:
    with pytest.raises(ValueError, match="up to 59"):
        parse_spoken_length(typed)


@given(st.integers(0, 35_999))
def test_a_length_written_is_read_back(seconds: int) -> None:
    assert parse_length(format_length(seconds)) == seconds


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        ((90, 31.2), ("1:30", "0:31")),
        ((59.7, 60.2), ("0:59.7", "1:00.2")),
        ((0.3, 0), ("0:00.3", "0:00.0")),
        ((3599.996, 3600), ("59:59.996", "1:00:00.000")),
        ((12, 12, 12.0), ("0:12", "0:12", "0:12")),
    ],
)
def test_lengths_that_are_compared_look_as_different_as_they_are(seconds, said) -> None:
    assert format_lengths(*seconds) == said


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        ((22 * 60 + 30 + 20 / 60, 22 * 60 + 30), ("22:30:20", "22:30:00")),
        ((22 * 60 + 29 + 50 / 60, 22 * 60 + 30), ("22:29:50", "22:30:00")),
        ((22 * 60 + 31, 22 * 60 + 30), ("22:31", "22:30")),
        ((24 * 60 + 0.2 / 60, 24 * 60), ("00:00:00.2", "00:00:00.0")),
        ((1350, 1350), ("22:30", "22:30")),
    ],
)
def test_clock_times_that_are_compared_look_as_different_as_they_are(minutes, said) -> None:
    assert format_clocks(*minutes) == said


@given(st.floats(0, 3000), st.floats(-2, 2))
def test_one_clock_time_is_said_as_ever_where_it_is_alone(at: float, off: float) -> None:
    assert format_clocks(at) == (format_clock(at),)
    one, other = format_clocks(at, at + off)
    assert (one != other) == (round(at * 60, 3) != round((at + off) * 60, 3)) or abs(off) < 1e-4
