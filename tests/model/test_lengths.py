import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.model.units import format_length, parse_length, parse_spoken_length


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
