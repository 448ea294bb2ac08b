"""Rows between their columns against SciPy's PchipInterpolator, numpy.interp and the equal-power law."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from showrunner.curves.shapes import smooth_slopes, value_at

# Fritsch and Carlson (1980), RPN 14, as quoted by others; some copies misprint the third value as 4.37498e-5.
RPN_14 = (
    [7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20],
    [0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994],
)
# Akima (1970), as quoted by others.
AKIMA = ([0, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15], [10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 85])

DATA = {"RPN 14": RPN_14, "Akima": AKIMA}

made_points = st.lists(
    st.tuples(st.integers(0, 1000), st.integers(-2000, 2000)), min_size=2, max_size=9, unique_by=lambda p: p[0]
).map(lambda points: tuple([n / 10 for n in axis] for axis in zip(*sorted(points), strict=True)))


def _grid(xs):
    return np.linspace(xs[0] - 1, xs[-1] + 1, 801)


@pytest.mark.parametrize("name", DATA)
def test_smooth_is_scipys_monotone_cubic_on_published_data(name):
    xs, ys = DATA[name]
    inside = np.linspace(xs[0], xs[-1], 2001)
    ours = [value_at(xs, ys, "smooth", x) for x in inside]
    assert ours == pytest.approx(PchipInterpolator(xs, ys)(inside), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("name", DATA)
def test_smooth_never_turns_where_the_published_data_do_not(name):
    # Both sets never fall: the property that Fritsch and Carlson ask of an interpolant.
    xs, ys = DATA[name]
    ours = [value_at(xs, ys, "smooth", x) for x in np.linspace(xs[0], xs[-1], 2001)]
    assert all(b >= a - 1e-12 for a, b in pairwise(ours))


@settings(max_examples=150)
@given(points=made_points)
def test_smooth_is_scipys_monotone_cubic_on_made_points(points):
    xs, ys = points
    inside = np.linspace(xs[0], xs[-1], 101)
    ours = [value_at(xs, ys, "smooth", x) for x in inside]
    assert ours == pytest.approx(PchipInterpolator(xs, ys)(inside), rel=1e-9, abs=1e-9)


@settings(max_examples=150)
@given(points=made_points)
def test_slopes_at_the_columns_are_scipys(points):
    xs, ys = points
    scipys = PchipInterpolator(xs, ys).derivative()(xs)
    scale = max(1.0, *(abs(slope) for slope in scipys))
    assert smooth_slopes(xs, ys) == pytest.approx(scipys, abs=1e-9 * scale)


@settings(max_examples=150)
@given(points=made_points)
def test_straight_is_numpy_interp(points):
    xs, ys = points
    ours = [value_at(xs, ys, "straight", x) for x in _grid(xs)]
    assert ours == pytest.approx(np.interp(_grid(xs), xs, ys), rel=1e-12, abs=1e-10)


def test_the_middle_of_an_equal_power_row_is_3_01_db_down():
    # The equal-power crossfade's middle: −3.01 dB, half the power; recomputed and agreeing.
    for values in ([0, 100], [100, 0]):
        middle = value_at([0, 100], values, "equal-power", 50) / 100
        assert 20 * math.log10(middle) == pytest.approx(-3.01, abs=0.005)


@settings(max_examples=100)
@given(at=st.floats(0, 100))
def test_two_opposite_equal_power_rows_keep_their_summed_power(at):
    rising, falling = (value_at([0, 100], values, "equal-power", at) for values in ([0, 1], [1, 0]))
    assert rising**2 + falling**2 == pytest.approx(1, abs=1e-12)


def test_equal_power_keeps_its_power_sum_across_several_columns():
    up, down = [0, 100, 0], [100, 0, 100]
    for at in range(101):
        power = sum(value_at([0, 30, 100], row, "equal-power", at) ** 2 for row in (up, down))
        assert power == pytest.approx(10000)
