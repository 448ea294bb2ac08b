"""What a book says is never read as layout, whatever it is."""

import csv
import html
import io
import re
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from showrunner.model.library import Book
from showrunner.sheets.escape import for_md
from showrunner.sheets.plain import clean
from showrunner.sheets.render import render

MARKS = "#*<&|$\"'`_~^@[](){}\\%=-+:;!?/.,0123456789 \u00a0\u2028\u202e\u0301\ufffe潮é"
LINES = st.one_of(
    st.text(st.sampled_from(MARKS), min_size=1, max_size=40),
    st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=40),
)
QUIET = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
FEW = settings(QUIET, max_examples=12)


def with_words(files: Any, book_of: Callable[[Any], Book], words: str) -> Book:
    """The small book with the words wherever it has text of its own."""
    song = files["song"]["tide"]
    song.update(title=words, short=words[:24], first_chord=words, key=words)
    song["cues"][0].update(name=words, say=words, by_hand={words: words})
    song["cues"][1].update(back_to=words)
    files["show"]["dock"].update(title=words)
    files["checklist"]["doors"]["items"][0].update(ask=words, answer=words)
    return book_of(files)


@QUIET
@given(words=LINES)
def test_text_is_never_wider_than_80_columns(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], words: str
) -> None:
    text = render(with_words(files, book_of, words), "dock", "floor", "text", templates).decode()
    for line in text.split("\n"):
        visible = [c for c in line if unicodedata.category(c) not in ("Mn", "Me", "Cf")]
        assert sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in visible) <= 80


@QUIET
@given(words=LINES, audience=st.sampled_from(["floor", "player", "crew", "desk"]))
def test_html_stays_well_formed_and_says_it_whole(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], words: str, audience: Any
) -> None:
    page = render(with_words(files, book_of, words), "dock", audience, "html", templates).decode()
    root = ElementTree.fromstring(page.removeprefix("<!DOCTYPE html>\n"))
    assert (root.findtext("body/h1") or "") == clean(words)


@QUIET
@given(words=LINES)
def test_a_table_reads_back_as_it_was(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], words: str
) -> None:
    sheet = render(with_words(files, book_of, words), "dock", "player", "csv", templates).decode()
    rows = list(csv.DictReader(io.StringIO(sheet, newline=""), strict=True))
    cues = [row for row in rows if row["row"] == "cue"]
    assert len(cues) == 9
    assert cues[1]["name"].removeprefix("'") == clean(words).removeprefix("'")


@QUIET
@given(words=LINES)
@example(words="[a](b) ![c](d) <e> &amp; `f` *g* _h_ **i**")
@example(words="# one")
@example(words="1. one")
@example(words="- one")
@example(words="a | b")
def test_markdown_shows_it_as_it_is(words: str) -> None:
    # CommonMark 0.31, section 2.4, read back by another program's parser
    said = clean(words)
    read = MarkdownIt("commonmark").enable("table").render(f"- {for_md(said)}\n\n| a |\n|---|\n| {for_md(said)} |\n")
    for place in ("li", "td"):
        (found,) = re.findall(f"<{place}>(.*?)</{place}>", read, re.DOTALL)
        assert html.unescape(found).strip() == said


def test_marks_that_turn_text_round_are_taken_out() -> None:
    assert clean("a\u202eb\u2066c\u200f") == "abc"


def test_text_on_several_lines_becomes_one() -> None:
    assert clean(" a\n\nb\u2028c\td ") == "a b c d"


@FEW
@given(words=LINES)
def test_pages_are_made_of_any_words(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], words: str
) -> None:
    book = with_words(files, book_of, words)
    assert render(book, "dock", "floor", "pdf", templates).startswith(b"%PDF-")
    assert render(book, "dock", "player", "pdf", templates).startswith(b"%PDF-")


@pytest.mark.parametrize(
    "words", ["$show", "${title:20}", "%end", "%include look.css", "#panic()", '#read("look.typ")']
)
def test_template_code_in_a_title_is_only_text(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], words: str
) -> None:
    book = with_words(files, book_of, words)
    assert words in render(book, "dock", "player", "text", templates).decode()
    assert render(book, "dock", "player", "pdf", templates).startswith(b"%PDF-")
