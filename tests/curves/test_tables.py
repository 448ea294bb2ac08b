"""A curve compiled: numbers for every raw value, bytes for what changes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.laws import to_number
from showrunner.curves.shapes import row_in
from showrunner.curves.tables import compile_curve
from showrunner.curves.travel import travel_of

SHAPES = ["straight", "smooth", "step", "equal-power"]

moves = st.builds(
    lambda travel, values, shape: {"travel": sorted(travel), "values": values[: len(travel)], "shape": shape},
    st.lists(st.integers(0, 100), min_size=1, max_size=5, unique=True),
    st.lists(st.integers(-10, 110), min_size=5, max_size=5),
    st.sampled_from(SHAPES),
)


@pytest.fixture
def swell(curve):
    return curve([0, 50, 100], mix=[0, 20, 45], drive=[3, 3, 12], gone=[0, 1, 2])


@pytest.fixture
def rig(target):
    return {"drive": target(cc=70, range=[-12, 12]), "mix": target(cc=71), "other": target(cc=72)}


@settings(max_examples=40)
@given(rows=st.lists(moves, min_size=1, max_size=3), bits=st.sampled_from([7, 14]), fine=st.booleans())
def test_a_table_says_what_working_out_each_raw_value_says(control, target, curve, rows, bits, fine):
    names = "abc"[: len(rows)]
    rig = {name: target(cc=20 + n, bits=bits) for n, name in enumerate(names)}
    moves = curve([0], **dict(zip(names, rows, strict=True)))
    pedal = control(bits=14) if fine else control(calibration=[[2, 0], [60, 50], [125, 100]])
    table = compile_curve(pedal, moves, rig)
    shapes = {name: row_in(moves, name) for name in names}
    for raw in range(0, pedal.top + 1, 61 if fine else 1):
        travel = travel_of(pedal, raw)
        assert table.row(raw) == tuple(to_number(rig[name], shapes[name](travel)) for name in names)


def test_a_fourteen_bit_control_has_a_row_for_each_of_its_16384_values(control, target, curve):
    rig, moves, pedal = {"mix": target(bits=14)}, curve([0, 100], mix=[0, 100]), control(bits=14)
    table = compile_curve(pedal, moves, rig)
    assert [table.row(raw) for raw in range(16384)] == [(raw,) for raw in range(16384)]


def test_equal_rows_are_one_object(control, target, curve):
    table = compile_curve(control(bits=14), curve([0, 50, 100], mix=[0, 80, 0]), {"mix": target()})
    first_seen = {}
    assert all(first_seen.setdefault(row, row) is row for row in map(table.row, range(16384)))
    assert len(first_seen) < 128


def test_targets_the_rig_lacks_are_left_out_and_the_curves_order_kept(control, swell, rig):
    assert compile_curve(control(), swell, rig).targets == ("mix", "drive")


def test_values_are_exact_where_numbers_are_rounded(control, swell, rig):
    table = compile_curve(control(), swell, rig)
    assert table.value(75) == (32.5, 7.5)


def test_only_the_targets_whose_number_differs_are_sent(control, swell, rig):
    table = compile_curve(control(), swell, rig)
    assert [send.message for send in table.sends(table.row(0), 40)] == [bytes([0xB0, 71, table.row(40)[0]])]


def test_everything_is_sent_where_nothing_is_known(control, swell, rig):
    table = compile_curve(control(), swell, rig)
    assert [send.message[1] for send in table.sends(None, 0)] == [71, 70]


def test_a_target_whose_number_is_not_known_is_sent(control, swell, rig):
    table = compile_curve(control(), swell, rig)
    mix, _ = table.row(9)
    assert [send.message[1] for send in table.sends((mix, None), 9)] == [70]


def test_nothing_is_sent_where_nothing_changes(control, swell, rig):
    table = compile_curve(control(), swell, rig)
    assert table.sends(table.row(64), 64) == ()


def test_each_message_knows_its_port(control, target, curve):
    rig = {"mix": target(port="host"), "lamp": target(port="floor", cc=5, bits=14)}
    table = compile_curve(control(), curve([0, 100], mix=[0, 100], lamp=[0, 100]), rig)
    assert [(send.port, send.message[1]) for send in table.sends(None, 127)] == [
        ("host", 20),
        ("floor", 5),
        ("floor", 37),
    ]


def test_a_curve_of_which_the_rig_has_nothing_sends_nothing(control, swell):
    table = compile_curve(control(), swell, {})
    assert (table.targets, table.row(127), table.sends(None, 127)) == ((), (), ())


def test_one_pedal_moves_three_targets_and_past_half_way_one_that_rested_before(control, target, curve):
    """Common practice, no source."""
    names = ("mix", "drive", "shimmer", "width")
    rig = {name: target(cc=20 + n) for n, name in enumerate(names)}
    moves = curve([0, 50, 100], mix=[0, 20, 45], drive=[3, 3, 12], shimmer=[60, 20, 0], width=[0, 40, 60])
    table = compile_curve(control(), moves, rig)
    first_half, second_half = (_moving(table, names, *ends) for ends in [(0, 63), (64, 127)])
    assert first_half == {"mix", "shimmer", "width"}
    assert second_half == {"mix", "drive", "shimmer", "width"}


def _moving(table, names, start, end):
    return {name for name, a, b in zip(names, table.row(start), table.row(end), strict=True) if a != b}


def test_past_half_way_a_target_may_turn_the_other_way(control, target, curve):
    """Common practice, no source."""
    table = compile_curve(control(), curve([0, 50, 100], shimmer=[60, 20, 80]), {"shimmer": target()})
    numbers = [table.row(raw)[0] for raw in range(128)]
    assert numbers[:64] == sorted(numbers[:64], reverse=True)
    assert numbers[64:] == sorted(numbers[64:])


def test_numbers_are_worked_out_once_and_not_before_they_are_wanted(control, target, curve):
    table = compile_curve(control(), curve([0, 100], mix=[0, 100]), {"mix": target()})
    assert table.value(50.0) == (50.0,)
    assert "_rows" not in vars(table)
    table.compile()
    rows = vars(table)["_rows"]
    assert len(rows) == 128
    assert table.row(127) is rows[127]
