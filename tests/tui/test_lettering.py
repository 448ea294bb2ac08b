"""Big type: what fits is set as large as it can be, and nothing is left out without saying so."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.tui.lettering import OWN_LETTER_ROWS, SIZES, can_set, lowered, set_in, typeset, width_of
from showrunner.tui.widgets.glyphs import GLYPHS


def test_every_glyph_is_five_rows_of_one_width() -> None:
    assert {len(rows) for rows in GLYPHS.values()} == {5}
    assert all(len({len(row) for row in rows}) == 1 for rows in GLYPHS.values())


def test_no_two_glyphs_look_the_same() -> None:
    assert len(set(GLYPHS.values())) == len(GLYPHS)


def test_capitals_digits_and_what_chords_need_are_there() -> None:
    assert can_set("ABCDEFGHIJKLMNOPQRSTUVWXYZ 0123456789 Bbmaj7/sus4dim C#m +-:%")


@pytest.mark.parametrize("size", SIZES)
def test_a_line_is_as_wide_as_it_says(size: object) -> None:
    assert {len(line) for line in set_in("LATE 0:12", size)} == {width_of("LATE 0:12", size)}  # type: ignore[arg-type]


def test_few_words_are_set_larger_than_many() -> None:
    few, many = typeset([("SOLO",)], 80, 7), typeset([("A LONG LINE HERE",)], 80, 7)
    assert few.whole
    assert many.whole
    assert few.letter_rows > many.letter_rows


def test_a_shorter_wording_is_taken_where_the_longer_does_not_fit() -> None:
    short = typeset([("OCTAVE SWITCH FUNDAMENTAL", "FUNDAMENTAL")], 60, 3)
    assert short.lines == typeset([("FUNDAMENTAL",)], 60, 3).lines


def test_what_does_not_fit_is_counted() -> None:
    items = [("SWELL HEEL",), ("FADE TOE",), ("CAPO OFF",)]
    told = typeset(items, 70, 3)
    assert not told.whole
    assert told.lines == typeset([("SWELL HEEL  +2",)], 70, 3).lines


def test_letters_that_are_not_drawn_leave_the_terminals_own() -> None:
    told = typeset([("Ночь",)], 80, 6)
    assert told.lines == ("Ночь",)
    assert told.letter_rows == OWN_LETTER_ROWS


def test_accents_are_left_off() -> None:
    assert set_in("é", SIZES[-1]) == set_in("E", SIZES[-1])


@settings(max_examples=60)
@given(st.lists(st.tuples(st.text(max_size=30)), max_size=6), st.integers(0, 120), st.integers(0, 40))
def test_text_never_leaves_its_room(items: list[tuple[str]], width: int, rows: int) -> None:
    told = typeset(items, width, rows)
    assert len(told.lines) <= rows
    assert all(len(line) <= width for line in told.lines)


def test_letters_are_set_down_as_far_as_they_go() -> None:
    half, whole = typeset([("DO",)], 14, 3).lines, typeset([("DO",)], 40, 5).lines
    assert half == ("█▀▀▄ ▄▀▀▄", "█  █ █  █", "▀▀▀   ▀▀ ")
    assert lowered(half, 3) == ["▄▄▄   ▄▄ ", "█  █ █  █", "█▄▄▀ ▀▄▄▀"]
    assert lowered(whole, 6) == ["", *whole]
    assert lowered((), 2) == ["", ""]
