"""A better order for a show, under its pins."""

from itertools import chain, permutations, product

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.planning.exchange import best_exchanges
from showrunner.planning.fitting import fitted
from showrunner.planning.rearrange import reordered
from showrunner.planning.setorder import better_order, short_changeovers, total_s
from showrunner.planning.task import NoOrderError

TUNINGS = {"E": ["E2", "A2", "D3", "G3", "B3", "E4"], "drop D": ["D2", "A2", "D3", "G3", "B3", "E4"]}
RIG = {
    "controls": {"fuzz": {"kind": "knob", "rest": "low"}},
    "instruments": {"red": {"tunings": TUNINGS}, "blue": {"tunings": TUNINGS, "swap_s": 20}},
}
RED, BLUE = {"instrument": "red"}, {"instrument": "blue"}
DROPPED = RED | {"tuning": "drop D"}
KINDS = [RED, BLUE, DROPPED, BLUE | {"capo": 2}, RED | {"start": {"by_hand": {"fuzz": "full"}}}]
ALTERNATING = {"ash": RED, "beck": BLUE, "cove": RED, "dune": BLUE}


def slots(show):
    """Each set's songs with what follows them."""
    return [[(slot.song, None if slot.then is None else str(slot.then)) for slot in part.songs] for part in show.sets]


def test_songs_on_one_guitar_come_together(make_book, make_show):
    book, show = make_book(ALTERNATING, RIG), make_show(list(ALTERNATING))
    better = better_order(book, show, book.rigs["full"])
    assert better.order == ("ash", "cove", "beck", "dune")
    assert (better.before_s, better.after_s, better.proved, better.bound_s) == (70, 20, True, 20)


def test_an_order_that_can_not_be_bettered_is_kept(make_book, make_show):
    songs = {"ash": RED, "beck": RED, "cove": BLUE, "dune": BLUE}
    book = make_book(songs, RIG)
    assert better_order(book, make_show(list(songs)), book.rigs["full"]).order == tuple(songs)


@pytest.mark.parametrize(
    ("pins", "order"),
    [
        ({"dune": "first"}, ("dune", "beck", "ash", "cove")),
        ({"ash": "last"}, ("beck", "dune", "cove", "ash")),
        ({"beck": "here", "ash": "first"}, ("ash", "beck", "dune", "cove")),
        ({"dune": "after ash"}, ("cove", "ash", "dune", "beck")),
        ({"cove": "not after ash", "beck": "first"}, ("beck", "dune", "cove", "ash")),
    ],
)
def test_pins_hold(make_book, make_show, pins, order):
    book = make_book(ALTERNATING, RIG)
    show = make_show([{"song": name} | ({"pin": pins[name]} if name in pins else {}) for name in ALTERNATING])
    assert better_order(book, show, book.rigs["full"]).order == order


def test_a_segue_holds_its_two_songs_together(make_book, make_show):
    book = make_book(ALTERNATING, RIG)
    better = better_order(
        book, make_show([{"song": "ash", "then": "segue"}, "beck", "cove", "dune"]), book.rigs["full"]
    )
    assert better.order == ("cove", "ash", "beck", "dune")


def test_first_means_first_in_its_set(make_book, make_show):
    book = make_book(ALTERNATING, RIG)
    show = make_show(["ash", "beck"], ["cove", {"song": "dune", "pin": "first"}])
    assert better_order(book, show, book.rigs["full"]).order == ("ash", "beck", "dune", "cove")


def test_sets_keep_their_songs_and_the_encore_its_order(make_book, make_show):
    book = make_book(ALTERNATING | {"elm": RED, "fen": BLUE, "gale": RED}, RIG)
    better = better_order(
        book, make_show(["ash", "beck", "cove"], ["dune"], encore=["elm", "fen", "gale"]), book.rigs["full"]
    )
    assert set(better.order[:3]) == {"ash", "beck", "cove"}
    assert better.order[3:] == ("dune", "elm", "fen", "gale")


def test_a_changeover_in_a_long_enough_break_costs_nothing(make_book, make_show):
    book, show = make_book(ALTERNATING, RIG), make_show(["ash"], ["beck"])
    assert total_s(book, show, book.rigs["full"]) == 0


def test_the_interval_stays_where_it_is(make_book, make_show):
    book = make_book(ALTERNATING, RIG)
    show = make_show(
        [{"song": "ash", "pin": "first"}, {"song": "beck", "then": "talk 1:00"}, {"song": "cove", "then": "gap 20:00"}],
        ["dune"],
    )
    better = better_order(book, show, book.rigs["full"])
    assert slots(better.show)[0] == [("ash", None), ("cove", "talk 1:00"), ("beck", "gap 20:00")]


def test_pins_to_the_same_place_are_said_so(make_book, make_show):
    book = make_book(ALTERNATING, RIG)
    show = make_show([{"song": "ash", "pin": "first"}, {"song": "beck", "pin": "first"}])
    with pytest.raises(NoOrderError, match='"ash" and "beck" are pinned to the same place'):
        better_order(book, show, book.rigs["full"])


