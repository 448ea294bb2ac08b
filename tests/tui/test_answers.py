"""Answers to questions on what has changed, gone or moved meanwhile: they count for what was asked, or for nothing."""

from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Input

from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import LineScreen, PickScreen
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.shelf import Shelf

SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"
CUE = '[[cues]]\nname = "Count"\n\n[[cues]]\n# Toe'


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, song=SONG, without=("takes",))


def at_hand(shelf: Shelf, name: str) -> Path:
    return shelf.root / (f"shows/{shelf.show}.toml" if name == "set" else f"songs/{shelf.song}.toml")


def files(shelf: Shelf) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(shelf.root.glob("s*s/*.toml"))}


def said(app: Screens) -> str:
    return " ".join(notification.message for notification in app._notifications)


QUESTIONS = [
    ("set", ("a",), PickScreen),
    ("set", ("n",), LineScreen),
    ("song", ("a",), PickScreen),
    ("song", ("plus",), LineScreen),
    ("song", ("s",), PickScreen),
    ("song", ("tab", "a"), LineScreen),
]


@pytest.mark.parametrize(("name", "keys", "asks"), QUESTIONS)
@driven
async def test_an_answer_never_changes_another_file_than_it_was_asked_of(shelf: Shelf, name, keys, asks) -> None:
    app = Screens(place(name)(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press(*keys)
        await pilot.pause()
        assert isinstance(app.screen, asks)
        at_hand(shelf, name).unlink()
        left = files(shelf)
        shelf.refresh()
        assert (shelf.show, shelf.song) != (SHOW, SONG)
        if asks is LineScreen:
            app.screen.query_one(Input).value = "42"
        await pilot.press("enter")
        await pilot.pause()
        assert "not there any more; nothing was changed" in said(app)
        assert files(shelf) == left
        if asks is LineScreen:
            assert app.screen.query_one(Input).value == "42"


@pytest.mark.parametrize(("name", "keys", "asks"), QUESTIONS)
@driven
async def test_an_answer_on_a_file_that_has_little_left_falls_over_nothing(shelf: Shelf, name, keys, asks) -> None:
    app = Screens(place(name)(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("end", *keys)
        await pilot.pause()
        at_hand(shelf, name).write_text('format = 1\ntitle = "T"\n' + 'duration = "1:00"\n' * (name == "song"))
        shelf.refresh()
        if asks is LineScreen:
            app.screen.query_one(Input).value = "42"
        await pilot.press("enter", "enter")
        await pilot.pause()
        assert app.is_running
        assert not Shelf(shelf.root).reading.unread


@driven
async def test_a_song_is_added_after_the_one_it_was_asked_for_wherever_that_is_by_now(shelf: Shelf) -> None:
    app, file = Screens(place("set")(shelf)), at_hand(shelf, "set")
    async with app.run_test(size=(80, 24)) as pilot:
        app.screen.query_one(DataTable).move_cursor(row=4)
        after = app.screen._spot().song
        await pilot.press("a")
        await pilot.pause()
        lines = file.read_text().splitlines(keepends=True)
        first = next(number for number, line in enumerate(lines) if "{ song =" in line)
        file.write_text("".join(lines[:first] + lines[first + 1 :]))
        shelf.refresh()
        await pilot.press("enter")
        await pilot.pause()
        songs = [slot["song"] for slot in shelf.raw("show", SHOW)["sets"][0]["songs"]]
        assert songs.index(after) == 3
        assert app.screen._spot().song == songs[4]
        assert len(songs) == len(set(songs))


@driven
async def test_fields_and_a_new_cue_are_of_the_cue_they_were_asked_of_wherever_that_is_by_now(shelf: Shelf) -> None:
    app, file = Screens(place("song")(shelf)), at_hand(shelf, "song")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("tab", "down", "enter")
        await pilot.pause()
        assert isinstance(app.screen, FieldsScreen)
        file.write_text(file.read_text().replace("[[cues]]\n# Toe", CUE))
        shelf.refresh()
        await pilot.press("home", "enter")
        await pilot.pause()
        entry = app.screen.query_one(Input)
        assert entry.value == "Theme"
        entry.value = "Motif"
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("escape", "a")
        await pilot.pause()
        app.screen.query_one(Input).value = "Half"
        file.write_text(file.read_text().replace('name = "Count"\n', 'name = "Count"\n\n[[cues]]\nname = "Breath"\n'))
        shelf.refresh()
        await pilot.press("enter")
        await pilot.pause()
        names = [cue.name for cue in shelf.book.songs[SONG].cues]
        assert names[:5] == ["Count", "Breath", "Motif", "Half", "Solo"]
        assert app.screen.song.cues[app.screen.cue_at].name == "Half"
