"""The set: songs moved between sets, encore and reserve, tonight's changes, stand-ins, and the swap that helps most."""

import asyncio
import shutil
from functools import wraps
from pathlib import Path

import pytest
from textual.widgets import DataTable, Input, Static

from showrunner.model.show import Show
from showrunner.places import demo_book
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.shelf import Shelf

PELLMARSH, OXCOTE, FIELD = "pellmarsh-hall", "oxcote-theatre", "brackwater-field"


def driven(test):
    """The test as a plain function that runs to its end."""
    return wraps(test)(lambda **given: asyncio.run(test(**given)))


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shelf:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    shutil.copytree(demo_book(), tmp_path / "book", ignore=shutil.ignore_patterns(".*"))
    return Shelf(tmp_path / "book")


def app_of(shelf: Shelf, show: str) -> Screens:
    shelf.show = show
    return Screens(place("set")(shelf))


def text(shelf: Shelf, show: str) -> str:
    return (shelf.root / "shows" / f"{show}.toml").read_text()


def on_disk(shelf: Shelf, show: str) -> Show:
    return Shelf(shelf.root).book.shows[show]


def sets(shelf: Shelf, show: str) -> list[list[str]]:
    return [[slot.song for slot in part.songs] for part in on_disk(shelf, show).sets]


def cursor_to(app: Screens, song: str) -> None:
    at = [spot.song for spot in app.screen.spots].index(song)
    app.screen.query_one(DataTable).move_cursor(row=at)


async def found(app: Screens, pilot) -> None:
    await app.workers.wait_for_complete()
    await pilot.pause()


@driven
async def test_a_song_goes_over_the_interval_and_comes_back_in_one_step(shelf: Shelf) -> None:
    before, written = sets(shelf, OXCOTE), text(shelf, OXCOTE)
    app = app_of(shelf, OXCOTE)
    async with app.run_test() as pilot:
        cursor_to(app, "winter-ferry")
        await pilot.press("full_stop")
        assert sets(shelf, OXCOTE) == [before[0][:-1], ["winter-ferry", *before[1]]]
        assert app.screen.spots[app.screen.query_one(DataTable).cursor_row].song == "winter-ferry"
        await pilot.press("u")
        assert text(shelf, OXCOTE) == written


@driven
async def test_the_last_song_goes_into_the_encore_and_on_to_the_reserve(shelf: Shelf) -> None:
    app = app_of(shelf, OXCOTE)
    async with app.run_test() as pilot:
        cursor_to(app, "saltmarsh-signal")
        await pilot.press("full_stop")
        assert on_disk(shelf, OXCOTE).encore == ("saltmarsh-signal", "last-bus-inland")
        await pilot.press("full_stop", "full_stop")
        assert on_disk(shelf, OXCOTE).reserve == ("saltmarsh-signal", "lamplighters-waltz")


@driven
async def test_a_set_is_begun_at_a_song_and_joined_again(shelf: Shelf) -> None:
    before = sets(shelf, PELLMARSH)
    app = app_of(shelf, PELLMARSH)
    async with app.run_test() as pilot:
        cursor_to(app, before[0][4])
        await pilot.press("b")
        assert sets(shelf, PELLMARSH) == [before[0][:4], before[0][4:]]
        await pilot.press("b")
        assert sets(shelf, PELLMARSH) == before


@driven
async def test_a_song_of_the_book_is_found_as_one_types_and_added_after_the_cursor(shelf: Shelf) -> None:
    app = app_of(shelf, FIELD)
    async with app.run_test() as pilot:
        await pilot.press("down", "a")
        await pilot.pause()
        await pilot.press(*"tin")
        await pilot.press("enter")
        await pilot.pause()
        assert sets(shelf, FIELD)[0][:4] == ["saltmarsh-signal", "low-lantern", "tin-harbour", "heron-clock"]
        assert app.screen.query_one(DataTable).cursor_row == 2


@driven
async def test_a_song_is_taken_out_with_all_that_the_show_says_of_it(shelf: Shelf) -> None:
    app = app_of(shelf, FIELD)
    async with app.run_test() as pilot:
        cursor_to(app, "marram")
        await pilot.press("delete")
        assert "marram" not in text(shelf, FIELD)
        assert not Shelf(shelf.root).reading.problems
        await pilot.press("u")
        assert on_disk(shelf, FIELD).tonight["marram"].tuning == "open D"


