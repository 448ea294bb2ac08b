"""Calibration finds a known pedal law again from simulated readings."""

import random
from collections.abc import Callable

import pytest

from showrunner.curves.calibrate import Calibration, CalibrationError, Leg, Mark, calibrate
from showrunner.curves.travel import raw_of, travel_of
from showrunner.model.rig import Control

Law = Callable[[float], float]

LAWS: dict[str, Law] = {
    "even": lambda p: 2 + 120 * p / 100,
    "slow at the heel": lambda p: 4 + 118 * (p / 100) ** 2,
    "fast at the heel": lambda p: 4 + 118 * (p / 100) ** 0.5,
    "s-shaped": lambda p: 3 + 120 * (3 * (p / 100) ** 2 - 2 * (p / 100) ** 3),
    "dead at both ends": lambda p: 6 + 110 * min(1.0, max(0.0, (p - 4) / 90)),
}


class Pedal:
    """A simulated pedal: a law, jitter of a raw step either way, hysteresis, and now and then a wild reading."""

    def __init__(self, law: Law, *, jitter: int = 1, hysteresis: float = 1.0, wild: float = 0.0, seed: int = 1) -> None:
        self.law, self.jitter, self.hysteresis, self.wild = law, jitter, hysteresis, wild
        self.chance = random.Random(seed)

    def read(self, travel: float, *, up: bool) -> int:
        if self.chance.random() < self.wild:
            return self.chance.randrange(128)
        shake = self.chance.choice([-self.jitter, 0, 0, self.jitter]) if self.jitter else 0
        lag = -self.hysteresis / 2 if up else self.hysteresis / 2
        return max(0, min(127, round(self.law(travel) + lag + shake)))

    def mark(self, travel: float) -> Mark:
        return Mark(travel, tuple(self.read(travel, up=index % 2 == 0) for index in range(60)))

    def leg(self, *, up: bool, pace: Callable[[float], float] = lambda share: share) -> Leg:
        """Five seconds, read 200 times a second, sent only when the value changes."""
        readings: list[tuple[float, int]] = []
        for tick in range(1001):
            share = pace(tick / 1000)
            raw = self.read(100 * share if up else 100 - 100 * share, up=up)
            if not readings or readings[-1][1] != raw:
                readings.append((10 + tick * 0.005, raw))
        return Leg(up, 10.0, 15.0, tuple(readings))

    def calibrated(self, pace: Callable[[float], float] = lambda share: share) -> Calibration:
        marks = [self.mark(travel) for travel in (0, 25, 50, 75, 100)]
        return calibrate(marks, [self.leg(up=up, pace=pace) for _ in range(3) for up in (True, False)])


def control_of(found: Calibration) -> Control:
    pairs = [[float(raw), travel] for raw, travel in found.pairs]
    return Control.model_validate({"kind": "pedal", "port": "floor", "channel": 1, "cc": 11, "calibration": pairs})


@pytest.mark.parametrize("name", LAWS)
@pytest.mark.parametrize("seed", range(5))
def test_a_known_law_is_recovered_to_within_one_raw_step(name: str, seed: int) -> None:
    law = LAWS[name]
    control = control_of(Pedal(law, seed=seed).calibrated())
    for travel in range(1, 100):
        assert abs(raw_of(control, travel) - round(law(travel))) <= 1


def test_wild_readings_are_left_out() -> None:
    law = LAWS["slow at the heel"]
    found = Pedal(law, wild=0.01).calibrated()
    assert found.rejected > 10
    control = control_of(found)
    assert all(abs(raw_of(control, travel) - law(travel)) <= 2.0 for travel in range(1, 100))


def test_marks_correct_a_sweep_that_was_not_even() -> None:
    law = LAWS["even"]
    control = control_of(Pedal(law).calibrated(pace=lambda share: share**1.5))
    assert all(abs(travel_of(control, round(law(travel))) - travel) < 5 for travel in range(5, 100, 5))


def test_jitter_hysteresis_reach_and_dead_ends_are_reported() -> None:
    found = Pedal(LAWS["dead at both ends"], jitter=1, hysteresis=3.0).calibrated()
    assert found.reach[0] in (5, 6, 7)
    assert found.reach[1] in (115, 116, 117)
    assert found.jitter_raw in (3, 4, 5)
    assert 2.0 <= found.hysteresis_raw <= 4.0
    assert 2.5 <= found.dead_heel_pct <= 5.5
    assert 4.5 <= found.dead_toe_pct <= 7.5


def test_an_uneven_response_is_said_to_be_so_and_an_even_one_is_not() -> None:
    assert Pedal(LAWS["fast at the heel"]).calibrated().uneven
    assert not Pedal(LAWS["even"]).calibrated().uneven


def test_pairs_rise_and_make_a_valid_control() -> None:
    for law in LAWS.values():
        control_of(Pedal(law, jitter=2, hysteresis=4, seed=7).calibrated())


def test_readings_that_make_no_calibration_say_why() -> None:
    still = Pedal(lambda _: 64.0)
    with pytest.raises(CalibrationError, match="all the way"):
        still.calibrated()
    with pytest.raises(CalibrationError, match="turn it round"):
        Pedal(lambda p: 120 - p).calibrated()
    with pytest.raises(CalibrationError, match="plugged in"):
        calibrate([Mark(0, ())], [])
    pedal = Pedal(LAWS["even"])
    marks, legs = [pedal.mark(travel) for travel in (0, 100)], [pedal.leg(up=True)]
    with pytest.raises(CalibrationError, match="back to heel"):
        calibrate(marks, legs)
