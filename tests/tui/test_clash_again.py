"""Undo and redo over what was changed outside since: both versions are shown, one is chosen, nothing is lost."""

from pathlib import Path
from typing import Any

import pytest
from driving import demo_shelf, driven
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.widgets import DataTable, Input, Static

from showrunner.book.data import ABSENT, same, value_at
from showrunner.model.keys import KeyPath
from showrunner.tui.app import Screens, place
from showrunner.tui.made import NOTHING_CHOSEN, Choice, Chosen, ClashError
from showrunner.tui.screens.asked import ClashScreen
from showrunner.tui.shelf import Shelf

SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"
TEMPO = ("tempo_bpm",)


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, song=SONG, without=("takes",))


def song(shelf: Shelf, slug: str = SONG) -> Path:
    return shelf.root / "songs" / f"{slug}.toml"


def outside(file: Path, before: str, after: str) -> str:
    """Change a file as an editor would; what it says then."""
    text = file.read_text()
    assert before in text
    file.write_text(text.replace(before, after))
    return file.read_text()


def tempo(shelf: Shelf) -> Any:
    shelf.refresh()
    return shelf.raw("song", SONG)["tempo_bpm"]


def versions(app: Screens) -> tuple[str, str]:
    mine, theirs = (str(app.screen.query_one(part, Static).content) for part in ("#mine", "#theirs"))
    return mine, theirs


def said(app: Screens) -> str:
    return " ".join(notification.message for notification in app._notifications)


@pytest.mark.parametrize(
    ("keys", "stands", "redone"), [("m", 92, 97), ("t", 97, None), ("e", 90, 97), ("escape", 97, None)]
)
@driven
async def test_an_undo_shows_both_versions_and_settles_it_either_way(shelf: Shelf, keys, stands, redone) -> None:
    shelf.change("song", SONG, ("capo",), 2)
    shelf.change("song", SONG, TEMPO, 95)
    outside(song(shelf), "tempo_bpm = 95", "tempo_bpm = 97")
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("u")
        await pilot.pause()
        assert isinstance(app.screen, ClashScreen)
        assert [each.split("\n") for each in versions(app)] == [["taken back (m)", "92"], ["the file's (t)", "97"]]
        await pilot.press(keys)
        if keys == "e":
            app.screen.query_one(Input).value = "90"
            await pilot.press("enter")
        await pilot.pause()
        assert app.screen.place == "song"
        assert tempo(shelf) == stands
        if redone is not None:
            await pilot.press("U")
            assert tempo(shelf) == redone
            await pilot.press("u")
            assert tempo(shelf) == stands
        await pilot.press("u")
        await pilot.pause()
        assert isinstance(app.screen, ClashScreen) == (keys == "escape")
        assert ("capo" in shelf.raw("song", SONG)) == (keys == "escape")


@pytest.mark.parametrize(("keys", "stands"), [("m", 95), ("t", 90)])
@driven
async def test_a_redo_shows_both_versions_too(shelf: Shelf, keys: str, stands: int) -> None:
    shelf.change("song", SONG, TEMPO, 95)
    shelf.undo()
    outside(song(shelf), "tempo_bpm = 92", "tempo_bpm = 90")
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("U")
        await pilot.pause()
        assert [each.split("\n") for each in versions(app)] == [["made again (m)", "95"], ["the file's (t)", "90"]]
        await pilot.press(keys)
        await pilot.pause()
        assert tempo(shelf) == stands
        await pilot.press("u")
        await pilot.pause()
        assert tempo(shelf) == 90


@driven
async def test_a_file_that_changes_while_both_versions_are_shown_is_shown_anew(shelf: Shelf) -> None:
    shelf.change("song", SONG, TEMPO, 95)
    outside(song(shelf), "tempo_bpm = 95", "tempo_bpm = 97")
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("u")
        await pilot.pause()
        outside(song(shelf), "tempo_bpm = 97", "tempo_bpm = 98")
        await pilot.press("m")
        await pilot.pause()
        assert isinstance(app.screen, ClashScreen)
        assert "98" in versions(app)[1]
        await pilot.press("m")
        await pilot.pause()
        assert tempo(shelf) == 92


