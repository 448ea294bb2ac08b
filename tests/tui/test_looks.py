"""What holds for every picture: enough contrast, no colour where none is wanted, nothing told by colour alone."""

import re

import pytest
from contrast import VGA, XTERM, Faint, faint
from scenes import SCENES
from taken import NONE, taken
from textpicture import Grid, lines_of

from showrunner.tui.themes import THEMES

SIZE = (80, 24)
EACH = pytest.mark.parametrize("name", SCENES)
IN_EACH_THEME = pytest.mark.parametrize("theme", [theme.name for theme in THEMES])


def too_faint(name: str, look: str, *palettes: tuple[str, ...]) -> set[Faint]:
    told = taken(name, SIZE)
    return {each for palette in palettes or [None] for each in faint(told.looks[look], told.live, palette)}


def rows_with(grid: Grid, mark: str) -> list[str]:
    """The words that are drawn with a mark, a text for each row that has any."""
    rows = ("".join(cell.text for cell in row if mark in cell.drawn.marks).strip() for row in grid)
    return [row for row in rows if re.search(r"\w", row)]


@EACH
@IN_EACH_THEME
def test_everything_said_stands_out_of_its_ground(name: str, theme: str) -> None:
    # At least 4.5 for text, 3 for large text and drawings (WCAG 2.2, 1.4.3 and 1.4.11).
    assert too_faint(name, theme) == set()


@EACH
@IN_EACH_THEME
def test_everything_said_stands_out_in_sixteen_colours(name: str, theme: str) -> None:
    # The same figures, in the sixteen as two kinds of terminal draw them.
    assert too_faint(name, f"{theme} 16", VGA, XTERM) == set()


@EACH
def test_without_colour_nothing_on_the_screen_has_any(name: str) -> None:
    cells = [cell for row in taken(name, SIZE).looks[NONE] for cell in row]
    assert {(cell.drawn.ink, cell.drawn.ground) for cell in cells} == {(None, None)}


@pytest.mark.parametrize(
    ("name", "words"),
    [("shows", "Pellmarsh Hall, December"), ("set", "Eel Road"), ("songs", "Saltmarsh Signal"), ("song", "0")],
)
def test_without_colour_the_row_at_hand_is_reversed(name: str, words: str) -> None:
    _places, *reversed_rows = rows_with(taken(name, SIZE).looks[NONE], "reverse")
    assert [words in row for row in reversed_rows] == [True]


def test_without_colour_what_the_palette_has_chosen_is_underlined() -> None:
    # The first underlined row is the head of the table behind it.
    assert len(rows_with(taken("palette", SIZE).looks[NONE], "underline")) == 1


def test_without_colour_a_lit_beat_fills_its_zone_and_an_unlit_one_does_not() -> None:
    lit, unlit = (lines_of(taken(name, SIZE).looks[NONE])[1:5] for name in ("count-in-lit", "count-in"))
    assert {line[-1] for line in lit} == {"█"}
    assert {len(line) for line in lit} == {SIZE[0]}
    assert max(map(len, unlit)) < SIZE[0]


def test_without_colour_trouble_fills_its_zone() -> None:
    rows = lines_of(taken("trouble", SIZE).looks[NONE])
    words = next(number for number, row in enumerate(rows) if row.startswith(" host is gone"))
    assert all(len(row) == SIZE[0] for row in rows[words + 1 : words + 4])
    assert rows_with(taken("trouble", SIZE).looks[NONE], "reverse") == [rows[words].strip()]


def test_what_is_at_hand_is_told_by_signs() -> None:
    assert "[2 Set]" in lines_of(taken("set", SIZE).looks[NONE])[0]
    assert any(row.startswith("▸") for row in lines_of(taken("lists", SIZE).looks[NONE]))
    assert any(row.startswith("▸") for row in lines_of(taken("rig", SIZE).looks[NONE]))


@EACH
def test_no_word_is_cut_in_a_head(name: str) -> None:
    told = taken(name, SIZE)
    rows = lines_of(told.looks[NONE])
    assert [rows[row] for row in told.heads if re.search(r"\w…", rows[row])] == []


@EACH
def test_every_key_of_a_footer_is_there_whole(name: str) -> None:
    told = taken(name, SIZE)
    foot = lines_of(told.looks[NONE])[-1]
    assert name == "palette" or told.foot
    assert [words for words in told.foot if words not in foot] == []
