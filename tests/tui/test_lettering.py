"""Big type: what fits is set as large as it can be, and nothing is left out without saying so."""

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from showrunner.tui.lettering import (
    LARGE,
    OWN_LETTER_ROWS,
    SIZES,
    Size,
    _parted,
    can_set,
    lowered,
    set_in,
    typeset,
    width_of,
)
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


def test_smaller_letters_come_before_a_shorter_wording() -> None:
    words = ("SALTMARSH SIGNAL", "SALTMARSH")
    least = width_of(words[0], SIZES[-1])
    assert [typeset([words], width, 4).said for width in (80, least, least - 1)] == [words[:1], words[:1], words[1:]]


def test_letters_get_no_smaller_than_can_be_read_while_there_is_a_shorter_wording() -> None:
    words = ("SALTMARSH SIGNAL", "SALTMARSH")
    assert typeset([words], 45, 3, least_rows=2).said == words[:1]
    assert typeset([words], 45, 4, least_rows=3).said == words[:1]
    assert typeset([words], 30, 4, least_rows=3).said == words[1:]
    assert typeset([words], 20, 4, least_rows=3).size is None


def test_each_item_has_a_line_of_its_own() -> None:
    told = typeset([("CAPO 2",), ("SWELL TOE",)], 200, 6)
    assert told.lines == (*set_in("CAPO 2", told.size), *set_in("SWELL TOE", told.size))


def test_a_long_item_goes_on_below_and_loses_no_word() -> None:
    say = "WAIT FOR THE NOD THEN LET IT RING UNTIL THE DRUMS ARE BACK"
    told = typeset([(say,)], 77, 9)
    assert (told.said, told.whole) == ((say,), True)
    assert told.size is not None
    assert len(told.lines) > told.size.rows
    assert " ".join(line.strip() for line in typeset([(say,)], 30, 3).lines) == say


def test_what_fits_in_no_size_stands_in_the_terminals_own_letters_the_last_first() -> None:
    items = [("SWELL HEEL",), ("FADE TOE",), ("CAPO OFF",)]
    told = typeset(items, 70, 5)
    assert told.lines == (*set_in("SWELL HEEL", SIZES[-1]), "FADE TOE", "CAPO OFF")
    assert (told.whole, told.letter_rows) == (True, OWN_LETTER_ROWS)


def test_what_has_no_room_at_all_is_counted() -> None:
    items = [("SWELL HEEL",), ("FADE TOE",), ("CAPO OFF",)]
    told = typeset(items, 70, 2)
    assert told.lines == ("SWELL HEEL", "FADE TOE  +1")
    assert (told.said, told.whole) == (("SWELL HEEL", "FADE TOE"), False)


@pytest.mark.parametrize("size", SIZES)
def test_letters_of_every_size_are_drawn_of_the_same_dots(size: Size) -> None:
    """Each dot of the largest letters is a block of 2 columns; narrow letters have it in a quarter of a cell."""
    large = set_in("KEEP 7/8", Size(size.dots, LARGE))
    drawn = [half for line in set_in("KEEP 7/8", size) for half in _parted(line)]
    across, down = size.across, 2 if size.large else 1
    dots = [half[::across] for half in drawn[::down]][: size.dots]
    assert ["".join(".#"[block == "█"] for block in line[::2]) for line in large] == [
        row[: len(large[0]) // 2] for row in dots
    ]


def test_letters_that_are_not_drawn_leave_the_terminals_own() -> None:
    told = typeset([("Ночь",)], 80, 6)
    assert told.lines == ("Ночь",)
    assert told.letter_rows == OWN_LETTER_ROWS


def test_accents_are_left_off() -> None:
    assert set_in("é", SIZES[-1]) == set_in("E", SIZES[-1])


@settings(max_examples=60)
@given(st.lists(st.tuples(st.text(max_size=30)), max_size=6), st.integers(0, 120), st.integers(0, 40))
@example([("00",), ("00",)], 1, 3)
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
