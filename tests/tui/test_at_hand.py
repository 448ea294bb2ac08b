"""What stays at hand while files break, go, come back or get other names, and a book whose folder is gone."""

import errno
import os
import shutil
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Static

from showrunner.book.problems import BookError
from showrunner.tui.app import Screens, place
from showrunner.tui.at_hand import still
from showrunner.tui.screens.curves import CurvesScreen
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.shelf import Shelf

SHOW, SONG = "pellmarsh-hall", "low-lantern"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, song=SONG, without=("takes",))


def song(shelf: Shelf, slug: str = SONG) -> Path:
    return shelf.root / "songs" / f"{slug}.toml"


def test_a_song_that_goes_leaves_the_next_one_at_hand_and_is_at_hand_again_once_it_is_back(shelf: Shelf) -> None:
    slugs, text = shelf.reading.slugs("song"), song(shelf).read_bytes()
    at = slugs.index(SONG)
    song(shelf).unlink()
    shelf.refresh()
    assert shelf.song == slugs[at + 1]
    song(shelf, slugs[at + 1]).unlink()
    shelf.refresh()
    assert shelf.song == slugs[at + 2]
    song(shelf).write_bytes(text)
    shelf.refresh()
    assert shelf.song == SONG


def test_the_last_song_that_goes_leaves_the_one_before_at_hand_and_the_only_one_none(shelf: Shelf) -> None:
    slugs = shelf.reading.slugs("song")
    shelf.song = slugs[-1]
    song(shelf, slugs[-1]).unlink()
    shelf.refresh()
    assert shelf.song == slugs[-2]
    shutil.rmtree(shelf.root / "songs")
    shelf.refresh()
    assert shelf.song is None
    (shelf.root / "songs").mkdir()
    song(shelf, "other").write_text('format = 1\ntitle = "Other"\nduration = "3:00"\n')
    shelf.refresh()
    assert shelf.song == "other"


def test_once_another_song_was_chosen_one_that_comes_back_is_not_at_hand(shelf: Shelf) -> None:
    text = song(shelf).read_bytes()
    song(shelf).unlink()
    shelf.refresh()
    shelf.song = "eel-road"
    shelf.refresh()
    song(shelf).write_bytes(text)
    shelf.refresh()
    assert shelf.song == "eel-road"


def test_a_file_that_gets_another_name_outside_stays_at_hand(shelf: Shelf) -> None:
    song(shelf).rename(song(shelf, "a-lantern"))
    shelf.refresh()
    assert shelf.song == "a-lantern"


def test_a_file_that_can_not_be_read_stays_at_hand(shelf: Shelf) -> None:
    song(shelf).write_text("title = \n")
    shelf.refresh()
    assert (shelf.song, shelf.raw("song", SONG)) == (SONG, {})
    song(shelf).unlink()
    song(shelf).mkdir()
    shelf.refresh()
    assert shelf.song == SONG


def test_permissions_that_are_mended_are_seen(shelf: Shelf) -> None:
    stat = song(shelf).stat()
    song(shelf).chmod(0o400 if stat.st_mode & 0o777 != 0o400 else 0o600)
    os.utime(song(shelf), ns=(stat.st_atime_ns, stat.st_mtime_ns))
    assert shelf.refresh()


