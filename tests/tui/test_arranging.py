"""How a sight is set on a screen: whole actions, no fewer on a larger one, and a title that nothing is larger than.

Letters that can be read are as high as NUREG-0700 rev. 2 §1.3.1-4 asks for (`planning.legibility`), as seen from 2 m on
14 inches.
"""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from showrunner.live.seen import Sight, Trouble
from showrunner.planning.legibility import legibility
from showrunner.tui.arranging import Arranged, arrange, rows_of
from showrunner.tui.lettering import SIZES

ACTIONS = st.lists(
    st.lists(
        st.sampled_from(["TAKE", "PICKUP", "SELECTOR", "BRIDGE", "SIX-STRING", "CAPO", "2", "É", "ночь"]), min_size=1
    ).map(lambda words: " ".join(words[:7])),
    max_size=9,
    unique=True,
).map(tuple)
WIDTHS, HEIGHTS = st.integers(20, 220), st.integers(6, 70)


def sight_of(*do: str, **changed: object) -> Sight:
    """A changeover with something to do."""
    told = Sight("changeover", ("SALTMARSH SIGNAL", "SALTMARSH"), "", do, ("Dm  92  7/8",), ("LATE 12:40",), "", (), ())
    return told._replace(beside=("MUTED",), titled=True)._replace(**changed)


def least_rows(height: int) -> float:
    told = legibility(2.0, 14, height, 1)
    return told.least_mm / told.height_mm


def on(seen: Sight, width: int, height: int) -> Arranged:
    return arrange(seen, width, height, least_rows(height))


@settings(max_examples=400)
@given(
    do=ACTIONS, width=WIDTHS, height=HEIGHTS, wider=st.integers(0, 100), higher=st.integers(0, 30), lost=st.booleans()
)
def test_what_is_shown_whole_is_shown_on_every_larger_screen(do, width, height, wider, higher, lost) -> None:
    seen = sight_of(*do, trouble=(Trouble(("PORT HOST LOST",), "gone"),) if lost else ())
    small, large = on(seen, width, height).do, on(seen, width + wider, height + higher).do
    assert set(small.said) <= set(large.said)
    assert set(large.said) <= set(do)


@pytest.mark.parametrize("roomy", [True, False])
@pytest.mark.parametrize("trouble", [True, False])
def test_a_higher_screen_never_has_fewer_rows_for_what_is_to_be_done(trouble, roomy) -> None:
    rows = [rows_of(height, trouble=trouble, roomy=roomy).do for height in range(44 if roomy else 4, 90)]
    assert rows == sorted(rows)


@pytest.mark.parametrize("lost", [True, False])
def test_row_by_row_and_column_by_column_no_action_goes(lost) -> None:
    do = [f"CONTROL {number} HALF" for number in range(12)]
    seen = sight_of(*do, trouble=(Trouble(("PORT HOST LOST",), "gone"),) if lost else ())
    shown = {(width, height): on(seen, width, height).do.said for width in range(16, 124, 4) for height in range(5, 50)}
    assert len(set(shown.values())) > 5
    for (width, height), said in shown.items():
        assert set(said) <= set(shown.get((width + 4, height), do))
        assert set(said) <= set(shown.get((width, height + 1), do))


@settings(max_examples=200)
@given(do=ACTIONS, width=WIDTHS, height=HEIGHTS)
def test_no_line_is_wider_and_no_zone_higher_than_the_screen(do, width, height) -> None:
    told = on(sight_of(*do), width, height)
    assert all(len(line) <= width - 2 for line in told.do.lines)
    assert len(told.do.lines) <= told.do_rows
    rows = told.rows
    assert 2 + rows.head + told.do_rows + rows.after + rows.label + rows.air + rows.words <= max(height, 5)


@settings(max_examples=200)
@given(do=ACTIONS, width=st.integers(60, 220), height=st.integers(20, 70))
def test_nothing_is_larger_than_the_title_until_the_first_cue(do, width, height) -> None:
    told = on(sight_of(*do), width, height)
    assume(told.head.size is not None)
    others = (told.beside, told.do, told.after, told.aside)
    assert all(SIZES.index(zone.size) >= SIZES.index(told.head.size) for zone in others if zone.size is not None)


@given(width=WIDTHS, height=HEIGHTS, mode=st.sampled_from(["song", "changeover"]))
def test_late_and_early_are_words_with_their_figure_at_every_size(width, height, mode) -> None:
    for words in ("LATE 12:40", "EARLY 0:12"):
        told = on(sight_of("CAPO 2", aside=(words,), mode=mode), width, height)
        assert told.aside.said == (words,)
        assert told.aside.width <= width


@pytest.mark.parametrize("titled", [True, False])
def test_title_and_meter_can_be_read_from_two_metres_on_80_by_24(titled: bool) -> None:
    beside = ("7/8",) if titled else ("SALTMARSH SIGNAL  7/8", "SALTMARSH  7/8")
    head = ("SALTMARSH SIGNAL",) if titled else ("FUNDAMENTAL",)
    told = on(sight_of(head=head, beside=beside, titled=titled), 80, 24)
    assert told.head.said == head
    assert told.beside.said[0] in beside
    assert min(told.head.letter_rows, told.beside.letter_rows) >= least_rows(24)


def test_a_title_too_long_for_its_place_is_shortened_before_it_is_small() -> None:
    beside = ("THE LONG WAY HOME OVER THE SALTMARSH  7/8", "THE LONG WAY HOME  7/8")
    told = on(sight_of(head=("SOLO",), beside=beside, titled=False), 80, 24)
    assert (told.head.said, told.beside.said) == (("SOLO",), beside[1:])
    assert told.beside.letter_rows >= least_rows(24)


def test_while_it_is_counted_in_title_beat_and_meter_can_be_read_on_80_by_24() -> None:
    told = on(sight_of(beside=("BEAT 3  LAST BAR  7/8", "3  LAST BAR  7/8")), 80, 24)
    assert told.head.said == ("SALTMARSH SIGNAL",)
    assert told.beside.said == ("3  LAST BAR  7/8",)
    assert min(told.head.letter_rows, told.beside.letter_rows) >= least_rows(24)


@pytest.mark.parametrize("height", [24, 36, 48])
@pytest.mark.parametrize(
    ("head", "beside", "titled"),
    [
        (("LONG NOTE",), ("SALTMARSH SIGNAL  4/4", "SALTMARSH  4/4"), False),
        (("SALTMARSH SIGNAL", "SALTMARSH"), ("BEAT 3  LAST BAR  7/8", "3  LAST BAR  7/8"), True),
    ],
)
def test_no_words_beside_the_head_go_on_a_wider_screen(head, beside, titled, height) -> None:
    shown = [on(sight_of(head=head, beside=beside, titled=titled), width, height) for width in range(80, 230, 5)]
    words = [len(told.beside.said[0]) for told in shown]
    assert words == sorted(words)
    assert words[-1] == len(beside[0])
    assert {told.head.said for told in shown} == {head[:1]}


def test_what_is_to_be_done_is_not_smaller_where_the_screen_is_large_enough_for_large_letters() -> None:
    do = ("TAKE BARITONE", "TUNING B STANDARD", "OCTAVE SWITCH FUNDAMENTAL", "SWELL HEEL")
    assert on(sight_of(*do), 120, 44).do.letter_rows >= on(sight_of(*do), 119, 44).do.letter_rows
