"""Room that text takes on a screen."""

from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.model.cells import cells, cut, fit, whole_parts


def test_wide_letters_take_two_and_joining_ones_none():
    assert [cells(text) for text in ("drive", "音量", "e\u0301", "")] == [5, 4, 1, 0]


def test_text_that_is_too_long_ends_in_an_ellipsis():
    assert fit("delay mix", 6) == "delay…"


@settings(max_examples=100)
@given(text=st.text(max_size=12), room=st.integers(1, 12))
def test_text_is_made_to_fill_its_room_exactly(text, room):
    assert cells(fit(text, room)) == room


def test_parts_are_left_out_whole_where_there_is_no_room_for_all():
    said = "cue 1/5 · 2:06 of 6:40 · host sent"
    assert [whole_parts(said, room) for room in (34, 33, 22, 3)] == [
        said,
        "cue 1/5 · 2:06 of 6:40",
        "cue 1/5 · 2:06 of 6:40",
        "cue 1/5",
    ]


def test_text_is_cut_only_where_it_is_too_long():
    assert cut("Marram", 6) == "Marram"
    assert cut("Marram", 5) == "Marr…"
    assert cells(cut("海の歌", 5)) <= 5
