"""Songs that move between sets while each set keeps its length, against every way tried."""

from itertools import pairwise, permutations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.planning import setorder
from showrunner.planning.evidence import LIVE_STRETCH
from showrunner.planning.exact import solver
from showrunner.planning.rearrange import shared_out
from showrunner.planning.setorder import better_order, total_s
from showrunner.planning.setparts import KEEPS_S
from showrunner.planning.task import NoOrderError

TUNINGS = {"E": ["E2", "A2", "D3", "G3", "B3", "E4"], "drop D": ["D2", "A2", "D3", "G3", "B3", "E4"]}
RIG = {
    "controls": {"fuzz": {"kind": "knob", "rest": "low"}},
    "instruments": {"red": {"tunings": TUNINGS}, "blue": {"tunings": TUNINGS, "swap_s": 20}},
}
RED, BLUE = {"instrument": "red"}, {"instrument": "blue"}
KINDS = [RED, BLUE, RED | {"tuning": "drop D"}, RED | {"start": {"by_hand": {"fuzz": "full"}}}]
MIXED = {"ash": RED, "beck": BLUE, "cove": RED, "dune": BLUE}
PINS = [None, None, "first", "last", "here", "after a", "not after a"]
THENS = [None, None, "segue", "talk 0:40"]


def sets_of(show):
    """The songs of each set."""
    return [[slot.song for slot in part.songs] for part in show.sets]


def thens_of(show):
    """What follows each song that something is written for."""
    return {slot.song: str(slot.then) for part in show.sets for slot in part.songs if slot.then is not None}


def with_slots(show, *slots):
    """The show with a time agreed for each set, s or None."""
    sets = [part.model_copy(update={"slot": slot}) for part, slot in zip(show.sets, slots, strict=True)]
    return show.model_copy(update={"sets": tuple(sets)})


@pytest.fixture
def across(make_book):
    """The better order of a show over its sets, on the rig of these tests."""

    def find(songs, show, **more):
        book = make_book(songs, RIG)
        return better_order(book, show, book.rigs["full"], across_sets=True, **more)

    return find


def test_songs_on_one_guitar_come_together_in_one_set(across, make_show):
    better = across(MIXED, make_show(["ash", "beck"], ["cove", "dune"]))
    assert sorted(map(sorted, sets_of(better.show))) == [["ash", "cove"], ["beck", "dune"]]
    assert (better.before_s, better.after_s, better.proved, better.bound_s) == (40, 0, True, 0)


def test_a_set_keeps_its_length(across, make_show):
    """A song of 4:00 can't change places with one of 6:00, a minute either way."""
    longer = {name: song | {"duration": "6:00" if name in ("ash", "dune") else "4:00"} for name, song in MIXED.items()}
    better = across(longer, make_show(["ash", "beck"], ["cove", "dune"]))
    assert sorted(map(sorted, sets_of(better.show))) == [["ash", "cove"], ["beck", "dune"]]
    uneven = {name: song | {"duration": "6:00" if name == "ash" else "4:00"} for name, song in MIXED.items()}
    better = across(uneven, make_show([{"song": "ash", "pin": "first"}, "beck"], ["cove", "dune"]))
    assert "ash" in sets_of(better.show)[0]
    assert len(sets_of(better.show)[0]) == 2


def test_a_set_with_a_slot_may_fill_it(across, make_show):
    songs = MIXED | {"elm": BLUE}
    show = make_show([{"song": "ash", "pin": "first"}, "cove"], ["dune", "elm", {"song": "beck", "pin": "last"}])
    assert sets_of(across(songs, show).show) == sets_of(show)
    show = make_show([{"song": "ash", "pin": "first"}, "beck", "cove"], ["dune", {"song": "elm", "pin": "last"}])
    assert len(sets_of(across(songs, show).show)[0]) == 3
    better = across(songs, with_slots(show, None, 900))
    assert len(sets_of(better.show)[1]) == 2
    better = across(songs, with_slots(show, 600, 900))
    assert sets_of(better.show) == [["ash", "cove"], ["dune", "beck", "elm"]] or sets_of(better.show) == [
        ["ash", "cove"],
        ["beck", "dune", "elm"],
    ]


