"""The cheapest order against SciPy's general solver `scipy.optimize.milp` (HiGHS), arcs and places as unknowns."""

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from showrunner.planning import order
from showrunner.planning.order import solve


def milp_total(cost, first, last):
    """Least total of a line through all items (Miller, Tucker and Zemlin's formulation of 1960)."""
    size = len(cost)
    arcs = [(a, b) for a in range(size) for b in range(size) if a != b]
    count = len(arcs)
    rows, low, high = [], [], []

    def constrain(row, least, most):
        rows.append(row)
        low.append(least)
        high.append(most)

    for item in range(size):
        out, into = np.zeros(count + size), np.zeros(count + size)
        for k, (a, b) in enumerate(arcs):
            out[k], into[k] = a == item, b == item
        constrain(out, 0 if last is None or item == last else 1, 1 if item != last else 0)
        constrain(into, 0 if first is None or item == first else 1, 1 if item != first else 0)
    constrain(np.r_[np.ones(count), np.zeros(size)], size - 1, size - 1)
    for k, (a, b) in enumerate(arcs):
        row = np.zeros(count + size)
        row[k], row[count + a], row[count + b] = size, 1, -1
        constrain(row, -np.inf, size - 1)
    found = milp(
        np.r_[[cost[a][b] for a, b in arcs], np.zeros(size)],
        constraints=LinearConstraint(np.array(rows), low, high),
        integrality=np.r_[np.ones(count), np.zeros(size)],
        bounds=Bounds(0, np.r_[np.ones(count), np.full(size, size - 1)]),
    )
    assert found.success
    return found.fun


def made(size, seed):
    """Costs as changeovers have them: three guitars, a few strings to retune, many that cost nothing."""
    chance = np.random.default_rng(seed)
    guitar, tuned = chance.integers(3, size=size), chance.integers(3, size=size)
    small = chance.choice([0, 0, 1, 2, 3.5], size=(size, size))
    away = 30 * (guitar[:, None] != guitar) + 8 * abs(tuned[:, None] - tuned)
    return (away + small).tolist()


@pytest.mark.parametrize(
    ("size", "seed", "first", "last"),
    [(9, 1, None, None), (10, 2, 0, None), (12, 3, 4, 2), (12, 4, 0, 11), (14, 5, 0, 3)],
)
def test_an_order_costs_what_a_general_solver_says(size, seed, first, last, monkeypatch):
    cost = made(size, seed)
    least = milp_total(cost, first, last)
    for at_once in (17, -1):
        monkeypatch.setattr(order, "AT_ONCE", at_once)
        _, total, proved = solve(cost, first=first, last=last)
        assert proved
        assert total == pytest.approx(least)
