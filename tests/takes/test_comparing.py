"""Two times through the same playing: where a target counts as different, and where most."""

from typing import Any

from showrunner.model.rig import Rig
from showrunner.takes.comparing import Difference, differences
from showrunner.takes.replaying import Sent


def rig(**target: Any) -> Rig:
    """A rig with one target, which goes from -20 to 20 dB unless told."""
    about = {"port": "host", "channel": 1, "cc": 70, "unit": "dB", "range": (-20.0, 20.0), **target}
    return Rig.model_validate(
        {"format": 1, "title": "R", "ports": {"host": {"output": "Host*"}}, "targets": {"drive": about}}
    )


def sent(*rows: tuple[float, float, int]) -> tuple[Sent, ...]:
    """The target set at these seconds to a value and its number."""
    return tuple(Sent(at_s, "host", bytes((0xB0, 70, 0)), "drive", value, "dB", number) for at_s, value, number in rows)


RIG = rig()


def found(then: tuple[Sent, ...], now: tuple[Sent, ...], on: tuple[Rig, Rig] = (RIG, RIG)) -> tuple[Difference, ...]:
    return differences(then, now, on, 10.0)


def test_a_host_that_settles_longer_makes_no_difference():
    assert found(sent((0.1, 4.0, 76)), sent((0.3, 4.0, 76))) == ()


def test_a_target_set_much_later_differs_until_then():
    (one,) = found(sent((0.0, 4.0, 76)), sent((6.0, 4.0, 76)))
    assert (one.from_s, one.seconds, one.then, one.now) == (0.0, 6.0, 4.0, None)


def test_a_target_that_one_of_the_two_never_sets_differs_from_then_on():
    (one,) = found(sent((2.0, 4.0, 76)), ())
    assert (one.from_s, one.seconds, one.then, one.now) == (2.0, 8.0, 4.0, None)


def test_most_is_where_both_values_are_known_even_if_nothing_was_known_before():
    (one,) = found(sent((0.0, 4.0, 76), (8.0, 9.0, 92)), sent((3.0, 3.0, 73), (8.0, -1.0, 60)))
    assert (one.most_s, one.then, one.now) == (8.0, 9.0, -1.0)


def test_rigs_that_number_a_target_otherwise_are_compared_by_value():
    # 10 dB on a range of -20 to 20: 127 · 30/40 = 95.25; on -40 to 20: 127 · 50/60 = 105.8. Steps of 0.31 and 0.47 dB.
    wide = rig(range=(-40.0, 20.0))
    assert found(sent((0.0, 9.92, 95)), sent((0.0, 10.08, 106)), (RIG, wide)) == ()
    (one,) = found(sent((0.0, 9.92, 95)), sent((0.0, 4.88, 95)), (RIG, wide))
    assert (one.seconds, one.then, one.now) == (10.0, 9.92, 4.88)


def test_fourteen_bits_and_seven_are_the_same_as_near_as_seven_come():
    fine = rig(bits=14)
    assert found(sent((0.0, 0.06, 8216)), sent((0.0, 0.16, 64)), (fine, RIG)) == ()
    assert len(found(sent((0.0, 0.06, 8216)), sent((0.0, 0.79, 66)), (fine, RIG))) == 1


def test_on_one_rig_a_step_of_one_number_is_a_difference():
    assert len(found(sent((0.0, 0.0, 63)), sent((0.0, 0.3, 64)))) == 1
