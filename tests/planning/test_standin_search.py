"""The search for stand-ins over a whole show, against trying everything."""

from collections.abc import Iterator, Mapping
from itertools import product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from showrunner.planning.standin_search import assign, show_cost
from showrunner.planning.standin_song import Choices, song_cost

WANTED, USED = ("colour", "strip", "tilt"), ("fade", "sw 3", "swell")
COST = st.integers(0, 12)


@st.composite
def songs(draw: st.DrawFn, clashing: bool = True) -> Choices:
    """A song that wants some controls, where not every one can be played by every other."""
    wanted = draw(st.lists(st.sampled_from(WANTED), unique=True, max_size=3))
    costs = {
        w: {None: draw(COST)} | {u: draw(COST) for u in draw(st.lists(st.sampled_from(USED), unique=True))}
        for w in wanted
    }
    pairs = [(w, u) for w, of in costs.items() for u in of if u is not None]
    both = [frozenset((a, b)) for a in pairs for b in pairs if a[0] < b[0] and a[1] != b[1]]
    clashes = {pair: draw(COST) for pair in both if clashing and draw(st.booleans())}
    return Choices(costs, clashes)


def every_pick(song: Choices) -> Iterator[Mapping[str, str]]:
    """All ways to play one song with no control twice."""
    for used in product(*song.costs.values()):
        picked = {w: u for w, u in zip(song.costs, used, strict=True) if u is not None}
        if len(set(picked.values())) == len(picked):
            yield picked


def by_trying_everything(show: list[Choices], change: int) -> int:
    return min(show_cost(show, picks, change) for picks in product(*(tuple(every_pick(song)) for song in show)))


@settings(max_examples=150, deadline=None)
@given(st.lists(songs(), max_size=3), st.integers(0, 15))
def test_no_way_to_play_a_small_show_costs_less(show: list[Choices], change: int) -> None:
    picks = assign(show, change)
    assert all(picked in tuple(every_pick(song)) for song, picked in zip(show, picks, strict=True))
    assert show_cost(show, picks, change) == by_trying_everything(show, change)


@settings(max_examples=100, deadline=None)
@given(st.lists(songs(clashing=False), min_size=1, max_size=6))
def test_songs_that_do_not_interact_are_assigned_as_scipy_does(show: list[Choices]) -> None:
    # scipy.optimize.linear_sum_assignment, with a column for each control left out
    for song, picked in zip(show, assign(show, 0), strict=True):
        if not song.costs:
            assert picked == {}
            continue
        never = 1000
        rows = [
            [of.get(u, never) for u in USED] + [of[None] if w == v else never for v in song.costs]
            for w, of in song.costs.items()
        ]
        matrix = np.array(rows)
        assert song_cost(song, picked) == matrix[linear_sum_assignment(matrix)].sum()


def test_one_control_keeps_its_work_where_changing_costs_more_than_it_saves() -> None:
    show = [Choices({"strip": {None: 99, "fade": 1, "sw 3": 3}}), Choices({"strip": {None: 99, "fade": 6, "sw 3": 3}})]
    assert assign(show, 1) == ({"strip": "fade"}, {"strip": "sw 3"})
    assert assign(show, 9) == ({"strip": "sw 3"}, {"strip": "sw 3"})


def test_what_costs_less_left_out_is_left_out() -> None:
    assert assign([Choices({"strip": {None: 2, "swell": 3}})], 0) == ({},)


def test_a_show_without_songs_has_no_stand_ins() -> None:
    assert assign([], 5) == ()
