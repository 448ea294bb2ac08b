"""What stands below the tables of shows, set and songs, and which of their columns there are."""

import re
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Static

from showrunner.model.library import Book
from showrunner.model.song import Cue
from showrunner.model.units import format_length
from showrunner.places import demo_book
from showrunner.planning.changeover import changeovers
from showrunner.tui.about import clipped, filled, fitting, show_lines, song_lines
from showrunner.tui.app import Screens, place
from showrunner.tui.screens import shows
from showrunner.tui.set_words import changeover_lines
from showrunner.tui.shelf import Shelf
from showrunner.tui.widgets.length import along

SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"
WIDTHS = {"Song": 10, "Length": 6, "Key": 8}


@pytest.fixture(scope="module")
def book() -> Book:
    return Shelf(demo_book()).book


def below(app: Screens) -> str:
    return str(app.screen.query_one(".detail", Static).content)


@pytest.mark.parametrize(
    ("room", "there"),
    [(30, ["Song", "Length", "Key"]), (29, ["Song", "Length"]), (19, ["Song"]), (0, ["Song"])],
)
def test_columns_go_in_their_order_where_there_is_no_room(room: int, there: list[str]) -> None:
    assert fitting(WIDTHS, room, ["Key", "Length"]) == there


def test_a_narrow_column_takes_the_room_that_a_wide_one_left() -> None:
    assert fitting({**WIDTHS, "Tuning": 20}, 32, ["Key", "Tuning"]) == ["Song", "Length", "Key"]


def test_lines_without_room_are_said_to_be_there() -> None:
    lines = ["one", "two", "three"]
    assert clipped(lines, 3, "enter opens it") == clipped(lines, 0, "enter opens it") == "one\ntwo\nthree"
    assert clipped(lines, 2, "enter opens it") == "one\n… enter opens it"


def test_a_song_tells_its_facts_its_shows_and_its_cues_along_its_length(book: Book) -> None:
    few, many = song_lines(book, SONG, 78, 8), song_lines(book, SONG, 118, 40)
    assert "\n".join(many).count("Pellmarsh Hall, December") == 1
    for cue in book.songs[SONG].cues:
        assert any(cue.name in line for line in few)
        assert any(cue.name in line and (cue.say or "") in line for line in many)
    assert max(map(len, few)) <= 78
    assert max(map(len, many)) <= 118


def test_a_song_tells_what_its_pedals_move_where_there_are_rows_for_it(book: Book) -> None:
    lines = song_lines(book, SONG, 118, 40)
    assert 'swell in the curves "verse"' in lines
    row = next(line for line in lines if line.startswith("  drive"))
    heel = lines[lines.index('swell in the curves "verse"') + 1].index("heel")
    assert (row[heel], row[-6:]) == ("·", "╱ 9 dB")
    assert not any("swell in" in line for line in song_lines(book, SONG, 118, 12))


def test_every_cue_has_its_letter_along_the_length(book: Book) -> None:
    cues = tuple(Cue(name=f"cue {number}", at=format_length(10 * number + 10)) for number in range(30))
    line, *named = along(book.songs[SONG].model_copy(update={"cues": cues}), 200)
    assert re.sub("[├─┤]", "", line) == "ABCDEFGHIJKLMNOPQRSTUVWXYZAABBCCDD"
    assert len(line) == 200
    assert any("DD 5:00 cue 29" in row for row in named)


def test_what_is_not_in_the_book_has_nothing_to_tell(book: Book) -> None:
    assert song_lines(book, "nowhere", 78, 40) == show_lines(book, "nowhere", None, 78, 40) == []


