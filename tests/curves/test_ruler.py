"""The ruler from heel to toe."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.ruler import cell_of, ruler, scale, spans, way_at
from showrunner.curves.shapes import row_in


@pytest.fixture
def stages(curve):
    return curve(
        [0, 50, 100],
        drive=[3, 3, 12],
        shimmer={"values": [60, 20, 20], "shape": "smooth"},
        width={"travel": [20, 40], "values": [0, 40]},
        bump=[0, 9, 0],
        gate={"values": [0, 1, 0], "shape": "step"},
        still=[5, 5, 5],
        climb=[0, 1, 2],
    )


def _told(curve, name):
    return [tuple(span) for span in spans(curve, name)]


def test_a_row_that_waits_rests_and_then_rises(stages):
    assert _told(stages, "drive") == [(0, 50, "rests"), (50, 100, "rises")]


def test_a_row_that_falls_early_rests_after(stages):
    assert _told(stages, "shimmer") == [(0, 50, "falls"), (50, 100, "rests")]


def test_before_its_first_and_after_its_last_column_a_row_rests(stages):
    assert _told(stages, "width") == [(0, 20, "rests"), (20, 40, "rises"), (40, 100, "rests")]


def test_past_half_way_a_row_may_turn(stages):
    assert _told(stages, "bump") == [(0, 50, "rises"), (50, 100, "falls")]


def test_a_stepped_row_jumps_at_its_columns_and_rests_between(stages):
    jumps = [(0, 50, "rests"), (50, 50, "rises"), (50, 100, "rests"), (100, 100, "falls")]
    assert _told(stages, "gate") == jumps


def test_stretches_that_go_the_same_way_are_one(stages):
    assert _told(stages, "climb") == [(0, 100, "rises")]
    assert _told(stages, "still") == [(0, 100, "rests")]


tenths = st.integers(0, 10).map(lambda tenth: 10 * tenth)
rows = st.lists(st.tuples(tenths, st.integers(0, 3)), min_size=1, max_size=6, unique_by=lambda point: point[0])
shapes = st.sampled_from(["straight", "smooth", "step", "equal-power"])


@settings(max_examples=60)
@given(points=rows, shape=shapes)
def test_spans_go_from_heel_to_toe_without_gaps(curve, points, shape):
    travel, values = zip(*sorted(points), strict=True)
    made = spans(curve([0], row={"travel": travel, "values": values, "shape": shape}), "row")
    assert (made[0].start, made[-1].end) == (0, 100)
    assert all(before.end == after.start for before, after in pairwise(made))


@settings(max_examples=60)
@given(points=rows, shape=shapes, width=st.integers(12, 120))
def test_every_way_a_row_moves_for_a_tenth_of_travel_has_its_sign_on_the_ruler(curve, points, shape, width):
    travel, values = zip(*sorted(points), strict=True)
    made = spans(curve([0], row={"travel": travel, "values": values, "shape": shape}), "row")
    line = ruler(made, width)
    assert len(line) == width
    assert {"rises": "╱" in line, "falls": "╲" in line} == {
        way: any(span.way == way for span in made) for way in ("rises", "falls")
    }


def test_the_ruler_shows_each_way_with_a_sign_of_its_own(stages):
    assert ruler(spans(stages, "drive"), 10) == "·····╱╱╱╱╱"
    assert ruler(spans(stages, "shimmer"), 10) == "╲╲╲╲╲·····"


def test_a_jump_takes_one_sign(stages):
    assert ruler(spans(stages, "gate"), 9) == "····╱···╲"


def test_a_mark_shows_where_the_control_stands(stages):
    assert ruler(spans(stages, "drive"), 10, stands=100) == "·····╱╱╱╱┃"


def test_what_a_target_does_where_the_control_stands(stages):
    drive, gate = spans(stages, "drive"), spans(stages, "gate")
    assert [way_at(drive, travel) for travel in (0, 49, 50, 100)] == ["rests", "rests", "rises", "rises"]
    assert way_at(gate, 70) == "rests"


def test_heel_and_toe_are_the_first_and_the_last_character():
    assert [cell_of(travel, 40) for travel in (-5, 0, 100, 105)] == [0, 0, 39, 39]


def test_the_scale_is_heavy_up_to_where_the_control_stands():
    assert scale([0, 50, 100], 11) == "┠────┼────┨"
    assert scale([0, 50, 100], 11, stands=72) == "┣━━━━╋━◆──┨"


def test_a_row_rests_where_trims_take_it_past_its_range(curve):
    """0 to 100 % with 40 added on a target that ends at 100: it rests from 60 % of travel on."""
    first, second = spans(curve([0, 100], drive=[0, 100]), "drive", 40, (0, 100))
    assert (first.way, second.way) == ("rises", "rests")
    assert first.end == second.start == pytest.approx(60, abs=1e-3)


@given(
    values=st.lists(st.integers(0, 100), min_size=2, max_size=5),
    shape=st.sampled_from(["straight", "smooth", "step", "equal-power"]),
    by=st.integers(-120, 120),
)
def test_a_trimmed_row_goes_the_way_its_spans_say(curve, values, shape, by):
    travel = [100 * at / (len(values) - 1) for at in range(len(values))]
    trimmed = curve(travel, drive={"values": values, "shape": shape})
    found = spans(trimmed, "drive", by, (0, 100))
    row = row_in(trimmed, "drive")

    def comes_out(at):
        return min(max(row(at) + by, 0), 100)

    for span in found:
        inner = [span.start + (span.end - span.start) * share for share in (0.01, 0.3, 0.5, 0.7, 0.99)]
        for before, after in pairwise(map(comes_out, inner)):
            if span.way == "rests":
                assert before == pytest.approx(after, abs=1e-6)
            else:
                assert (after - before) * (1 if span.way == "rises" else -1) >= 0
        if span.start < span.end and span.way != "rests":
            assert comes_out(span.start) != comes_out(span.end)