def test_slots_that_can_not_be_kept_are_said_so(across, make_show):
    with pytest.raises(NoOrderError, match="keeps the sets' lengths and the pins"):
        across(MIXED, with_slots(make_show(["ash", "beck"], ["cove", "dune"]), 300, 300))


def test_the_break_stays_with_the_set_s_end(across, make_show):
    show = make_show(
        [{"song": "ash", "pin": "first"}, {"song": "beck", "then": "gap 20:00"}],
        [{"song": "cove", "then": "talk 0:30"}, "dune"],
    )
    better = across(MIXED, show)
    assert sets_of(better.show) == [["ash", "cove"], ["beck", "dune"]] or sets_of(better.show)[1] == ["dune", "beck"]
    assert thens_of(better.show) == {"cove": "gap 20:00"}


def test_a_segue_stays_tied_in_whatever_set(across, make_show):
    songs = MIXED | {"elm": BLUE, "fen": RED}
    show = make_show(
        [{"song": "ash", "then": "segue"}, "beck", "cove"], ["dune", "elm", {"song": "fen", "pin": "last"}]
    )
    line = [song for part in sets_of(across(songs, show).show) for song in part]
    assert line.index("beck") == line.index("ash") + 1


def test_one_set_is_ordered_as_without(across, make_show):
    assert sets_of(across(MIXED, make_show(list(MIXED))).show) == [["ash", "cove", "beck", "dune"]]


def test_the_written_order_is_kept_where_nothing_costs_less(across, make_show):
    show = make_show(["ash", "cove"], ["dune", "beck"])
    assert across(MIXED, show).show == show


def test_songs_that_the_book_lacks_keep_their_sets(across, make_show):
    better = across(MIXED, make_show(["ash", "nobody's", "beck"], ["cove", "dune"]))
    assert sets_of(better.show)[0][1] == "nobody's"


def test_the_encore_is_left_as_it_is_and_the_last_song_leads_into_it(across, make_show):
    songs = MIXED | {"elm": BLUE}
    show = make_show(
        [{"song": "ash", "pin": "first"}, "beck"], ["cove", {"song": "dune", "then": "gap 0:05"}], encore=["elm"]
    )
    better = across(songs, show)
    assert better.show.encore == ("elm",)
    assert sets_of(better.show) == [["ash", "cove"], ["beck", "dune"]] or sets_of(better.show)[1] == ["dune", "beck"]
    assert (better.after_s, better.proved) == (0, True)


@st.composite
def shows(draw):
    """Kinds and lengths of up to seven songs, where they are cut into sets, pins, slots and what follows."""
    count = draw(st.integers(3, 6))
    cuts = draw(st.sampled_from([[1], [2], [1, 2], [count - 1]]))
    return {
        "kinds": draw(st.lists(st.sampled_from(KINDS), min_size=count, max_size=count)),
        "minutes": draw(st.lists(st.sampled_from([3, 4, 4, 5]), min_size=count, max_size=count)),
        "cuts": cuts,
        "pins": draw(st.lists(st.sampled_from(PINS), min_size=count, max_size=count)),
        "thens": draw(st.lists(st.sampled_from(THENS), min_size=count, max_size=count)),
        "slots": draw(st.lists(st.sampled_from([None, None, 500, 900]), min_size=3, max_size=3)),
        "encore": draw(st.booleans()),
        "break": draw(st.sampled_from([None, "gap 0:05"])),
    }


def every_way(names, count):
    """Every order of the songs cut into that many sets, none empty."""
    for line in permutations(names):
        if count == 2:
            for cut in range(1, len(line)):
                yield [list(line[:cut]), list(line[cut:])]
        else:
            for cut in range(1, len(line) - 1):
                for more in range(cut + 1, len(line)):
                    yield [list(line[:cut]), list(line[cut:more]), list(line[more:])]