def test_nothing_is_proved_where_the_stage_carried_through_costs_more_than_it_must(make_book, make_show):
    """A song for no guitar in particular: blue might be in hand after it, and is not."""
    songs = {"ash": RED, "beck": {}, "cove": BLUE}
    book = make_book(songs, RIG)
    better = better_order(book, make_show([{"song": name, "pin": "here"} for name in songs]), book.rigs["full"])
    assert (better.after_s, better.bound_s, better.proved) == (20, 0, False)


def test_an_order_that_takes_longer_than_the_written_one_is_not_proposed(make_book, make_show):
    """A knob without a rest stands as the song before it left it: as written it is set once, from beck to cove."""
    rig = RIG | {"controls": {"fuzz": {"kind": "knob"}}}
    full, low = ({"start": {"by_hand": {"fuzz": to}}} for to in ("full", "low"))
    songs = {"ash": RED | full, "beck": RED, "cove": RED | low, "dune": RED}
    book, show = make_book(songs, rig), make_show(list(songs))
    better = better_order(book, show, book.rigs["full"])
    assert (better.show, better.before_s, better.after_s) == (show, 2, 2)


def test_a_written_order_that_does_not_meet_its_pins_may_be_beaten_by_one_that_takes_longer(make_book, make_show):
    book = make_book({"ash": RED, "beck": RED, "cove": BLUE, "dune": BLUE}, RIG)
    show = make_show(["ash", "beck", "cove", {"song": "dune", "pin": "after ash"}])
    better = better_order(book, show, book.rigs["full"])
    assert (better.before_s, better.after_s, better.proved, better.as_pinned) == (20, 20, True, False)
    show = make_show(["ash", {"song": "beck", "pin": "last"}, "cove", {"song": "dune", "pin": "after ash"}])
    better = better_order(book, show, book.rigs["full"])
    assert (better.before_s, better.after_s, better.proved, better.as_pinned) == (20, 50, True, False)


def test_songs_that_the_book_lacks_keep_their_places(make_book, make_show):
    book = make_book(ALTERNATING, RIG)
    better = better_order(book, make_show(["ash", "beck", "elm", "cove", "dune"]), book.rigs["full"])
    assert [song for song, _ in slots(better.show)[0]] == ["ash", "cove", "elm", "beck", "dune"]


def test_a_show_without_songs_is_as_good_as_it_gets(make_book, make_show):
    book = make_book({}, RIG)
    assert better_order(book, make_show(), book.rigs["full"]).proved


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kinds=st.lists(st.sampled_from(KINDS), min_size=2, max_size=6),
    cut=st.integers(1, 5),
    pin=st.sampled_from([None, "first", "last", "here", "after a", "not after a"]),
)
def test_no_order_of_the_sets_costs_less_with_the_stage_carried_through(make_book, make_show, kinds, cut, pin):
    names = "abcdef"[: len(kinds)]
    book = make_book(dict(zip(names, kinds, strict=True)), RIG)
    listed = [{"song": name} | ({"pin": pin} if pin and index == 1 else {}) for index, name in enumerate(names)]
    show = make_show(*(part for part in (listed[:cut], listed[cut:]) if part))
    rig = book.rigs["full"]

    def meets(line):
        mine = next(part for part in parts if "b" in part)
        at = list(line).index("b")
        set_at = len(parts[0]) if mine is not parts[0] else 0
        follows = at > 0 and line[at - 1] == "a"
        return {
            None: True, "first": at == set_at, "last": at == set_at + len(mine) - 1, "here": at == 1,
            "after a": follows, "not after a": not follows,
        }[pin]  # fmt: skip

    parts = [[slot.song for slot in part.songs] for part in show.sets]
    lines = [[*chain(*halves)] for halves in product(*map(permutations, parts))]
    costs = [total_s(book, reordered(show, line), rig) for line in lines if meets(line)]
    if not costs:
        with pytest.raises(NoOrderError):
            better_order(book, show, rig)
        return
    better = better_order(book, show, rig)
    assert better.after_s == min(costs)
    assert meets(better.order)
    assert better.proved


def test_the_exchange_that_helps_most_is_found(make_book, make_show):
    book, show = make_book(ALTERNATING, RIG), make_show(list(ALTERNATING))
    one = best_exchanges(book, show, book.rigs["full"])[0]
    assert one.pairs == (("ash", "dune"),) or one.pairs == (("beck", "cove"),)
    assert one.after_s == 20


def test_two_exchanges_are_named_only_where_they_save_more(make_book, make_show):
    names = [f"{kind}{n}" for n in range(4) for kind in ("red", "blue")]
    book = make_book({name: RED if name.startswith("red") else BLUE for name in names}, RIG)
    one, two = best_exchanges(book, make_show(names), book.rigs["full"])
    assert (len(one.pairs), len(two.pairs)) == (1, 2)
    assert two.after_s < one.after_s
    short = make_book(ALTERNATING, RIG)
    assert len(best_exchanges(short, make_show(list(ALTERNATING)), short.rigs["full"])) == 1


