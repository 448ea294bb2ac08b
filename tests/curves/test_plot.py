"""All rows of a control, drawn."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.plot import plot, travel_at
from showrunner.model.song import Curve


@pytest.fixture
def swell(curve):
    return curve([0, 50, 100], mix=[0, 20, 45], drive=[3, 3, 12], shimmer={"values": [60, 20, 20], "shape": "smooth"})


@pytest.fixture
def rig(target):
    return {"mix": target(unit="%"), "drive": target(unit="dB", range=[-12, 12]), "shimmer": target(unit="%")}


def _dots(line):
    return [char for char in line if "⠀" < char <= "⣿"]


def test_the_plot_has_the_height_asked_for_and_a_ruler_line_for_each_target(swell, rig):
    lines = plot(swell, rig, 80, 10)
    assert len(lines) == 10 + 2 + 3
    assert [line.split()[0] for line in lines[-3:]] == ["1", "2", "3"]


@settings(max_examples=40)
@given(
    width=st.integers(40, 200),
    height=st.integers(2, 40),
    stands=st.none() | st.floats(0, 100),
    values=st.lists(st.integers(-20, 120), min_size=3, max_size=3),
)
def test_no_line_is_wider_than_asked_for(curve, target, width, height, stands, values):
    moves = curve([0, 5, 100], **{"a long name of a target, ｗｉｄｅ": values, "b": [1, 2, 3]})
    lines = plot(moves, {"b": target(unit="dB")}, width, height, stands)
    assert max(map(len, lines)) <= width
    assert len(lines) == height + 4


def test_each_row_has_its_figure_at_heel_and_toe(swell, rig):
    drawn = plot(swell, rig, 80, 12)[:12]
    for figure in "123":
        heel, toe = ("".join(line[slice(*part)] for line in drawn) for part in [(0, 20), (60, None)])
        assert figure in heel
        assert figure in toe


def test_more_than_nine_rows_keep_their_whole_figures(curve):
    names = [f"t{number}" for number in range(1, 13)]
    lines = plot(curve([0, 50, 100], **{name: [n, 50 + n, n] for n, name in enumerate(names)}), {}, 80, 12)
    assert [line.split()[0] for line in lines[-12:]] == [str(number) for number in range(1, 13)]
    assert lines[-1].startswith("12 t12")
    same = plot(curve([0, 100], **{name: [50, 50] for name in names}), {}, 80, 5)
    assert same[2].startswith("1,2,3,4,… ")
    assert same[2].endswith(" 1,2,…")
    assert max(map(len, lines)) <= 80


def test_a_row_at_the_ends_of_its_range_is_drawn_in_the_first_and_the_last_line(curve, rig):
    drawn = plot(curve([0, 100], mix=[0, 100]), rig, 80, 12)[:12]
    assert drawn[0].endswith(" 1")
    assert drawn[-1].split()[:2] == ["low", "1"]


def test_more_is_drawn_higher_even_where_the_range_is_inverted(curve, target):
    drawn = plot(curve([0, 100], mix=[0, 100]), {"mix": target(range=[100, 0])}, 80, 12)[:12]
    assert drawn[0].endswith(" 1")


def test_a_log_target_is_drawn_in_octaves(curve, target):
    drawn = plot(curve([0], tone=[1000]), {"tone": target(law="log", range=[100, 10000], unit="Hz")}, 80, 11)[:11]
    assert [bool(_dots(line)) for line in drawn] == [False] * 5 + [True] + [False] * 5


def test_a_target_the_rig_lacks_is_drawn_in_its_own_range(swell):
    drawn = plot(swell, {}, 80, 12)
    assert drawn[0].endswith(" 1,2")
    assert drawn[-3].endswith(" 45")


def test_rows_differ_in_their_dashes(curve, target):
    rig = {name: target() for name in "abcd"}
    lines = [plot(curve([0], **{**{n: [200] for n in before}, "z": [50]}), rig, 80, 9)[4] for before in ("", "a", "ab")]
    assert len({"".join(_dots(line)) for line in lines}) == 3


def test_the_ruler_under_the_plot_has_the_values_at_the_columns(swell, rig):
    _mix, drive, shimmer = plot(swell, rig, 80, 12)[-3:]
    assert drive.startswith("2 drive    3 ····")
    assert "···3╱╱╱" in drive
    assert drive.endswith("╱╱ 12 dB")
    assert "╲╲20··" in shimmer


def test_a_stepped_value_stands_where_it_begins_to_hold(curve, target):
    line = plot(curve([0, 50, 100], gate={"values": [0, 40, 90], "shape": "step"}), {"gate": target()}, 80, 8)[-1]
    assert "··╱40··" in line
    assert line.endswith("╱ 90 %")


def test_columns_have_their_travel_under_the_scale(swell, rig):
    scale, numbers = plot(swell, rig, 80, 12)[12:14]
    assert numbers.split() == ["0", "50", "100"]
    assert abs(scale.index("┼") - numbers.index("50")) <= 1


def test_where_the_control_stands_is_marked_on_every_line_of_the_ruler(swell, rig):
    lines = plot(swell, rig, 80, 12, stands=75)
    places = {line.index(mark) for line, mark in zip(lines[12:13] + lines[14:], "◆┃┃┃", strict=True)}
    assert len(places) == 1


def test_a_curve_without_rows_is_just_an_empty_scale(curve):
    lines = plot(curve([0, 100]), {}, 60, 4)
    assert lines[4].split()[0] == "heel"
    assert not any(_dots(line) for line in lines)


@settings(max_examples=40)
@given(st.floats(0, 100), st.integers(40, 160))
def test_where_a_control_stands_is_read_off_the_plot_again(travel, width):
    made = Curve.model_validate({"travel": [0, 50, 100], "moves": {"mix": [0, 20, 45], "drive": [3, 3, 12]}})
    edge = next(line for line in plot(made, {}, width, 6, travel) if "◆" in line)
    room = edge.index(" toe") - edge.index("heel ") - len("heel ")
    assert abs(travel_at(made, {}, width, edge.index("◆")) - travel) <= 100 / (room - 1)
