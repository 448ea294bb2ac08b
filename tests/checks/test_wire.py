"""How late a DIN wire is after a fast sweep, by hand and message by message."""

import random

import pytest

from showrunner.checks.wire import MESSAGE_S, late_s
from showrunner.curves.laws import to_number
from showrunner.curves.message import messages
from showrunner.curves.shapes import value_at
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
    """By hand: 13 numbers in 50 readings; at the last of them ten messages take 9.6 ms of 5."""
    names = [*"abcdefghij"]
    moves = curve([0, 100], **{name: [0, 10] for name in names})
    assert late_s(moves, names, rig(*names)) == pytest.approx(10 * MESSAGE_S - 0.005)


def test_a_row_of_steps_sends_its_steps_and_no_more() -> None:
    """By hand: 20 targets change at one reading in the middle, 19.2 ms; a straight row of theirs would be late."""
    names = [f"t{number}" for number in range(20)]
    steps = {name: {"values": [0, 100, 100], "shape": "step"} for name in names}
    straight = {name: [0, 100, 100] for name in names}
    assert late_s(curve([0, 49, 100], **steps), names, rig(*names)) == 0.0
    assert late_s(curve([0, 49, 100], **straight), names, rig(*names)) > 0.1


def literal_late_s(moves: Curve, names: list[str], rig: Rig, turned: bool) -> float:
    """The sweep as it happens, with the rig's own messages: 50 readings, 5 ms apart, 320 µs a byte (MIDI 1.0)."""
    free_s, has = 0.0, {}
    for reading in range(51):
        travel = 100 - 2 * reading if turned else 2 * reading
        for name in names:
            move = moves.moves[name]
            number = to_number(
                rig.targets[name], value_at(move.travel or moves.travel, move.values, move.shape, travel)
            )
            if reading and number != has[name]:
                for message in messages(rig.targets[name], number):
                    free_s = max(free_s, (reading - 1) * 0.005) + len(message) * 10 / 31250
            has[name] = number
    return max(0.0, free_s - 0.25)


@pytest.mark.parametrize("seed", range(120))
def test_messages_are_counted_as_a_sweep_sends_them(seed: int) -> None:
    chance = random.Random(seed)
    names = [*"abcdefghijkl"][: chance.randint(1, 12)]
    the_rig = rig(*names, bits=chance.choice([7, 7, 14]))
    travel = sorted(chance.sample(range(101), chance.randint(2, 6)))
    moves = {
        name: {
            "values": [chance.choice([0, 20, 50, 100]) for _ in travel],
            "shape": chance.choice(["straight", "smooth", "step", "step", "equal-power"]),
        }
        for name in names
    }
    moved = Curve.model_validate({"travel": travel, "moves": moves})
    literal = max(literal_late_s(moved, names, the_rig, turned) for turned in (False, True))
    assert late_s(moved, names, the_rig) == pytest.approx(literal, abs=1e-9)
