"""Orders and swaps against every order there is, each costed by the walk of `everyorder`."""

import pytest
from everyorder import CONTROLS, Night

from showrunner.planning.exact import solver
from showrunner.planning.exchange import best_exchanges
from showrunner.planning.setorder import better_order
from showrunner.planning.task import NoneFoundError


def documents(night: Night, make_book, make_show):
    """The night as Showrunner has it."""
    book = make_book(night.songs, night.rig())
    return book, make_show(*night.sets, encore=night.encore), book.rigs["full"]


def sets_of(show) -> list[list[str]]:
    """The songs of each set."""
    return [[slot.song for slot in part.songs] for part in show.sets]


def close(a: float, b: float) -> bool:
    """Whether two sums of seconds are the same."""
    return abs(a - b) < 1e-6


NIGHTS = [(seed, seed % 3 == 2) for seed in range(300)]
"""Seeds, and whether the book leaves nothing out."""


@pytest.mark.parametrize("block", range(13))
def test_what_is_said_of_an_order_holds_for_every_order(make_book, make_show, block):
    for seed, complete in NIGHTS[block::13]:
        night = Night(seed, complete)
        if not (ways := night.every_order()):
            continue
        book, show, rig = documents(night, make_book, make_show)
        written = night.costs(night.written)
        costs = [night.costs(way) for way in ways]
        least = min(took for took, _ in costs)
        for in_time in (False, True):
            better = better_order(book, show, rig, in_time=in_time)
            sets = sets_of(better.show)
            now = night.costs(sets)
            case = (seed, complete, in_time, night.written, sets, written, now, better)
            assert close(better.after_s, now[0]), case
            assert close(better.after_short_s, now[1]), case
            assert (better.before_s, better.before_short_s) == pytest.approx(written), case
            assert sets in ways, case
            assert better.bound_s <= least + 1e-6, case
            weigh = (lambda cost: (round(cost[1], 6), round(cost[0], 6))) if in_time else lambda cost: round(cost[0], 6)
            if better.proved:
                assert weigh(now) == min(map(weigh, costs)), case
            if complete:
                assert better.proved, case
            assert better.as_pinned == (night.written in ways), case
            if night.written in ways:
                assert weigh(now) <= weigh(written), case
                assert better.show == show or weigh(now) < weigh(written), case


@pytest.mark.parametrize("block", range(8))
def test_what_is_said_of_an_order_across_sets_holds_for_every_order(make_book, make_show, block):
    for seed, complete in NIGHTS[block:160:8]:
        night = Night(seed, complete, most=5)
        if len(night.sets) < 2 or not (ways := night.every_sharing()):
            continue
        book, show, rig = documents(night, make_book, make_show)
        costs = [night.costs(way, ends_lose=way != night.written) for way in ways]
        least = min(took for took, _ in costs)
        written = night.costs(night.written)
        try:
            better = better_order(book, show, rig, across_sets=True)
        except NoneFoundError:
            assert solver() is None, seed
            assert night.written not in ways, seed
            continue
        sets = sets_of(better.show)
        now = night.costs(sets, ends_lose=better.show != show)
        case = (seed, complete, night.written, sets, written, now, better)
        assert close(better.after_s, now[0]), case
        assert close(better.after_short_s, now[1]), case
        assert sets in ways, case
        assert better.bound_s <= least + 1e-6, case
        if better.proved:
            assert close(now[0], least), case
        if complete and solver() is not None:
            assert better.proved, case
        if night.written in ways:
            assert better.after_s <= written[0] + 1e-6, case
            assert better.show == show or now[0] < written[0] - 1e-6, case


@pytest.mark.parametrize("block", range(4))
def test_the_swaps_are_the_ones_that_help_most(make_book, make_show, block):
    for seed, complete in NIGHTS[block:240:4]:
        night = Night(seed, complete)
        if not night.every_order():
            continue
        book, show, rig = documents(night, make_book, make_show)
        least = night.costs(night.written)[0]
        ones = night.every_swap(night.written)
        wanted = []
        for swapped in (ones, [two for one in ones for two in night.every_swap(one)]):
            best = min((night.costs(way)[0] for way in swapped if night.allowed(way)), default=least)
            if best < least - 1e-6:
                wanted.append(best)
                least = best
        found = best_exchanges(book, show, rig)
        assert [one.after_s for one in found] == pytest.approx(wanted), (seed, night.written)
        assert [night.costs(sets_of(one.show))[0] for one in found] == pytest.approx(wanted)
        assert all(night.allowed(sets_of(one.show)) for one in found)


def test_the_made_shows_are_of_all_sorts():
    nights = [Night(seed, complete) for seed, complete in NIGHTS]
    assert sum(bool(night.every_order()) for night in nights) >= 240
    assert sum(len(night.sets) == 2 for night in nights) >= 80
    assert any(len(night.rests) < len(CONTROLS) for night in nights)
    assert any("instrument" not in song for night in nights for song in night.songs.values())


def test_the_walk_agrees_with_a_changeover_worked_by_hand():
    """From red in E with its driver on to blue in E: driver 1 s, guitar 30 s, blue rests in D: one string, 3 s.

    Then a capo on blue, 4 s with both hands, and 4 s for the fretting hand.
    """
    night = Night(0, True)
    off = {"by_hand": {}, "controls": {}}
    night.songs = {
        "a": {"instrument": "red", "start": {"by_hand": {"driver": "high"}, "controls": {}}},
        "b": {"instrument": "blue", "tuning": "E", "start": off},
        "c": {"instrument": "blue", "tuning": "E", "capo": 2, "start": {"by_hand": {"drive": "c"}, "controls": {}}},
    }
    night.encore = []
    assert night.walk(["a", "b", "c"]) == [1 + 30 + 3, 4 + 4]
