"""The cheapest order against trying every order, on small cases and by every way of solving."""

from itertools import pairwise, permutations
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.planning import exact, order
from showrunner.planning.bound import lower_bound
from showrunner.planning.nearby import good_order
from showrunner.planning.order import search, solve
from showrunner.planning.task import NoOrderError, make_task

COSTS = st.one_of(st.integers(0, 3), st.just(0), st.floats(0, 60, allow_subnormal=False), st.just(inf))


@st.composite
def cases(draw, most=7, costs=COSTS):
    """A square matrix with zeros and forbidden steps, and pins that may contradict each other."""
    size = draw(st.integers(2, most))
    item = st.integers(0, size - 1)
    pair = st.tuples(item, item).filter(lambda p: p[0] != p[1])
    pins = {
        "first": draw(st.none() | item),
        "last": draw(st.none() | item),
        "fixed": draw(st.dictionaries(item, item, max_size=2)),
        "after": draw(st.lists(pair, max_size=2)),
        "not_after": draw(st.lists(pair, max_size=3)),
        "closed": draw(st.booleans()),
    }
    return draw(st.lists(st.lists(costs, min_size=size, max_size=size), min_size=size, max_size=size)), pins


def cheapest_of_all(cost, first, last, fixed, after, not_after, closed):
    """Every order that meets the pins, tried; the cheapest total, inf if there is none."""
    size, best = len(cost), inf
    for line in permutations(range(size)):
        follows = set(pairwise(line)) | ({(line[-1], line[0])} if closed else set())
        meets = (
            (first is None or line[0] == first)
            and (last is None or line[-1] == last)
            and all(line[place] == item for place, item in fixed.items())
            and all(pair in follows for pair in after)
            and not any(pair in follows for pair in not_after)
        )
        if meets:
            best = min(best, sum(cost[a][b] for a, b in follows))
    return best


def agrees_with_every_order_tried(cost, pins):
    cheapest = cheapest_of_all(cost, **pins)
    try:
        line, total, proved = solve(cost, **pins)
    except NoOrderError:
        assert cheapest == inf
        return
    assert sorted(line) == list(range(len(cost)))
    assert total == pytest.approx(cheapest)
    assert total == pytest.approx(cheapest_of_all(cost, **(pins | {"fixed": dict(enumerate(line))})))
    assert proved


@settings(max_examples=150, deadline=None)
@given(cases())
def test_dynamic_programming_agrees_with_every_order_tried(case):
    agrees_with_every_order_tried(*case)


@settings(max_examples=12, deadline=None)
@given(cases(most=8))
def test_eight_songs_agree_with_every_order_tried(case):
    agrees_with_every_order_tried(*case)


@settings(max_examples=40, deadline=None)
@given(cases(most=6))
def test_constraint_programming_agrees_with_every_order_tried(case):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(order, "AT_ONCE", -1)
        patch.setattr(order, "good_order", lambda task, *_: good_order(task, 1, lambda: True, 0))
        agrees_with_every_order_tried(*case)


@settings(max_examples=60, deadline=None)
@given(cases(most=6, costs=st.integers(0, 5)))
def test_local_search_never_claims_what_is_not_so(case):
    cost, pins = case
    cheapest = cheapest_of_all(cost, **pins)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(order, "AT_ONCE", -1)
        patch.setattr(order, "BY_SETS", -1)
        patch.setattr(exact, "solver", lambda: None)
        try:
            found = search(cost, **pins)
        except NoOrderError:
            return
    assert found.total >= cheapest
    assert found.bound <= cheapest
    assert not found.proved or found.total == cheapest


@settings(max_examples=60, deadline=None)
@given(cases(most=6, costs=st.integers(0, 9)))
def test_a_cheaper_order_takes_only_steps_that_may_be_in_one(case):
    cost, _ = case
    size = len(cost)
    task = make_task(cost, {}, (), (), False)
    upper = task.total(range(size))
    _, may = lower_bound(task, upper, lambda: False)
    for line in permutations(range(size)):
        if task.total(line) < upper:
            assert may[size][line[0]]
            assert may[line[-1]][size]
            assert all(may[a][b] for a, b in pairwise(line))


def test_the_written_order_is_kept_where_all_cost_the_same():
    assert solve([[0] * 9 for _ in range(9)]) == (list(range(9)), 0, True)