def test_no_exchange_breaks_a_pin(make_book, make_show):
    book = make_book(ALTERNATING, RIG)
    show = make_show([{"song": name, "pin": "here"} for name in ALTERNATING])
    assert best_exchanges(book, show, book.rigs["full"]) == ()


def test_optional_songs_are_left_out_until_the_show_fits(make_book, make_show):
    book = make_book(ALTERNATING, RIG)
    show = make_show([{"song": name, "optional": True} for name in ALTERNATING], slot="17:40")
    found = fitted(book, show, book.rigs["full"])
    assert found.left_out == ("dune",)
    assert "dune" not in found.better.order
    assert found.better.show.reserve == ("dune",)
    assert found.time.over_s < 0


def test_nothing_is_left_out_of_a_show_that_fits(make_book, make_show):
    book = make_book(ALTERNATING, RIG)
    show = make_show([{"song": name, "optional": True} for name in ALTERNATING], slot="1:00:00")
    assert fitted(book, show, book.rigs["full"]).left_out == ()


def with_talk(*names):
    """A set whose songs are followed by 45 s of talk where named."""
    return [
        {"song": name} | ({"then": "talk 0:45"} if name in names else {}) for name in ("ash", "beck", "cove", "dune")
    ]


def shorts(book, show):
    """Seconds missing in a show's pauses."""
    return sum(short_changeovers(book, show, book.rigs["full"]).values())


def test_of_orders_that_take_the_same_the_least_short_is_taken(make_book, make_show):
    """Both guitars' songs together cost 20 or 30 s once, wherever they change; with talk after cove it can be had."""
    book, show = make_book(ALTERNATING, RIG), make_show(with_talk("cove"))
    better = better_order(book, show, book.rigs["full"])
    assert better.order == ("ash", "cove", "beck", "dune")
    assert (better.after_s, better.after_short_s, better.newly_short, better.proved) == (20, 0, (), True)
    book, show = make_book(ALTERNATING, RIG), make_show(with_talk("ash"))
    better = better_order(book, show, book.rigs["full"])
    assert (better.after_s, better.after_short_s, better.newly_short) == (20, 0, ())


def test_a_changeover_newly_too_short_is_named(make_book, make_show):
    """Least time changes guitars after a song without talk, if talk is only written between songs on one guitar."""
    songs = {"ash": RED, "beck": BLUE | {"capo": 2}, "cove": RED | {"tuning": "drop D"}}
    book = make_book(songs, RIG)
    show = make_show(
        [{"song": "ash", "pin": "first", "then": "talk 0:45"}, {"song": "beck", "then": "talk 1:00"}, "cove"]
    )
    better = better_order(book, show, book.rigs["full"])
    assert better.order == ("ash", "cove", "beck")
    assert better.newly_short == (("cove", "beck"),)
    assert (better.before_short_s, better.after_short_s) == (0, 18)


def test_in_time_an_order_that_lacks_nothing_is_kept(make_book, make_show):
    songs = {"ash": RED, "beck": BLUE | {"capo": 2}, "cove": RED | {"tuning": "drop D"}}
    book = make_book(songs, RIG)
    show = make_show(
        [{"song": "ash", "pin": "first", "then": "talk 0:45"}, {"song": "beck", "then": "talk 1:00"}, "cove"]
    )
    better = better_order(book, show, book.rigs["full"], in_time=True)
    assert better.show == show
    assert (better.after_short_s, better.proved) == (0, True)
    assert better.bound_s < better.after_s


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kinds=st.lists(st.sampled_from(KINDS), min_size=4, max_size=6),
    talks=st.lists(st.sampled_from([None, "talk 0:45", "gap 0:20"]), min_size=6, max_size=6),
    in_time=st.booleans(),
    over=st.sampled_from(["gap 0:05", "gap 20:00"]),
)
def test_time_and_missing_seconds_are_the_least_in_the_order_asked_for(
    make_book, make_show, kinds, talks, in_time, over
):
    names = "abcdef"[: len(kinds)]
    book = make_book(dict(zip(names, kinds, strict=True)), RIG)
    listed = [{"song": n} | ({"then": then} if then else {}) for n, then in zip(names, talks, strict=False)]
    listed[2] |= {"then": over}
    for index in (2, len(names) - 1):
        listed[index] |= {"pin": "last"}
    show, rig = make_show(listed[:3], listed[3:]), book.rigs["full"]
    lines = [[*a, "c", *b, names[-1]] for a in permutations("ab") for b in permutations(names[3:-1])]
    found = [(total_s(book, now, rig), shorts(book, now)) for now in (reordered(show, line) for line in lines)]
    better = better_order(book, show, rig, in_time=in_time)
    got = (better.after_s, better.after_short_s)
    assert better.proved
    if in_time:
        assert got[::-1] == pytest.approx(min((short, time) for time, short in found))
    else:
        assert got[0] == pytest.approx(min(found)[0])
        assert got[1] == pytest.approx(min(found)[1]) or better.newly_short == ()
