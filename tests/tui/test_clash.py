"""What is changed here and in an editor at once: nothing is lost, both versions are shown, one is chosen."""

from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Input, Static

from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import ClashScreen
from showrunner.tui.shelf import Shelf

SHOW = "pellmarsh-hall"
ROW = "[0, 20, 45]"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, song="saltmarsh-signal")


def outside(file: Path, before: str, after: str) -> None:
    text = file.read_text()
    assert before in text
    file.write_text(text.replace(before, after))


async def clash(app: Screens, pilot, shelf: Shelf) -> None:
    """Type 25 where the file said 20, while somebody writes 31 there."""
    await pilot.press("right", "right", "enter")
    app.screen.query_one("#value", Input).value = "25"
    outside(shelf.root / "songs" / "saltmarsh-signal.toml", ROW, "[0, 31, 45]")
    await pilot.pause(1.0)
    assert app.screen.query_one("#value", Input).value == "25"
    await pilot.press("enter")
    await pilot.pause()


@pytest.mark.parametrize(("keys", "stands"), [("m", "[0, 25, 45]"), ("t", "[0, 31, 45]"), ("e", "[0, 28, 45]")])
@driven
async def test_both_versions_are_shown_and_one_is_chosen(shelf: Shelf, keys: str, stands: str) -> None:
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await clash(app, pilot, shelf)
        assert isinstance(app.screen, ClashScreen)
        assert "25" in str(app.screen.query_one("#mine", Static).content)
        assert "31" in str(app.screen.query_one("#theirs", Static).content)
        await pilot.press(keys)
        await pilot.pause()
        if keys == "e":
            app.screen.query_one(Input).value = "28"
            await pilot.press("enter")
        await pilot.pause()
        assert not app.screen.query_one("#value", Input).display
    assert stands in (shelf.root / "songs" / "saltmarsh-signal.toml").read_text()


@driven
async def test_where_none_is_chosen_what_was_typed_is_still_there_and_clashes_again(shelf: Shelf) -> None:
    app, file = Screens(place("song")(shelf)), shelf.root / "songs" / "saltmarsh-signal.toml"
    async with app.run_test(size=(120, 36)) as pilot:
        await clash(app, pilot, shelf)
        await pilot.press("escape")
        await pilot.pause()
        entry = app.screen.query_one("#value", Input)
        assert (entry.display, entry.has_focus, entry.value) == (True, True, "25")
        assert "[0, 31, 45]" in file.read_text()
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, ClashScreen)
        await pilot.press("m")
        await pilot.pause()
        assert "[0, 25, 45]" in file.read_text()


@driven
async def test_a_change_elsewhere_in_the_file_stays_and_asks_nothing(shelf: Shelf) -> None:
    file = shelf.root / "songs" / "saltmarsh-signal.toml"
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("right", "right", "enter")
        app.screen.query_one("#value", Input).value = "25"
        outside(file, "tempo_bpm = 92", "tempo_bpm = 93")
        await pilot.press("enter")
        await pilot.pause()
        assert not isinstance(app.screen, ClashScreen)
    text = file.read_text()
    assert "[0, 25, 45]" in text
    assert "tempo_bpm = 93" in text


@driven
async def test_the_cursor_stays_on_its_value_over_an_outside_edit(shelf: Shelf, until) -> None:
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("down", "right", "right")
        at = app.screen.query_one("#curve", DataTable).cursor_coordinate
        outside(shelf.root / "songs" / "saltmarsh-signal.toml", "tempo_bpm = 92", "tempo_bpm = 93")
        await until(pilot, lambda: "93 bpm" in str(app.screen.query_one("#head", Static).content))
        assert app.screen.query_one("#curve", DataTable).cursor_coordinate == at


@driven
async def test_a_song_put_before_it_outside_leaves_the_cursor_on_its_song(shelf: Shelf, until) -> None:
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("down", "down", "down")
        table = app.screen.query_one(DataTable)
        song = app.screen.spots[table.cursor_row].song
        outside(shelf.root / "shows" / f"{SHOW}.toml", "songs = [\n", 'songs = [\n    { song = "nine-reeds-2" },\n')
        await until(pilot, lambda: table.cursor_row == 4)
        assert app.screen.spots[table.cursor_row].song == song


@driven
async def test_a_value_typed_while_its_file_breaks_is_not_lost(shelf: Shelf) -> None:
    file = shelf.root / "songs" / "saltmarsh-signal.toml"
    text = file.read_text()
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("right", "right", "enter")
        app.screen.query_one("#value", Input).value = "25"
        file.write_text("title = \n")
        await pilot.press("enter")
        await pilot.pause(1.0)
        assert app.screen.query_one("#value", Input).value == "25"
        assert app.screen.query_one("#value", Input).display
        file.write_text(text)
        await pilot.press("enter")
        await pilot.pause()
    assert file.read_text() == text.replace(ROW, "[0, 25, 45]")


@driven
async def test_of_two_keys_that_clash_neither_is_written_over_unseen(shelf: Shelf) -> None:
    file = shelf.root / "songs" / "saltmarsh-signal.toml"
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        outside(file, "tempo_bpm = 92", "tempo_bpm = 93")
        outside(file, 'key = "D minor"', 'key = "E minor"')
        app.screen.edit_all("song", "saltmarsh-signal", {("tempo_bpm",): 95, ("key",): "F minor"})
        for key, theirs in (("tempo_bpm", "93"), ("key", '"E minor"')):
            await pilot.pause()
            assert str(app.screen.query_one("#asks", Static).content).startswith(f"{key} in ")
            assert theirs in str(app.screen.query_one("#theirs", Static).content)
            assert "tempo_bpm = 93" in file.read_text()
            await pilot.press("m")
        await pilot.pause()
        assert app.screen.place == "song"
    text = file.read_text()
    assert "tempo_bpm = 95" in text
    assert 'key = "F minor"' in text
