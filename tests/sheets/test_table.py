"""A sheet as comma-separated values: one value a cell, read back by Python's own reader."""

import csv
import io
import re
from collections.abc import Callable
from itertools import chain
from pathlib import Path
from typing import Any, get_args

import pytest

from showrunner.model.library import Book
from showrunner.sheets.escape import for_csv
from showrunner.sheets.render import Audience, content, render
from showrunner.sheets.table import AUDIENCE_KINDS, KINDS

AUDIENCES = get_args(Audience)
UNIT = re.compile(r"\(([^()]|\([^()]*\))+\)$")


def table(book: Book, audience: Any, templates: list[Path]) -> list[dict[str, str]]:
    sheet = render(book, "dock", audience, "csv", templates).decode("utf-8")
    return list(csv.DictReader(io.StringIO(sheet, newline=""), strict=True))


def of_kind(rows: list[dict[str, str]], kind: str, *names: str) -> list[tuple[str, ...]]:
    return [tuple(row[name] for name in names) for row in rows if row["row"] == kind]


def test_every_kind_of_row_is_in_some_table(book: Book, templates: list[Path]) -> None:
    assert set(chain(*AUDIENCE_KINDS.values())) == KINDS.keys()
    for audience in AUDIENCES:
        assert {row["row"] for row in table(book, audience, templates)} <= set(AUDIENCE_KINDS[audience])


@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_column_with_a_unit_holds_bare_numbers_and_no_cell_holds_two_values(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], audience: Any
) -> None:
    files["song"]["tide"].update(trim_db=-2.5, start={"targets": {"drive": -6, "echo": 20}})
    files["song"]["ferry"]["tempo_changes"] = [{"bar": 9, "tempo_bpm": 133, "meter": "6/8"}]
    files["venue"]["dock"]["trims"] = {"targets": {"echo": -5}}
    rows = table(book_of(files), audience, templates)
    numbers = [cell for row in rows for name, cell in row.items() if UNIT.search(name) and cell]
    assert numbers
    assert all(float(cell) == float(cell) for cell in numbers)
    assert not [cell for row in rows for cell in row.values() if cell.startswith("'") or "; " in cell]
    assert not [cell for row in rows for cell in row.values() if re.search(r"\d (dB|%|s|mA|mAh|h|ms|LUFS)$", cell)]


def test_negative_numbers_get_no_apostrophe(files: Any, book_of: Callable[[Any], Book], templates: list[Path]) -> None:
    files["song"]["tide"]["start"]["targets"] = {"drive": -6}
    rows = table(book_of(files), "player", templates)
    assert ("start", "drive", "-6") in of_kind(rows, "send", "name", "target", "value (dB)")
    assert of_kind(table(book_of(files), "desk", templates), "song", "loudness (LUFS)")[0] == ("-18.2",)


def test_cues_hands_pedals_and_what_is_sent_have_rows_of_their_own(book: Book, templates: list[Path]) -> None:
    rows = table(book, "player", templates)
    assert of_kind(rows, "cue", "label", "number", "name")[:5] == [
        ("1", "0", "start"),
        ("1", "1", "Theme"),
        ("1", "2", "Solo"),
        ("1", "3", "Out"),
        ("2", "0", "start"),
    ]
    assert of_kind(rows, "cue", "at (s)", "bar", "open", "holds", "say")[1:3] == [
        ("72", "", "", "yes", "eight bars"),
        ("120", "61", "yes", "", ""),
    ]
    tide = [row for row in rows if row["slug"] == "tide"]
    assert of_kind(tide, "hand", "number", "control", "to") == [
        ("0", "string driver", "fundamental"),
        ("1", "string driver", "octave"),
        ("3", "string driver", "off"),
    ]
    assert of_kind(tide, "pedal", "number", "control", "travel (%)") == [("0", "swell", "0"), ("1", "swell", "100")]
    assert of_kind(tide, "send", "number", "target", "value (dB)", "value (%)") == [
        ("0", "echo", "", "20"),
        ("1", "drive", "9", ""),
    ]


@pytest.mark.parametrize("curfew", ["23:59", "SAME"])
def test_the_finish_and_the_curfew_look_as_different_as_they_are(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], curfew: str
) -> None:
    plain = content(book_of(files), "dock", "desk")["finish"]
    files["venue"]["dock"]["curfew"] = plain if curfew == "SAME" else curfew
    said = content(book_of(files), "dock", "desk")
    assert len(said["finish"]) == (8 if curfew == "SAME" else 5)
    rows = table(book_of(files), "desk", templates)
    assert of_kind(rows, "show", "finish", "curfew") == [(said["finish"], said["curfew"])]


