"""What stays at hand while files break, go, come back or get other names, and a book whose folder is gone."""

import os
import shutil
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Static

from showrunner.book.problems import BookError
from showrunner.tui.app import Screens, place
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