@driven
async def test_a_book_whose_folder_is_gone_is_shown_as_it_was_and_makes_none_in_its_place(shelf: Shelf, until) -> None:
    away = shelf.root.with_name("away")
    app = Screens(place("songs")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        table = app.screen.query_one(DataTable)
        rows, at = table.row_count, table.cursor_row
        shelf.root.rename(away)
        await until(pilot, lambda: "is gone" in str(app.screen.query_one("#where", Static).content))
        assert (table.row_count, table.cursor_row, shelf.song) == (rows, at, SONG)
        with pytest.raises(BookError, match="folder is gone"):
            shelf.change("song", SONG, ("capo",), 3)
        await pilot.press("c", *"Copied", "enter")
        await pilot.pause()
        assert not shelf.root.exists()
        await pilot.press("escape", "exclamation_mark", "enter", "g", "escape")
        away.rename(shelf.root)
        await until(pilot, lambda: "is gone" not in str(app.screen.query_one("#where", Static).content))
        assert (table.row_count, table.cursor_row, shelf.song) == (rows, at, SONG)
        shelf.change("song", SONG, ("capo",), 3)
        assert "capo = 3" in song(shelf).read_text()


@pytest.mark.parametrize(
    ("was", "now", "at", "there"),
    [
        ("abc", "abc", 1, 1),
        ("abc", "xabc", 1, 2),
        ("abc", "ac", 1, 1),
        ("abc", "", 2, 0),
        ("aba", "xaba", 2, 1),
        ("aba", "aba", 2, 2),
        ("", "abc", 5, 2),
    ],
)
def test_what_is_at_hand_in_a_list_is_found_again(was: str, now: str, at: int, there: int) -> None:
    assert still(was, now, at) == there


SIGNAL = "saltmarsh-signal"
CUE = '[[cues]]\nname = "Count"\n\n[[cues]]\n# Toe'
SET = "[curves.before.swell]\ntravel = [0, 100]\nmoves = { drive = [1, 2] }\n\n[curves.verse.swell]\n#"


def rewritten(shelf: Shelf, *pairs: tuple[str, str]) -> None:
    text = song(shelf, SIGNAL).read_text()
    for before, after in pairs:
        assert before in text
        text = text.replace(before, after, 1)
    song(shelf, SIGNAL).write_text(text)


@driven
async def test_the_curve_the_value_and_the_cue_at_hand_stay_so_where_others_come_before_them(shelf: Shelf) -> None:
    shelf.song = SIGNAL
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        screen = app.screen
        table, cues = screen.query_one("#curve", DataTable), screen.query_one("#cues", DataTable)
        await pilot.press("down", "right", "right", "tab", "down", "down")
        text = song(shelf, SIGNAL).read_text()
        assert (screen._row_at_hand(), screen.column_travel(table.cursor_column)) == ("drive", 50)
        assert screen.song.cues[screen.cue_at].name == "Solo"
        rewritten(
            shelf,
            ("[[cues]]\n# Toe", CUE),
            ("[curves.verse.swell]\n#", SET),
            ("travel = [0, 50", "travel = [0, 25, 50"),
        )
        rewritten(shelf, ("[0, 20, 45]", "[0, 10, 20, 45]"), ("[3, 3, 9]", "[3, 3, 3, 9]"), ("[60, 20", "[60, 40, 20"))
        rewritten(shelf, ('"delay mix" = [0', 'feedback = [0, 0, 0, 1]\n"delay mix" = [0'))
        shelf.refresh()
        assert not shelf.reading.unread
        await pilot.press("D")
        await pilot.pause()
        assert [cue.name for cue in shelf.book.songs[SIGNAL].cues][:3] == ["Count", "Theme", "Second verse"]
        assert screen.the_place == ("verse", "swell")
        assert (screen._row_at_hand(), screen.column_travel(table.cursor_column)) == ("drive", 50)
        at = table.cursor_coordinate, cues.cursor_row
        good = song(shelf, SIGNAL).read_text()
        song(shelf, SIGNAL).write_text("title = \n")
        screen.look_again()
        await pilot.press("up", "down")
        song(shelf, SIGNAL).write_text(good)
        screen.look_again()
        await pilot.pause()
        assert (table.cursor_coordinate, cues.cursor_row) == at
        assert text != good


@driven
async def test_what_is_open_over_a_song_shows_an_outside_edit_and_acts_on_what_is_shown(shelf: Shelf, until) -> None:
    shelf.song = SIGNAL
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("v")
        await pilot.pause()
        sets, table = app.screen, app.screen.query_one(DataTable)
        assert isinstance(sets, CurvesScreen)
        table.move_cursor(row=3)
        rewritten(shelf, ("[curves.verse.swell]\n#", SET))
        await until(pilot, lambda: table.row_count == 6)
        assert table.get_row_at(table.cursor_row)[0].strip() == "swell"
        await pilot.press("delete")
        assert list(shelf.book.songs[SIGNAL].curves) == ["before", "verse", "lead"]
        await pilot.press("escape", "f")
        await pilot.pause()
        assert isinstance(app.screen, FieldsScreen)
        rewritten(shelf, ("tempo_bpm = 92", "tempo_bpm = 99"))
        shelf.refresh()
        await pilot.press("down")
        fields = app.screen.query_one(DataTable)
        assert "99" in " ".join(str(fields.get_row_at(row)[1]) for row in range(fields.row_count))


@driven
async def test_a_set_that_breaks_keeps_its_cursor_and_a_song_in_it_that_breaks_says_so(shelf: Shelf) -> None:
    app, file = Screens(place("set")(shelf)), shelf.root / "shows" / f"{SHOW}.toml"
    async with app.run_test(size=(120, 36)) as pilot:
        table = app.screen.query_one(DataTable)
        await pilot.press("down", "down", "down")
        text, at = file.read_text(), app.screen._song_at_cursor()
        file.write_text("title = \n")
        app.screen.look_again()
        await pilot.press("D", "comma", "d", "a")
        await pilot.pause()
        assert file.read_text() == "title = \n"
        file.write_text(text)
        app.screen.look_again()
        await pilot.pause()
        assert (app.screen._song_at_cursor(), table.cursor_row) == (at, 3)
        song(shelf, at).write_text("title = \n")
        app.screen.look_again()
        await pilot.pause()
        assert "can't be read" in str(table.get_row(at)[2])
        assert "line 1" in str(app.screen.query_one(".detail", Static).content)
        await pilot.press("enter")
        await pilot.pause()
        assert app.screen.place == "set"


@driven
async def test_a_medium_that_fails_is_said_on_every_screen_and_left_alone(shelf: Shelf, monkeypatch) -> None:
    root, stat, scandir = str(shelf.root), os.stat, os.scandir

    def failing(path: object) -> None:
        if str(path).startswith(root):
            raise OSError(errno.EIO, "Input/output error")

    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        with monkeypatch.context() as patched:
            patched.setattr(os, "stat", lambda path, *given, **named: (failing(path), stat(path, *given, **named))[1])
            patched.setattr(os, "scandir", lambda path=".": (failing(path), scandir(path))[1])
            for number in "123456789":
                await pilot.press(number)
                app.screen._look_again()
                await pilot.pause()
                assert "is gone" in str(app.screen.query_one("#where", Static).content)
                await pilot.press("u", "ctrl+e", "n", *"Anew", "enter", "escape", "escape")
            await app.workers.wait_for_complete()
        app.screen._look_again()
        assert "is gone" not in str(app.screen.query_one("#where", Static).content)


@driven
async def test_a_reference_that_a_key_mends_is_mended_at_once_and_broken_again_by_undo(shelf: Shelf) -> None:
    file = shelf.root / "shows" / f"{SHOW}.toml"
    file.write_text(file.read_text().replace("songs = [\n", 'songs = [\n    { song = "nowhere" },\n', 1))
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        app.screen.look_again()
        assert "1 to mend" in str(app.screen.query_one("#where", Static).content)
        app.screen.query_one(DataTable).move_cursor(row=0)
        await pilot.press("delete")
        await pilot.pause()
        assert not shelf.reading.problems
        assert "to mend" not in str(app.screen.query_one("#where", Static).content)
        await pilot.press("u")
        await pilot.pause()
        assert "1 to mend" in str(app.screen.query_one("#where", Static).content)
        assert shelf.reading.problems == Shelf(shelf.root).reading.problems


CONTROL = '[controls.aux]\nkind = "pedal"\nlimb = "left foot"\nport = "floor"\nchannel = 1\ncc = 99\n\n[controls.'


@driven
async def test_the_control_the_moment_and_the_song_of_a_night_at_hand_stay_so(shelf: Shelf, until) -> None:
    rig, show = shelf.root / "rigs" / "full.toml", shelf.root / "shows" / f"{SHOW}.toml"
    app = Screens(place("rig")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("down", "down")
        at = app.screen._at_hand("controls")
        rig.write_text(rig.read_text().replace("[controls.", CONTROL, 1))
        app.screen.look_again()
        assert "aux" in shelf.book.rigs["full"].controls
        assert app.screen._at_hand("controls") == at
        await pilot.press("7")
        moments, songs = app.screen.query_one("#moments", DataTable), app.screen.query_one("#songs", DataTable)
        await until(pilot, lambda: app.screen._moments)
        moments.move_cursor(row=14)
        songs.move_cursor(row=3)
        spot, slug = app.screen._listed[14], songs.coordinate_to_cell_key(songs.cursor_coordinate).row_key.value
        first = show.read_text().partition("songs = [\n")[2].partition("\n")[0]
        show.write_text(show.read_text().replace(first + "\n", "", 1))
        app.screen.look_again()
        assert songs.coordinate_to_cell_key(songs.cursor_coordinate).row_key.value == slug
        await until(pilot, lambda: app.screen._listed[moments.cursor_row] == spot and moments.cursor_row != 14)
        await pilot.press("9")
        await until(pilot, lambda: app.screen._compared is not None)
        table = app.screen.query_one(DataTable)
        table.move_cursor(row=5)
        part = app.screen._listed[5]
        good = show.read_text()
        for text in ("title = \n", good):
            show.write_text(text)
            app.screen.look_again()
            await app.workers.wait_for_complete()
            await pilot.pause()
        assert app.screen._compared is not None
        assert app.screen._listed[table.cursor_row] == part
