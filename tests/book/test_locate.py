from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.book.locate import Lines, Scan
from showrunner.model.keys import KeyPath

SONG = """\
format = 1

[curves.verse.swell]   # curve set
travel = [
    0,
    100,
]
[curves.verse.swell.moves]
"delay mix" = { travel = [0, 100], values = [0, 40] }

[[cues]]
name = "Theme"
[[cues]]
name = "Solo"
stop.by = "hand"
[cues.start]
controls.swell = 3
"""


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_every_key_is_found_on_the_line_it_was_written(written_documents: Any, data: st.DataObject) -> None:
    document = data.draw(written_documents)
    lines = Lines(document.text)
    assert {path: lines.of(path) for path in document.lines} == document.lines


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_line_ends_of_two_characters_count_once(written_documents: Any, data: st.DataObject) -> None:
    document = data.draw(written_documents)
    lines = Lines(document.text.replace("\n", "\r\n"))
    assert {path: lines.of(path) for path in document.lines} == document.lines


@pytest.mark.parametrize(
    ("key", "line"),
    [
        (("format",), 1),
        (("curves",), 3),
        (("curves", "verse", "swell"), 3),
        (("curves", "verse", "swell", "travel", 1), 6),
        (("curves", "verse", "swell", "moves"), 8),
        (("curves", "verse", "swell", "moves", "delay mix", "values", 1), 9),
        (("cues",), 11),
        (("cues", 1), 13),
        (("cues", 1, "stop", "by"), 15),
        (("cues", 1, "start"), 16),
        (("cues", 1, "start", "controls", "swell"), 17),
    ],
)
def test_keys_of_a_song_are_found(key: KeyPath, line: int) -> None:
    assert Lines(SONG).of(key) == line


@pytest.mark.parametrize(
    ("key", "line"),
    [
        (("cues", 0, "at"), 11),
        (("title",), 1),
        (("curves", "verse", "swell", "entry"), 3),
        (("cues", 7, "name"), 11),
        ((), 1),
    ],
)
def test_a_key_left_out_is_placed_at_the_nearest_table_around_it(key: KeyPath, line: int) -> None:
    assert Lines(SONG).of(key) == line


def test_a_header_after_its_own_sub_table_is_found_where_it_stands() -> None:
    assert Lines("[a.b]\nx = 1\n[a]\ny = 2\n").of(("a",)) == 3


def test_lists_nested_deeper_than_the_stack_allows_are_scanned() -> None:
    depth = 3000
    text = "a = " + "[" * depth + "]" * depth + "\nb = 1\n"
    assert Lines(text).of(("b",)) == 2


@given(st.text(st.sampled_from("[]{}=,.'\"\\#\n\r ab1\ufeff\x00")))
def test_any_text_at_all_is_scanned_to_an_end(text: str) -> None:
    marks = Scan(text).marks
    assert all(0 <= mark.start <= mark.end <= len(text) for mark in marks)
