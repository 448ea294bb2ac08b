"""Every format for every audience: that it holds what it should, and the same bytes for the same book."""

import csv
import io
import unicodedata
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any, get_args
from xml.etree import ElementTree

import pytest

from showrunner.model.library import Book
from showrunner.sheets.render import Audience, SheetFormat, content, render

AUDIENCES, FORMATS = get_args(Audience), get_args(SheetFormat)


def columns(line: str) -> int:
    return sum(2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in line)


@pytest.mark.parametrize(("audience", "into"), list(product(AUDIENCES, FORMATS)))
def test_every_audience_has_every_format_in_the_same_bytes_each_time(
    book: Book, templates: list[Path], audience: Any, into: Any
) -> None:
    sheet = render(book, "dock", audience, into, templates)
    assert sheet == render(book, "dock", audience, into, templates)
    assert sheet.startswith(b"%PDF-") if into == "pdf" else b"Tide" in sheet or b"TIDE" in sheet


@pytest.mark.parametrize(("audience", "into"), list(product(AUDIENCES, FORMATS)))
def test_a_show_without_songs_has_its_sheets_too(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], audience: Any, into: Any
) -> None:
    files["show"]["dock"] = {"format": 1, "title": "Nothing yet", "rig": "small"}
    sheet = render(book_of(files), "dock", audience, into, templates)
    assert into in ("pdf", "csv") or b"No songs yet." in sheet


@pytest.mark.parametrize("audience", AUDIENCES)
def test_text_keeps_to_80_columns_and_loses_nothing(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], audience: Any
) -> None:
    words = [f"word{n}" for n in range(60)]
    files["song"]["tide"].update(title=" ".join(words), short="潮" * 24)
    files["song"]["ferry"].update(title="潮" * 60)
    files["song"]["tide"]["cues"][0]["say"] = "x" * 200
    text = render(book_of(files), "dock", audience, "text", templates).decode()
    assert max(columns(line) for line in text.split("\n")) <= 80
    assert "潮" * 24 in text or all(word in text for word in words)
    assert audience in ("crew", "desk") or "x" * 200 in text.replace("\n", "").replace(" ", "")


@pytest.mark.parametrize("audience", AUDIENCES)
def test_html_is_well_formed_and_stands_alone(book: Book, templates: list[Path], audience: Any) -> None:
    page = render(book, "dock", audience, "html", templates).decode()
    root = ElementTree.fromstring(page.removeprefix("<!DOCTYPE html>\n"))
    assert root.findtext("head/title") == "A night at the dock"
    assert not [name for element in root.iter() for name in element.attrib if name in ("src", "href")]
    assert "prefers-color-scheme: dark" in page
    assert "@media print" in page


@pytest.mark.parametrize("audience", ["floor", "crew"])
@pytest.mark.parametrize("suffix", ["text", "md", "html"])
def test_a_title_stands_whole_where_there_is_room(
    audience: str, suffix: str, book: Book, templates: list[Path]
) -> None:
    sheet = render(book, "dock", audience, suffix, templates).decode()
    assert "Tide Over Everything" in sheet
    assert "TIDE OVER" not in sheet


def test_table_lines_end_as_rfc_4180_has_them(book: Book, templates: list[Path]) -> None:
    # RFC 4180, section 2: CRLF after each record, as many fields in each
    sheet = render(book, "dock", "crew", "csv", templates).decode()
    assert sheet.endswith("\r\n")
    assert "\n" not in sheet.replace("\r\n", "")
    assert len({len(row) for row in csv.reader(io.StringIO(sheet, newline=""))}) == 1


def test_the_pdf_does_not_say_when_it_was_made(book: Book, templates: list[Path]) -> None:
    assert b"D:19700101000000Z" in render(book, "dock", "floor", "pdf", templates)


def test_the_pdf_brings_its_own_face(book: Book, templates: list[Path]) -> None:
    assert b"Inter" in render(book, "dock", "floor", "pdf", templates)


def test_content_is_plain_data_only(book: Book) -> None:
    def kinds(value: Any) -> set[type]:
        inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
        return {type(value)}.union(*(kinds(part) for part in inner))

    for audience in AUDIENCES:
        assert kinds(content(book, "dock", audience)) <= {dict, list, str, int, float, bool, type(None)}