def length_s(book, show, part):
    """A set's expected length with the pauses that the show writes, worked out from the documents alone."""
    songs = show.sets[part].songs
    pauses = [12 if slot.then is None else slot.then.seconds for slot in songs[:-1]]
    return sum(book.songs[slot.song].duration * LIVE_STRETCH for slot in songs) + sum(pauses)


def meets(written, book, sets, now):
    """Whether pins, segues and lengths hold, told from the documents alone."""
    home = {slot.song: (k, n) for k, part in enumerate(written.sets) for n, slot in enumerate(part.songs)}
    at = {song: (k, n) for k, songs in enumerate(sets) for n, song in enumerate(songs)}
    line = [song for songs in sets for song in songs]
    for k, part in enumerate(written.sets):
        was, new = length_s(book, written, k), length_s(book, now, k)
        most = was + KEEPS_S if part.slot is None else part.slot
        least = was - KEEPS_S if part.slot is None or was <= part.slot else 0
        if not least - 0.001 <= new <= most + 0.001:
            return False
        for n, slot in enumerate(part.songs):
            song, kind = slot.song, slot.pin.kind if slot.pin else None
            before = line[line.index(song) - 1] if line.index(song) else None
            if kind == "first" and at[song] != (k, 0):
                return False
            if kind == "last" and at[song] != (k, len(sets[k]) - 1):
                return False
            if kind == "here" and at[song] != home[song]:
                return False
            if kind == "after" and song != slot.pin.song and (before != slot.pin.song or at[song][1] == 0):
                return False
            if kind == "not after" and before == slot.pin.song and song != slot.pin.song:
                return False
            if slot.then is not None and slot.then.kind == "segue" and n + 1 < len(part.songs):
                follower = part.songs[n + 1].song
                if at[follower] != (at[song][0], at[song][1] + 1):
                    return False
    return True


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(case=shows(), with_solver=st.booleans())
def test_no_way_to_share_the_songs_out_costs_less(make_book, make_show, case, with_solver):
    names = "abcdefg"[: len(case["kinds"])]
    songs = {
        n: kind | {"duration": f"{m}:00"} for n, kind, m in zip(names, case["kinds"], case["minutes"], strict=True)
    }
    book = make_book(songs | {"z": RED}, RIG)
    slots = [
        {"song": n} | ({"pin": pin} if pin else {}) | ({"then": then} if then else {})
        for n, pin, then in zip(names, case["pins"], case["thens"], strict=True)
    ]
    edges = [0, *case["cuts"], len(slots)]
    parts = [slots[a:b] for a, b in pairwise(edges)]
    for part in parts:
        part[-1] = {k: v for k, v in part[-1].items() if k != "then"} | (
            {"then": case["break"]} if case["break"] else {}
        )
    show = make_show(*parts, encore=["z"] if case["encore"] else [])
    show, rig = with_slots(show, *case["slots"][: len(parts)]), book.rigs["full"]
    costs = []
    for sets in every_way(names, len(parts)):
        now = show if sets == sets_of(show) else shared_out(show, sets)
        if meets(show, book, sets, now):
            costs.append(total_s(book, now, rig))
    with pytest.MonkeyPatch.context() as patch:
        if not with_solver:
            patch.setattr(setorder, "solver", lambda: None)
        if not costs:
            with pytest.raises(NoOrderError):
                better_order(book, show, rig, across_sets=True)
            return
        try:
            better = better_order(book, show, rig, across_sets=True)
        except NoOrderError:
            assert not with_solver or solver() is None
            return
    assert meets(show, book, sets_of(better.show), better.show)
    assert better.after_s >= min(costs)
    assert better.bound_s <= min(costs)
    if better.proved or (with_solver and solver() is not None):
        assert (better.after_s, better.proved) == (min(costs), True)