def test_a_show_tells_its_songs_one_to_a_line_or_side_by_side(book: Book) -> None:
    timed = Shelf(demo_book()).timed(book, SHOW)
    few, many = (show_lines(book, SHOW, timed, 78, rows) for rows in (10, 40))
    assert "from 20:45 to 21:54 · planned 1:06:41 · 4:59 to spare" in few
    assert "from 20:45 to 21:54 · planned 1:06:41 · 4:59 to spare" in many
    assert "  20:57  Heron Clock             4:50  then talk 1:00" in many
    assert "encore (1): Last Bus Inland" in few
    assert len(few) <= 10
    for song in book.shows[SHOW].songs:
        title = book.songs[song].title
        assert any(title in line for line in few)
        assert any(title in line for line in many)


def test_lines_break_between_titles() -> None:
    assert filled("in a hall", 20) == ["in a hall"]
    assert [
        line.strip()
        for line in filled("set: Low\N{NO-BREAK SPACE}Lantern\N{NO-BREAK SPACE}· Eel\N{NO-BREAK SPACE}Road", 20)
    ] == [
        "set: Low Lantern ·",
        "Eel Road",
    ]


def test_a_changeover_tells_each_step_or_all_in_one_line(book: Book) -> None:
    show = book.shows[SHOW]
    change = next(one for one in changeovers(book, show, book.rigs["full"]) if one.before == "eel-road")
    many, few = (changeover_lines(book, change, 118, rows) for rows in (10, 2))
    assert many == [
        "into Withy Boats: 0:13 of work in the gap 0:20",
        "  capo             no capo → fret 1  both hands, 10 s",
        "  pickup selector  bridge → neck     picking hand, 1 s",
        "  fuzz knob        half → low        picking hand, 2 s",
    ]
    steps = "gap 0:20: capo no capo → fret 1, pickup selector bridge → neck, fuzz knob half → low"
    assert " ".join(line.strip() for line in few).endswith(steps)


@pytest.mark.parametrize("name", ["shows", "set", "songs"])
@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
@driven
async def test_no_column_is_cut_at_the_edge(tmp_path: Path, name: str, size: tuple[int, int]) -> None:
    app = Screens(place(name)(demo_shelf(tmp_path / "book", show=SHOW, song=SONG)))
    async with app.run_test(size=size) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        table = app.screen.query_one(DataTable)
        assert table.virtual_size.width <= table.scrollable_content_region.width
        await pilot.resize_terminal(200, 60)
        await pilot.pause()
        assert {"Length", "Planned"} & {str(column.label) for column in table.ordered_columns}


@driven
async def test_the_column_that_is_sorted_by_is_there_on_a_narrow_terminal(tmp_path: Path) -> None:
    app = Screens(place("songs")(demo_shelf(tmp_path / "book")))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press(*["s"] * 6)
        labels = [str(column.label) for column in app.screen.query_one(DataTable).ordered_columns]
        assert "Tuning ↓" in labels
        assert "Tempo" not in labels


@driven
async def test_a_show_that_is_being_played_says_so_in_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, until
) -> None:
    played = {SHOW}
    monkeypatch.setattr(shows, "LOOKS_AGAIN_AFTER_S", 0.02)
    asked: list[str] = []

    def plays(_: Shelf, show: str) -> str | None:
        asked.append(show)
        return "real" if show in played else None

    monkeypatch.setattr(Shelf, "plays", plays)
    app = Screens(place("shows")(demo_shelf(tmp_path / "book", show=SHOW)))
    async with app.run_test(size=(80, 24)) as pilot:
        table = app.screen.query_one(DataTable)
        await until(pilot, lambda: table.get_cell(SHOW, "Date") == "playing")
        assert table.get_cell("oxcote-theatre", "Date") == "2026-12-12"
        assert below(app).startswith("being played now: p joins it, x ends it")
        asked.clear()
        await pilot.press("n")
        await pilot.pause(0.2)
        assert len(asked) <= 2 * len(app.screen_stack[-2].shelf.book.shows)
        played.clear()
        await pilot.press("escape")
        await until(pilot, lambda: table.get_cell(SHOW, "Date") == "2026-12-05")
        assert "being played" not in below(app)
