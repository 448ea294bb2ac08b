"""How late a DIN wire is after a fast sweep, by hand."""

import pytest

from showrunner.checks.wire import MESSAGE_S, late_s
from showrunner.model.rig import Rig
from showrunner.model.song import Curve


def rig(*names: str, bits: int = 7) -> Rig:
    targets = {
        name: {"port": "host", "channel": 1, "cc": cc, "bits": bits, "range": [0, 100]}
        for cc, name in enumerate(names, 20)
    }
    return Rig.model_validate(
        {"format": 1, "title": "Rig", "ports": {"host": {"output": "Host", "wire": "din"}}, "targets": targets}
    )


def curve(travel: list[float], **moves: list[float]) -> Curve:
    return Curve.model_validate({"travel": travel, "moves": moves})


def test_a_wire_that_carries_every_reading_of_five_targets_is_never_late() -> None:
    """Common practice, no source: a fast sweep takes 0.25 s, and a board sends 200 messages a second at the most."""
    names = ["a", "b", "c", "d", "e"]
    moves = curve([0, 100], **{name: [0, 100] for name in names})
    assert late_s(moves, names, rig(*names)) == 0.0


def test_six_targets_at_every_reading_are_late_by_what_the_sweep_has_no_time_for() -> None:
    """By hand: 50 readings of 6 messages take 288 ms of 250."""
    names = ["a", "b", "c", "d", "e", "f"]
    moves = curve([0, 100], **{name: [0, 100] for name in names})
    assert late_s(moves, names, rig(*names)) == pytest.approx(50 * 6 * MESSAGE_S - 0.25)


def test_a_target_of_14_bits_takes_two_messages() -> None:
    names = ["a", "b", "c"]
    moves = curve([0, 100], **{name: [0, 100] for name in names})
    assert late_s(moves, names, rig(*names, bits=14)) == pytest.approx(50 * 6 * MESSAGE_S - 0.25)


def test_what_moves_late_in_the_travel_has_less_time() -> None:
    """By hand: resting for half the travel, 25 readings of 6 messages take 144 ms of 125, in one of both directions."""
    names = ["a", "b", "c", "d", "e", "f"]
    moves = curve([0, 50, 100], **{name: [0, 0, 100] for name in names})
    assert late_s(moves, names, rig(*names)) == pytest.approx(25 * 6 * MESSAGE_S - 0.125)


def test_a_number_that_does_not_change_is_not_sent() -> None:
    names = [*"abcdefghij"]
    moves = curve([0, 100], **{name: [0, 10] for name in names})
    assert late_s(moves, names, rig(*names)) == 0.0
