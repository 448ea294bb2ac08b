"""A table of wishes, read."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.wishes import WishesError, read_wishes
from showrunner.model.song import Curve

TABLES = {
    "commas": 'travel,0,50,100\n"delay mix",0,20,45\ndrive,3,,12\n',
    "semicolons": "travel;0;50;100\ndelay mix;0;20;45\ndrive;3;;12\n",
    "tabs": "\t0\t50\t100\ndelay mix\t0\t20\t45\ndrive\t3\t\t12\n",
    "bars": "| travel | 0 | 50 | 100 |\n|---|---:|---|---|\n| delay mix | 0 | 20 | 45 |\n| drive | 3 | | 12 |\n",
    "spaces": "travel      0  50  100\ndelay mix   0  20   45\ndrive       3   -   12\n",
    "single spaces": "0 50 100\ndelay mix 0 20 45\ndrive 3 - 12\n",
    "quotes": 'travel % 0 50 100\n"delay mix" 0 20 45\n"drive" 3 - 12\n',
    "percent signs": "travel, 0 %, 50%, 100 %\ndelay mix, 0, 20, 45\ndrive, 3, -, 12\n",
    "other line ends": "\ufeff# for the verse\r\n\r\ntravel,0,50,100\rdelay mix,0,20,45\r\ndrive,3,–,12",
}


@pytest.mark.parametrize("how", TABLES)
def test_a_table_is_read_however_its_cells_are_set_apart(how):
    wishes = read_wishes(TABLES[how])
    assert wishes.travel == (0, 50, 100)
    assert wishes.moves() == {"delay mix": [0, 20, 45], "drive": {"travel": [0, 100], "values": [3, 12]}}


def test_what_is_read_is_a_curve():
    wishes = read_wishes(TABLES["commas"])
    curve = Curve.model_validate({"travel": wishes.travel, "moves": wishes.moves()})
    assert curve.moves["drive"].travel == (0, 100)


def test_whole_numbers_stay_whole_and_others_exact():
    (row,) = read_wishes("travel,0,50,100\nmix,20,2.5,-3e1\n").rows
    assert [repr(value) for value in row.values] == ["20", "2.5", "-30.0"]


def test_a_typographic_minus_is_a_minus():
    assert read_wishes("travel,0\ndrive,−12\n").moves() == {"drive": [-12]}


def test_cells_left_out_at_the_end_of_a_row_are_blank():
    assert read_wishes("travel,0,50,100\nmix,7\n").moves() == {"mix": {"travel": [0], "values": [7]}}


def test_a_name_with_a_number_in_it_keeps_it():
    assert read_wishes("0 100\ndelay 2 10 20\n").moves() == {"delay 2": [10, 20]}


WRONG = {
    "": (1, None, "no columns of travel"),
    "# nothing\n": (1, None, "no columns of travel"),
    "travel,0,100\n": (1, None, "no rows"),
    "travel,0,50,40\nmix,1,2,3": (1, 4, "travel 40 comes after 50"),
    "travel,0,120\nmix,1,2": (1, 3, '"120" is not a travel'),
    "travel,0,half\nmix,1,2": (1, 3, '"half" is not a travel'),
    "travel,0,100\nmix,1,loud": (2, 3, '"loud" is not a number'),
    "travel,0,100\nmix,1,2 dB": (2, 3, '"2 dB" is not a number'),
    "travel,0,100\nmix,1,nan": (2, 3, '"nan" is not a number'),
    "travel,0,100\nmix,1,1e300": (2, 3, '"1e300" is not a number'),
    "travel,0,100\nmix,1,٣": (2, 3, '"٣" is not a number'),
    "travel;0;100\nmix;1;2,5": (2, 3, '"2,5" is not a number'),
    "travel,0,100\nmix,1,2,3": (2, 4, "3 values for 2 columns of travel"),
    "travel,0,100\n,1,2": (2, 1, "no name of a target"),
    "travel,0,100\nmi\x07x,1,2": (2, 1, "no name of a target"),
    "travel,0,100\nmix,,": (2, None, '"mix" has no value'),
    "travel,0,100\nmix,1,2\n\nmix,3,4": (4, 1, '"mix" has a row on line 2 already'),
    "0 50 100\nmix 1": (2, None, "1 value for 3 columns of travel"),
    "0 50 100\nmix 1 3\ndrive": (2, None, "2 values for 3 columns of travel"),
}


@pytest.mark.parametrize("text", WRONG)
def test_what_is_wrong_is_said_with_its_line_and_column(text):
    with pytest.raises(WishesError) as caught:
        read_wishes(text)
    first = caught.value.problems[0]
    assert (first.line, first.column, first.what) == WRONG[text]
    assert first.mend


def test_a_decimal_comma_is_mended():
    with pytest.raises(WishesError, match=r'line 2, column 3: "2,5" is not a number; write 2\.5, with a point'):
        read_wishes("travel;0;100\nmix;1;2,5")


def test_everything_wrong_is_said_at_once():
    with pytest.raises(WishesError) as caught:
        read_wishes("travel,0,100\nmix,a,b\ndrive,1,2,3\n")
    assert [(problem.line, problem.column) for problem in caught.value.problems] == [(2, 2), (2, 3), (3, 4)]


@settings(max_examples=200)
@given(text=st.text(alphabet=st.sampled_from('0159.,;|\t\n\r "-#%abxé\x00\u2028'), max_size=60))
def test_any_text_gives_a_table_or_problems_with_places(text):
    wishes, problems = _read(text)
    assert all(1 <= problem.line <= len(text) + 1 and problem.what for problem in problems)
    if wishes is not None:
        Curve.model_validate({"travel": wishes.travel, "moves": wishes.moves()})
    else:
        assert problems


def _read(text):
    try:
        return read_wishes(text), ()
    except WishesError as error:
        return None, error.problems


def test_a_cell_longer_than_any_reader_takes_is_a_problem():
    with pytest.raises(WishesError) as caught:
        read_wishes(f"travel,0\n{'x' * 200_000},1\n")
    assert caught.value.problems[0].line == 2
