"""How a row goes from column to column."""

from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.shapes import columns, row_in, value_at
from showrunner.model.song import Shape

SHAPES: tuple[Shape, ...] = get_args(Shape)

rows = st.lists(st.tuples(st.integers(0, 100), st.floats(-200, 200)), min_size=1, max_size=8, unique_by=lambda p: p[0])


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_is_flat_beyond_its_ends(shape):
    assert value_at([20, 60], [3, 12], shape, 0) == 3
    assert value_at([20, 60], [3, 12], shape, 100) == 12


@pytest.mark.parametrize("shape", SHAPES)
def test_one_column_is_a_constant(shape):
    assert [value_at([40], [7], shape, at) for at in (0, 40, 100)] == [7, 7, 7]


@pytest.mark.parametrize("shape", SHAPES)
@settings(max_examples=60)
@given(points=rows)
def test_every_shape_meets_its_columns(shape, points):
    travel, values = zip(*sorted(points), strict=True)
    assert [value_at(travel, values, shape, at) for at in travel] == list(values)


@pytest.mark.parametrize("shape", SHAPES)
@settings(max_examples=60)
@given(points=rows, at=st.floats(0, 100))
def test_no_shape_leaves_the_values_of_the_columns_around_it(shape, points, at):
    travel, values = zip(*sorted(points), strict=True)
    around = [v for x, v in zip(travel, values, strict=True) if x <= at][-1:]
    around += [v for x, v in zip(travel, values, strict=True) if x >= at][:1]
    slack = 1e-12 * max(map(abs, around))
    assert min(around) - slack <= value_at(travel, values, shape, at) <= max(around) + slack


def test_step_holds_a_value_until_the_next_column():
    at = [0, 49.9, 50, 99.9, 100]
    assert [value_at([0, 50, 100], [1, 2, 3], "step", t) for t in at] == [1, 1, 2, 2, 3]


def test_straight_is_half_way_in_the_middle():
    assert value_at([0, 50, 100], [3, 3, 12], "straight", 75) == 7.5


def test_smooth_between_two_columns_is_a_straight_line():
    assert value_at([0, 100], [-10, 30], "smooth", 25) == pytest.approx(0)


def test_smooth_does_not_swing_past_a_column_where_it_rests():
    after_rest = [value_at([0, 50, 100], [60, 20, 20], "smooth", at) for at in range(50, 101)]
    assert after_rest == [20] * 51


def test_columns_so_close_that_a_slope_overflows_still_give_a_value_between_them():
    assert 0 <= value_at([0, 5e-324, 100], [0, 50, 100], "smooth", 50) <= 100


def test_values_that_do_not_match_their_columns_are_refused():
    with pytest.raises(ValueError, match="2 values for 3 columns"):
        value_at([0, 50, 100], [1, 2], "straight", 0)


def test_a_row_without_columns_of_its_own_takes_the_curves(curve):
    moves = curve([0, 50, 100], drive=[3, 3, 12], width={"travel": [0, 30], "values": [0, 40]})
    assert columns(moves, "drive") == (0, 50, 100)
    assert columns(moves, "width") == (0, 30)
    assert row_in(moves, "width")(15) == 20