def test_the_written_order_of_many_songs_is_kept_where_all_cost_the_same():
    assert solve([[5] * 25 for _ in range(25)]) == (list(range(25)), 120, True)


def test_of_equal_orders_the_one_written_first_is_taken():
    cost = [[9, 9, 1, 1], [9, 9, 9, 9], [9, 1, 9, 9], [9, 1, 9, 9]]
    assert solve(cost, first=0)[0] == [0, 2, 1, 3]


def test_decimals_add_up_as_written():
    cost = [[0, 0.1, 0.3, 9], [9, 0, 0.2, 9], [9, 9, 0, 0], [9, 0, 9, 0]]
    assert search(cost, first=0, last=3).order == [0, 1, 2, 3]


def test_a_closed_tour_counts_the_way_back():
    cost = [[0, 1, 9], [9, 0, 1], [5, 9, 0]]
    assert solve(cost, closed=True) == ([0, 1, 2], 7, True)


def test_after_means_directly_after():
    cost = [[0, 1, 5, 5], [5, 0, 1, 5], [5, 5, 0, 1], [5, 5, 5, 0]]
    line, total, _ = solve(cost, after=[(0, 3)])
    assert line.index(3) == line.index(0) + 1
    assert total == 11


@pytest.mark.parametrize("size", [0, 1])
def test_nothing_to_order_costs_nothing(size):
    assert solve([[0] * size] * size) == (list(range(size)), 0, True)


def test_pins_that_contradict_each_other_are_said_so():
    with pytest.raises(NoOrderError, match="both pinned to place 0"):
        solve([[0, 1], [1, 0]], first=0, fixed={0: 1})
    with pytest.raises(NoOrderError, match="two places"):
        solve([[0, 1], [1, 0]], first=0, last=0)
    with pytest.raises(NoOrderError, match="no order meets the pins"):
        solve([[0, 1], [1, 0]], after=[(0, 1)], not_after=[(0, 1)])


def test_impossible_pins_on_many_songs_are_said_so():
    cost = [[1] * 20 for _ in range(20)]
    with pytest.raises(NoOrderError):
        solve(cost, after=[(0, 1), (1, 2), (2, 0)])


@pytest.mark.parametrize("cost", [[[0, 1]], [[0, float("nan")], [1, 0]], [[0, -inf], [1, 0]]])
def test_costs_that_make_no_sense_are_refused(cost):
    with pytest.raises(ValueError, match=r"square matrix|must be a number"):
        solve(cost)


def test_pins_outside_the_matrix_are_refused():
    with pytest.raises(ValueError, match="can't stand at place 7"):
        solve([[0, 1], [1, 0]], fixed={7: 0})
    with pytest.raises(ValueError, match="no pair"):
        solve([[0, 1], [1, 0]], after=[(1, 1)])


def test_without_the_solver_fourteen_songs_are_still_proved():
    cost = [[(a * 7 + b * 13) % 19 for b in range(14)] for a in range(14)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(exact, "solver", lambda: None)
        patch.setattr(order, "good_order", lambda task, *_: list(range(task.size)))
        found = search(cost)
    assert found.proved
    assert found.total == solve(cost)[1]


def test_fixed_places_among_many_songs_are_kept():
    cost = [[(a * 7 + b * 13) % 19 for b in range(22)] for a in range(22)]
    found = search(cost, first=3, fixed={5: 9, 11: 0, 12: 1}, not_after=[(4, 5)])
    assert [found.order[place] for place in (0, 5, 11, 12)] == [3, 9, 0, 1]
    assert found.proved


def test_local_search_finds_the_same_order_for_the_same_seed():
    cost = [[(a * 7 + b * 13) % 19 for b in range(20)] for a in range(20)]
    task = make_task(cost, {}, (), (), False)
    assert good_order(task, 3, lambda: False, 5) == good_order(task, 3, lambda: False, 5)


def test_a_search_whose_time_is_up_says_how_far_off_it_may_be():
    cost = [[(a * 7 + b * 13) % 19 for b in range(20)] for a in range(20)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(exact, "solver", lambda: None)
        found = search(cost, expired=lambda: True)
    assert not found.proved
    assert found.bound < found.total