@driven
async def test_what_somebody_took_back_already_asks_nothing(shelf: Shelf) -> None:
    shelf.change("song", SONG, ("capo",), 2)
    shelf.change("song", SONG, TEMPO, 95)
    outside(song(shelf), "tempo_bpm = 95", "tempo_bpm = 92")
    app = Screens(place("song")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("u")
        assert tempo(shelf) == 92
        await pilot.press("u")
        await pilot.pause()
        assert "capo" not in shelf.raw("song", SONG)


def order(shelf: Shelf) -> list[str]:
    shelf.refresh()
    return [slot["song"] for slot in shelf.raw("show", SHOW)["sets"][0]["songs"]]


@pytest.mark.parametrize("keys", ["m", "t"])
@driven
async def test_a_song_taken_out_of_a_set_that_is_another_by_now_shows_both_orders(shelf: Shelf, keys: str) -> None:
    app, file = Screens(place("set")(shelf)), shelf.root / "shows" / f"{SHOW}.toml"
    async with app.run_test(size=(120, 36)) as pilot:
        before = order(shelf)
        app.screen.query_one(DataTable).move_cursor(row=2)
        await pilot.press("delete")
        assert order(shelf) == [*before[:2], *before[3:]]
        outside(file, "songs = [\n", 'songs = [\n    { song = "nine-reeds-2" },\n')
        theirs = order(shelf)
        await pilot.press("u")
        await pilot.pause()
        assert isinstance(app.screen, ClashScreen)
        assert before[2] in versions(app)[0]
        assert "nine-reeds-2" in versions(app)[1]
        await pilot.press(keys)
        await pilot.pause()
        assert order(shelf) == (before if keys == "m" else theirs)
        await pilot.press("U")
        assert order(shelf) == theirs


@pytest.mark.parametrize("keys", ["m", "t"])
@driven
async def test_a_new_song_that_an_editor_filled_is_not_deleted_unasked(shelf: Shelf, keys: str) -> None:
    app, file = Screens(place("songs")(shelf)), song(shelf, "harbour-bell")
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("n", *"Harbour Bell", "enter")
        await pilot.pause()
        filled = outside(file, "format = 1", "format = 1\n# in the sacristy")
        await pilot.press("u")
        await pilot.pause()
        assert isinstance(app.screen, ClashScreen)
        mine, theirs = versions(app)
        assert "songs/harbour-bell.toml: deleted" in mine
        assert theirs.splitlines()[1:] == ["songs/harbour-bell.toml:", "  after  # in the sacristy"]
        await pilot.press("e", keys)
        await pilot.pause()
        assert file.exists() == (keys == "t")
        await pilot.press("U")
        assert file.read_text() == filled


@driven
async def test_a_rename_with_a_song_that_was_edited_since_is_taken_back_whole_or_not_at_all(shelf: Shelf) -> None:
    def files() -> dict[str, bytes]:
        return {path.name: path.read_bytes() for path in sorted(shelf.root.glob("s*s/*.toml"))}

    app = Screens(place("songs")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        shelf.song, before = "marram", files()
        app.screen.fill()
        await pilot.press("m")
        await pilot.pause()
        app.screen.query_one(Input).value = "Marram Grass"
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("y")
        await pilot.pause()
        outside(song(shelf, "marram-grass"), "format = 1", "format = 1\n# slide")
        edited = files()
        await pilot.press("u")
        await pilot.pause()
        mine, theirs = versions(app)
        assert "songs/marram.toml: new" in mine
        assert "# slide" in theirs
        assert files() == edited
        await pilot.press("m")
        await pilot.pause()
        assert files() == before
        await pilot.press("U")
        await pilot.pause()
        assert files() == edited


@driven
async def test_lines_elsewhere_in_a_file_that_was_changed_whole_stay_and_ask_nothing(shelf: Shelf) -> None:
    app, file = Screens(place("song")(shelf)), song(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("v", "m")
        await pilot.pause()
        before = file.read_text()
        app.screen.query_one(Input).value = "strophe"
        await pilot.press("enter")
        await pilot.pause()
        assert "strophe" in file.read_text()
        outside(file, "tempo_bpm = 92", "tempo_bpm = 93")
        await pilot.press("u")
        await pilot.pause()
        assert not isinstance(app.screen, ClashScreen)
        assert file.read_text() == before.replace("tempo_bpm = 92", "tempo_bpm = 93")


@driven
async def test_an_undo_in_a_file_that_is_gone_or_broken_waits_until_it_is_back(shelf: Shelf) -> None:
    shelf.change("song", SONG, TEMPO, 95)
    text = song(shelf).read_text()
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        for trouble, words in ((song(shelf).unlink, "is not there any more"), (lambda: None, "can't be read")):
            trouble()
            await pilot.press("u")
            assert words in said(app)
            song(shelf).write_text("title = \n")
        song(shelf).write_text(text)
        await pilot.press("u")
        assert tempo(shelf) == 92


KEYS = {TEMPO: [80, 81, 92], ("capo",): [ABSENT, 1, 2], ("start", "targets", "drive"): [ABSENT, 3, 6]}
ONE = st.sampled_from([(key, value) for key, values in KEYS.items() for value in values])


def at(shelf: Shelf, *keys: KeyPath) -> dict[KeyPath, Any]:
    shelf.refresh()
    return {key: value_at(shelf.raw("song", SONG), key) for key in keys or KEYS}


def again(shelf: Shelf, step: str, chosen: Chosen = NOTHING_CHOSEN) -> ClashError | None:
    """Undo or redo; how it clashes, if it does."""
    try:
        (shelf.undo if step == "undo" else shelf.redo)(chosen)
    except ClashError as clash:
        return clash
    return None


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(st.one_of(ONE, ONE, st.just("outside"), st.just("undo"), st.just("redo")), max_size=8), other=ONE)
def test_an_undo_that_clashes_leaves_all_as_it_is_and_made_it_is_taken_back_whole(
    tmp_path_factory, steps, other
) -> None:
    shelf = demo_shelf(tmp_path_factory.mktemp("any") / "book", song=SONG, without=("takes", "runs"))
    for step in steps:
        before = at(shelf)
        if step == "outside":
            Shelf(shelf.root).change("song", SONG, *other)
        elif isinstance(step, tuple):
            shelf.change("song", SONG, *step)
            assert same(at(shelf), before | dict([step]))
        elif (clash := again(shelf, step)) is not None:
            assert same(at(shelf), before)
            assert same(at(shelf, clash.key), {clash.key: clash.theirs})
            assert again(shelf, step, {clash.key: Choice(clash.theirs, clash.mine)}) is None
            assert same(at(shelf, clash.key), {clash.key: clash.mine})
            assert again(shelf, "redo" if step == "undo" else "undo") is None
            assert same(at(shelf), before)
