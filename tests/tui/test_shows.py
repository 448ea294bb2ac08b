"""The shows of the book: made, copied, renamed with a preview, their night edited, and all of it taken back."""

from contextlib import nullcontext
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Input, Static

from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import LineScreen, ProposalScreen
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.screens.setlist import SetlistScreen
from showrunner.tui.screens.shows import ShowsScreen
from showrunner.tui.shelf import Shelf

SHOW = "pellmarsh-hall"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW)


def files(shelf: Shelf) -> dict[str, bytes | None]:
    """Every file and folder of the book, and what the files hold."""
    paths = sorted(shelf.root.rglob("*"))
    return {str(path.relative_to(shelf.root)): path.read_bytes() if path.is_file() else None for path in paths}


async def typed(app: Screens, pilot, *keys: str, line: str) -> None:
    await pilot.press(*keys)
    await pilot.pause()
    app.screen.query_one(Input).value = line
    await pilot.press("enter")
    await pilot.pause()


async def changed(app: Screens, pilot, label: str, line: str) -> None:
    """Type something for a field of the list that is up."""
    assert isinstance(app.screen, FieldsScreen)
    table = app.screen.query_one(DataTable)
    table.move_cursor(row=[table.get_row_at(row)[0] for row in range(table.row_count)].index(label))
    await typed(app, pilot, "enter", line=line)


def test_a_file_is_changed_although_runs_have_nowhere_to_be_kept(
    shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "no folder").write_text("")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "no folder"))
    shelf.change("show", SHOW, ("start",), "20:10")
    assert shelf.raw("show", SHOW)["start"] == "20:10"


def test_looking_for_a_running_show_leaves_no_folders(shelf: Shelf, tmp_path: Path) -> None:
    shelf.change("show", SHOW, ("start",), "20:10")
    assert not (tmp_path / "state").exists()


@driven
async def test_a_new_show_opens_on_its_set_and_is_taken_back_with_its_schema(shelf: Shelf) -> None:
    before = files(shelf)
    app = Screens(place("shows")(shelf))
    async with app.run_test() as pilot:
        await typed(app, pilot, "n", line="Quay Rooms, Friday")
        assert isinstance(app.screen, SetlistScreen)
        assert shelf.show == "quay-rooms-friday"
        assert set(files(shelf)) - set(before) == {
            "shows/quay-rooms-friday.toml",
            ".showrunner",
            ".showrunner/schemas",
            ".showrunner/schemas/show.json",
        }
        await pilot.press("u")
        assert "Take back what was done on Shows?" in str(app.screen.query_one("#asks", Static).content)
        await pilot.press("y")
        await pilot.pause()
        assert files(shelf) == before
        assert shelf.show in shelf.book.shows
        await pilot.press("U", "y")
        await pilot.pause()
        assert "quay-rooms-friday" in Shelf(shelf.root).book.shows


@driven
async def test_a_name_that_is_taken_or_makes_no_file_stays_to_be_mended(shelf: Shelf) -> None:
    before = files(shelf)
    app = Screens(place("shows")(shelf))
    async with app.run_test() as pilot:
        for line in ("Pellmarsh Hall", "!!", ""):
            await typed(app, pilot, "n", line=line)
            assert isinstance(app.screen, LineScreen)
            assert app.screen.query_one(Input).value == line
            await pilot.press("escape")
        assert files(shelf) == before


@driven
async def test_a_copy_is_at_hand_with_the_songs_of_the_first(shelf: Shelf) -> None:
    app = Screens(place("shows")(shelf))
    async with app.run_test() as pilot:
        await typed(app, pilot, "c", line="Pellmarsh Hall, January")
        assert shelf.show == "pellmarsh-hall-january"
        book = Shelf(shelf.root).book
        assert book.shows["pellmarsh-hall-january"].songs == book.shows[SHOW].songs