@driven
async def test_tonights_changes_are_typed_on_one_line(shelf: Shelf) -> None:
    app = app_of(shelf, FIELD)
    async with app.run_test() as pilot:
        cursor_to(app, "eel-road")
        await pilot.press("t")
        await pilot.pause()
        app.screen.query_one(Input).value = 'capo = 3, duration = "3:05"'
        await pilot.press("enter")
        await pilot.pause()
        tonight = on_disk(shelf, FIELD).tonight["eel-road"]
        assert (tonight.capo, tonight.duration) == (3, 185)
        await pilot.press("t")
        await pilot.pause()
        app.screen.query_one(Input).value = ""
        await pilot.press("enter")
        await pilot.pause()
        assert "eel-road" not in on_disk(shelf, FIELD).tonight


@driven
async def test_tonights_change_that_can_not_be_changes_nothing(shelf: Shelf) -> None:
    written = text(shelf, FIELD)
    app = app_of(shelf, FIELD)
    async with app.run_test() as pilot:
        for line in ("capo", "capo = 90", "kapo = 2"):
            await pilot.press("t")
            await pilot.pause()
            app.screen.query_one(Input).value = line
            await pilot.press("enter")
            await pilot.pause()
            assert text(shelf, FIELD) == written


@driven
async def test_stand_ins_are_proposed_with_their_losses_and_taken(shelf: Shelf) -> None:
    file = shelf.root / "shows" / f"{FIELD}.toml"
    start, end = text(shelf, FIELD).index("[stand_ins"), text(shelf, FIELD).index("[tonight")
    file.write_text(text(shelf, FIELD)[:start] + text(shelf, FIELD)[end:])
    shelf.refresh()
    without = text(shelf, FIELD)
    app = app_of(shelf, FIELD)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("i")
        await found(app, pilot)
        assert isinstance(app.screen, ProposalScreen)
        await pilot.press("x")
        await pilot.pause()
        assert text(shelf, FIELD) == without
        await pilot.press("i")
        await found(app, pilot)
        await pilot.press("y")
        await pilot.pause()
        assert on_disk(shelf, FIELD).stand_ins
        await pilot.press("u")
        assert text(shelf, FIELD) == without


@driven
async def test_the_swap_that_helps_most_is_shown_and_taken(shelf: Shelf) -> None:
    before = sets(shelf, PELLMARSH)[0]
    app = app_of(shelf, PELLMARSH)
    async with app.run_test() as pilot:
        await pilot.press("w")
        await found(app, pilot)
        assert "change places" in str(app.screen.query_one(".detail", Static).content)
        assert sets(shelf, PELLMARSH)[0] == before
        await pilot.press("y")
        after = sets(shelf, PELLMARSH)[0]
        assert sum(one != other for one, other in zip(before, after, strict=True)) == 2
        await pilot.press("u")
        assert sets(shelf, PELLMARSH)[0] == before


@driven
async def test_what_follows_a_set_stays_with_the_set_in_a_better_order(shelf: Shelf) -> None:
    app = app_of(shelf, OXCOTE)
    async with app.run_test() as pilot:
        await pilot.press("R")
        await found(app, pilot)
        await pilot.press("y")
        await pilot.pause()
        assert str(on_disk(shelf, OXCOTE).sets[0].songs[-1].then) == "gap 20:00"


@driven
async def test_the_mouse_takes_a_song_along(shelf: Shelf) -> None:
    before = sets(shelf, PELLMARSH)[0]
    app = app_of(shelf, PELLMARSH)
    async with app.run_test(size=(120, 36)) as pilot:
        table = app.screen.query_one(DataTable)
        await pilot.mouse_down(table, offset=(20, 4))
        await pilot.mouse_up(table, offset=(20, 6))
        await pilot.click(table, offset=(20, 6))
        moved = [*before[:3], *before[4:6], before[3], *before[6:]]
        assert sets(shelf, PELLMARSH)[0] == moved