def test_rulers_say_what_moves_where(book: Book, templates: list[Path]) -> None:
    rows = [row for row in table(book, "player", templates) if row["slug"] == "tide" and row["curve set"] == "verse"]
    names = (
        "target",
        "way",
        "from (%)",
        "to (%)",
        "from value (dB)",
        "to value (dB)",
        "from value (%)",
        "to value (%)",
    )
    assert of_kind(rows, "ruler", *names) == [
        ("drive", "rests", "0", "50", "3", "3", "", ""),
        ("drive", "rises", "50", "100", "3", "12", "", ""),
        ("echo", "falls", "0", "40", "", "", "60", "20"),
        ("echo", "rests", "40", "100", "", "", "20", "20"),
    ]
    points = of_kind(rows, "point", "target", "travel (%)", "value (dB)", "value (%)")
    assert points == [
        ("drive", "0", "3", ""),
        ("drive", "50", "3", ""),
        ("drive", "100", "12", ""),
        ("echo", "0", "", "60"),
        ("echo", "40", "", "20"),
    ]


def test_the_crew_have_guitars_batteries_and_checklists(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path]
) -> None:
    files["rig"]["small"]["batteries"]["cell"]["capacity_mah"] = [[10, 560], [50, 470]]
    rows = table(book_of(files), "crew", templates)
    assert of_kind(rows, "battery", "battery", "capacity (mAh)", "at (mA)", "load (mA)", "fitted", "used (h)") == [
        ("cell", "560", "10", "18", "2027-01-02", "1.5"),
        ("cell", "470", "50", "18", "2027-01-02", "1.5"),
    ]
    assert of_kind(rows, "check", "checklist", "when", "ask", "answer", "critical", "who") == [
        ("Before doors", "at 19:30", "Strings", "stretched", "yes", "crew"),
        ("Before doors", "at 19:30", "Water", "", "", ""),
    ]
    drop_d = [one for one in of_kind(rows, "string", "guitar", "tuning", "string", "note") if one[1] == "drop D"]
    assert drop_d[0] == ("high", "drop D", "1", "D2")
    assert of_kind(rows, "song", "slug", "changeover needs (s)", "changeover too short (s)")[2] == ("lamp", "18", "18")
    assert ("tide", "crew", "have ready: low, B standard") in of_kind(rows, "step", "slug", "who", "what")


def test_the_desk_has_trims_marks_and_how_far_pedals_reach(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path]
) -> None:
    files["venue"]["dock"]["trims"] = {"interface_volume_db": -2, "targets": {"echo": -5}}
    rows = table(book_of(files), "desk", templates)
    assert of_kind(rows, "offset", "target", "value (%)") == [("echo", "-5")]
    assert of_kind(rows, "song", "slug", "mark", "interface volume (dB)")[0] == ("tide", "loudest", "-2")
    assert of_kind(rows, "reach", "name", "control", "target", "lowest (dB)", "highest (dB)")[:2] == [
        ("start", "swell", "drive", "3", "12"),
        ("Theme", "swell", "drive", "9", "12"),
    ]


@pytest.mark.parametrize("audience", AUDIENCES)
def test_tables_have_the_songs_of_the_sheet(book: Book, templates: list[Path], audience: Any) -> None:
    songs = [song["slug"] for part in content(book, "dock", audience)["parts"] for song in part["songs"]]
    assert [slug for (slug,) in of_kind(table(book, audience, templates), "song", "slug")] == songs


@pytest.mark.parametrize(
    "text",
    [
        *("=1+1", "+1+1", "-1+1", "@SUM(A1)", "\uff1d1+1", "\uff0b1+1", "\uff0d1+1", "\uff20SUM(A1)"),
        *("\u200b=1+1", "\ufeff=1+1", "\u2060\u200d+1+1", " =1+1", "\u00a0=1+1", "\u00ad-1+1", "\u0301@A1"),
        *("\u200b\uff1d1+1", "\ufe66SUM(A1)", "-cmd|' /C calc'!A0", "=-5", "+-5"),
        *("\u3164=1+1", "\u2800@SUM(A1)", "\u202e\u061c=1+1", "\u2028\u3000=1+1", "\ufe0f\u034f\uff0b1+1"),
    ],
)
def test_what_a_spreadsheet_would_run_is_text(
    files: Any, book_of: Callable[[Any], Book], templates: list[Path], text: str
) -> None:
    """Signs of full width and characters of no width: common practice in spreadsheets, no source."""
    assert for_csv(text) == f"'{text}"
    files["song"]["lamp"]["title"] = text
    titles = dict(of_kind(table(book_of(files), "floor", templates), "song", "slug", "title"))
    assert titles["lamp"].startswith("'")


@pytest.mark.parametrize("text", ["-7", "+7", "-0.5", "12", "3.25", "a=b", "1+1", "Ebb & Flow", "–7 to 3", ""])
def test_numbers_and_plain_text_stay_as_they_are(text: str) -> None:
    assert for_csv(text) == text