@driven
async def test_a_rename_shows_what_refers_to_the_show_and_takes_it_along(shelf: Shelf) -> None:
    before = files(shelf)
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await typed(app, pilot, "m", line="Pellmarsh, Winter")
        assert isinstance(app.screen, ProposalScreen)
        words = "\n".join(str(each.content) for each in app.screen.query(Static))
        assert "shows/pellmarsh-winter.toml: new" in words
        await pilot.press("y")
        await pilot.pause()
        assert shelf.show == "pellmarsh-winter"
        assert not Shelf(shelf.root).reading.problems
        await pilot.press("u")
        assert files(shelf) == before


@pytest.mark.parametrize(
    ("label", "line", "written"),
    [
        ("date", "2027-01-02", "date = 2027-01-02"),
        ("start", "21:15", 'start = "21:15"'),
        ("slot", "1h05m", 'slot = "1:05:00"'),
        ("venue", "eel", 'venue = "the-eel-trap"'),
        ("rig", "small", 'rig = "small"'),
    ],
)
@driven
async def test_each_fact_of_the_night_is_edited_in_place(shelf: Shelf, label: str, line: str, written: str) -> None:
    file = shelf.root / "shows" / f"{SHOW}.toml"
    before = file.read_text()
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.press("w")
        await pilot.pause()
        await changed(app, pilot, label, line)
        assert written in file.read_text().splitlines()
        await pilot.press("u", "escape")
        assert file.read_text() == before
        assert isinstance(app.screen, ShowsScreen)


@driven
async def test_what_ends_the_night_follows_at_once(shelf: Shelf) -> None:
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 30)) as pilot:
        await pilot.press("w")
        await pilot.pause()
        await changed(app, pilot, "start", "20:15")
        await pilot.press("escape")
        table = app.screen.query_one(DataTable)
        assert table.get_row(SHOW)[2:4] == ["20:15", "21:24"]


@pytest.mark.parametrize(
    ("label", "line"), [("date", "5 December"), ("start", "25:00"), ("slot", "1h99m"), ("slot", "6:99")]
)
@driven
async def test_what_is_no_date_time_or_length_stays_to_be_mended(shelf: Shelf, label: str, line: str) -> None:
    before = files(shelf)
    app = Screens(place("shows")(shelf))
    async with app.run_test() as pilot:
        await pilot.press("w")
        await pilot.pause()
        await changed(app, pilot, label, line)
        assert isinstance(app.screen, LineScreen)
        assert app.screen.query_one(Input).value == line
        assert files(shelf) == before


@driven
async def test_a_fact_is_taken_out_of_the_file(shelf: Shelf) -> None:
    app = Screens(place("shows")(shelf))
    async with app.run_test() as pilot:
        await pilot.press("w")
        await pilot.pause()
        await pilot.press("down", "delete")
        assert Shelf(shelf.root).book.shows[SHOW].venue is None


@driven
async def test_a_show_is_opened_in_the_users_editor(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISUAL", "sed -i s/20:45/20:30/")
    app = Screens(place("shows")(shelf))
    async with app.run_test() as pilot:
        monkeypatch.setattr(app, "suspend", nullcontext)
        await pilot.press("e")
        await pilot.pause()
        assert app.screen.query_one(DataTable).get_row(SHOW)[2] == "20:30"


@driven
async def test_titles_are_never_taken_for_markup(shelf: Shelf) -> None:
    file = shelf.root / "shows" / f"{SHOW}.toml"
    file.write_text(file.read_text().replace("Pellmarsh Hall, December", "Hall [/b] [red]two"))
    shelf.refresh()
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 30)) as pilot:
        await pilot.press("w")
        await pilot.pause()
        assert "Hall [/b] [red]two" in str(app.screen.query_one("#asks", Static).content)
        await pilot.press("escape", "2", "3", "1")
        await pilot.pause()
        assert app.is_running


@driven
async def test_what_is_worked_out_of_a_show_later_is_not_cut_by_its_column(shelf: Shelf, until) -> None:
    shelf.change("show", SHOW, ("slot",), "5:00")
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(112, 30)) as pilot:
        table = app.screen.query_one(DataTable)

        def over() -> str:
            return str(table.get_cell(SHOW, "To spare"))

        await until(pilot, lambda: over() != "…")
        assert over().endswith(" over")
        column = next(column for key, column in table.columns.items() if key.value == "To spare")
        assert column.width >= len(over()) > len("To spare")
