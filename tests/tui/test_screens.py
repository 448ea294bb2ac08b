"""The screens on the book: what they say, and that what they change is changed in the files and nowhere else."""

import re
from contextlib import nullcontext
from pathlib import Path

import pytest
from driving import demo_shelf, driven, offers
from textual.widgets import DataTable, Input, Static

from showrunner.model.document import Document
from showrunner.tui.app import Screens, place
from showrunner.tui.going import PLACES
from showrunner.tui.screens import proposing
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.shelf import Shelf

SHOW = "pellmarsh-hall"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, song="saltmarsh-signal")


def app_of(shelf: Shelf, name: str) -> Screens:
    return Screens(place(name)(shelf))


def column(app: Screens, title: str) -> list[str]:
    table = next(table for table in app.screen.query(DataTable) if table.id != "cues")
    index = [str(each.label).split(" ↓")[0] for each in table.ordered_columns].index(title)
    return [str(table.get_row_at(row)[index]) for row in range(table.row_count)]


def detail(app: Screens) -> str:
    return str(app.screen.query_one(".detail", Static).content)


def order(shelf: Shelf) -> list[str]:
    return list(Shelf(shelf.root).book.shows[SHOW].set_songs)


@driven
async def test_shows_are_listed_with_their_end_and_findings(shelf: Shelf) -> None:
    app = app_of(shelf, "shows")
    async with app.run_test() as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Pellmarsh Hall, December" in column(app, "Show")
        assert column(app, "Ends")[column(app, "Show").index("Pellmarsh Hall, December")] == "21:54"
        assert "…" not in column(app, "Findings")


@driven
async def test_every_action_with_a_key_is_in_the_command_palette(shelf: Shelf, until) -> None:
    app = app_of(shelf, "set")
    async with app.run_test() as pilot:
        await pilot.press("ctrl+p")
        await pilot.press(*"to reserve")
        await pilot.pause(0.5)
        await pilot.press("enter")
        await until(pilot, lambda: "saltmarsh-signal" in Shelf(shelf.root).book.shows[SHOW].reserve)


@driven
async def test_numbers_lead_from_screen_to_screen(shelf: Shelf) -> None:
    app = app_of(shelf, "shows")
    async with app.run_test() as pilot:
        for number, name in enumerate(PLACES, 1):
            await pilot.press(str(number))
            await pilot.pause()
            assert isinstance(app.screen, BookScreen)
            assert app.screen.place == name


@driven
async def test_a_song_is_moved_in_the_file_and_moved_back_by_undo(shelf: Shelf) -> None:
    before, text = order(shelf), (shelf.root / "shows" / f"{SHOW}.toml").read_text()
    app = app_of(shelf, "set")
    async with app.run_test() as pilot:
        await pilot.press("down", "down", "down", "full_stop")
        assert order(shelf) == [*before[:3], before[4], before[3], *before[5:]]
        assert app.screen.query_one(DataTable).cursor_row == 4
        await pilot.press("u")
        assert order(shelf) == before
        assert (shelf.root / "shows" / f"{SHOW}.toml").read_text() == text
        await pilot.press("U")
        assert order(shelf) != before


@driven
async def test_a_song_goes_to_the_reserve_and_the_clock_follows(shelf: Shelf) -> None:
    app = app_of(shelf, "set")
    async with app.run_test() as pilot:
        before = str(app.screen.query_one("#clock", Static).content)
        await pilot.press("down", "down", "down", "d")
        assert "glass-weather" in Shelf(shelf.root).book.shows[SHOW].reserve
        assert str(app.screen.query_one("#clock", Static).content) != before


@driven
async def test_a_song_becomes_optional(shelf: Shelf) -> None:
    app = app_of(shelf, "set")
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("down", "down", "down", "o")
        assert column(app, "Song")[3] == "Glass Weather (optional)"


@driven
async def test_on_a_narrow_terminal_what_is_noted_of_a_song_stands_under_the_table(shelf: Shelf) -> None:
    app = app_of(shelf, "set")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "down", "down", "o")
        assert column(app, "Song")[3] == "Glass Weather ◌"
        assert detail(app).startswith("set 1 · The set · optional\n")
        table = app.screen.query_one(DataTable)
        shown = table.ordered_columns[: [str(each.label) for each in table.ordered_columns].index("Needs") + 1]
        assert sum(each.get_render_width(table) for each in shown) <= 80
        await pilot.resize_terminal(120, 36)
        await pilot.pause()
        assert column(app, "Song")[3] == "Glass Weather (optional)"


@driven
async def test_a_better_order_is_shown_first_and_taken_on_request(shelf: Shelf) -> None:
    before = order(shelf)
    app = app_of(shelf, "set")
    async with app.run_test() as pilot:
        await pilot.press("r")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "instead of" in detail(app)
        assert order(shelf) == before
        await pilot.press("x", "y")
        assert order(shelf) == before
        await pilot.press("r")
        await app.workers.wait_for_complete()
        await pilot.pause()
        await pilot.press("y")
        assert sorted(order(shelf)) == sorted(before)
        assert order(shelf) != before
        await pilot.press("u")
        assert order(shelf) == before


@driven
async def test_songs_are_filtered_as_one_types(shelf: Shelf) -> None:
    app = app_of(shelf, "songs")
    async with app.run_test() as pilot:
        await pilot.press("slash", *"baritone b")
        assert set(column(app, "Guitar")) == {"baritone"}
        await pilot.press("escape")
        assert len(column(app, "Song")) == len(shelf.book.songs)


@driven
async def test_songs_are_sorted_by_each_column_in_turn(shelf: Shelf) -> None:
    app = app_of(shelf, "songs")
    async with app.run_test() as pilot:
        await pilot.press("s")
        lengths = [tuple(map(int, length.split(":"))) for length in column(app, "Length")]
        assert lengths == sorted(lengths)


@driven
async def test_a_value_of_a_curve_is_edited_in_place(shelf: Shelf) -> None:
    file = shelf.root / "songs" / "saltmarsh-signal.toml"
    before = file.read_text()
    app = app_of(shelf, "song")
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("right", "right", "enter")
        app.screen.query_one("#value", Input).value = "25"
        await pilot.press("enter")
        assert file.read_text() == before.replace("[0, 20, 45]", "[0, 25, 45]")
        await pilot.press("u")
        assert file.read_text() == before


@driven
async def test_a_value_that_is_no_number_changes_nothing(shelf: Shelf) -> None:
    file = shelf.root / "songs" / "saltmarsh-signal.toml"
    before = file.read_text()
    app = app_of(shelf, "song")
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("enter")
        app.screen.query_one("#value", Input).value = "loud"
        await pilot.press("enter", "escape")
        assert file.read_text() == before


@driven
async def test_the_pedal_shows_value_and_number_of_each_target(shelf: Shelf) -> None:
    app = app_of(shelf, "song")
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        assert column(app, "now")[0] == "0.0 %"
        await pilot.press("e")
        assert column(app, "now")[:2] == ["45.0 %", "9.0 dB"]
        assert column(app, "number")[0] == "57"
        await pilot.press("c")
        assert column(app, "target") == ["delay mix", "drive"]


@driven
async def test_cues_stand_along_the_song(shelf: Shelf) -> None:
    app = app_of(shelf, "song")
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        cues = app.screen.query_one("#cues", DataTable)
        assert [cues.get_row_at(row)[2] for row in range(3)] == ["start", "Theme", "Solo"]
        assert "octave switch octave" in cues.get_row_at(1)[4]
        assert str(app.screen.query_one("#along", Static).content).count("A") == 1
        drawn = str(app.screen.query_one("#plot", Static).content)
        assert "1 delay mix" in drawn
        assert not re.search(r"^[A-Z] | [A-Z]$", drawn, re.MULTILINE), "letters are for cues"


@driven
async def test_an_edit_from_outside_shows_without_moving_the_cursor(shelf: Shelf, until) -> None:
    app = app_of(shelf, "songs")
    async with app.run_test() as pilot:
        await pilot.press("down", "down")
        at = app.screen.shelf.song
        file = shelf.root / "songs" / "marram.toml"
        file.write_text(file.read_text().replace('title = "Marram"', 'title = "Marram Grass"'))
        await until(pilot, lambda: "Marram Grass" in column(app, "Song"))
        assert app.screen.shelf.song == at


@driven
async def test_a_broken_file_is_said_with_its_place(shelf: Shelf) -> None:
    (shelf.root / "songs" / "marram.toml").write_text("title = \n")
    shelf.refresh()
    app = app_of(shelf, "songs")
    async with app.run_test(size=(200, 60)):
        assert "songs/marram.toml:1" in str(app.screen.query_one("#where", Static).content)


@driven
async def test_a_checklist_goes_on_to_the_next_item(shelf: Shelf) -> None:
    app = app_of(shelf, "lists")
    async with app.run_test() as pilot:
        first = app.screen.item
        await pilot.press("space")
        assert app.screen.item != first
        assert shelf.answers(app.screen.slug)[first.ask] == "done"


@driven
async def test_leaving_a_critical_item_asks_why_and_keeps_the_reason(shelf: Shelf) -> None:
    app = app_of(shelf, "lists")
    async with app.run_test() as pilot:
        first = app.screen.item
        await pilot.press("right")
        assert app.screen.item == first
        await pilot.press(*"no strip", "enter")
        assert app.screen.item != first
        assert "left: no strip" in str(app.screen.query_one("#items", Static).content)


@driven
async def test_answers_survive_the_program(shelf: Shelf) -> None:
    app = app_of(shelf, "lists")
    async with app.run_test() as pilot:
        asked = [app.screen.item]
        await pilot.press("space")
        asked.append(app.screen.item)
        await pilot.press("space")
    again = Shelf(shelf.root)
    again.show = SHOW
    app = app_of(again, "lists")
    async with app.run_test():
        assert app.screen.item not in asked
        assert str(app.screen.query_one("#items", Static).content).count("✓") >= 2


@pytest.mark.parametrize("size", [(10, 4), (200, 60)])
@pytest.mark.parametrize("name", PLACES)
@driven
async def test_each_screen_stands_at_any_size(shelf: Shelf, name: str, size: tuple[int, int]) -> None:
    app = app_of(shelf, name)
    async with app.run_test(size=size) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("down", "enter", "escape")
        assert app.is_running


@pytest.mark.parametrize("name", PLACES)
@driven
async def test_an_empty_book_says_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    (tmp_path / "book.toml").write_text('format = 1\nname = "Empty"\n')
    app = app_of(Shelf(tmp_path), name)
    async with app.run_test() as pilot:
        await pilot.press("down", "enter", "comma", "full_stop", "d", "o", "s", "c", "e", "space")
        assert app.is_running


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("shows", f"shows/{SHOW}.toml"),
        ("set", f"shows/{SHOW}.toml"),
        ("songs", "songs/saltmarsh-signal.toml"),
        ("song", "songs/saltmarsh-signal.toml"),
        ("lists", "checklists/load-in.toml"),
        ("rig", "rigs/full.toml"),
        ("soundcheck", f"shows/{SHOW}.toml"),
    ],
)
@driven
async def test_the_file_at_hand_is_opened_in_the_users_editor(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch, name: str, file: str
) -> None:
    before = {path: path.read_bytes() for path in shelf.root.glob("*/*.toml")}
    monkeypatch.setenv("VISUAL", "sed -i '$a # seen'")
    app = app_of(shelf, name)
    async with app.run_test(size=(120, 36)) as pilot:
        monkeypatch.setattr(app, "suspend", nullcontext)
        await pilot.press("ctrl+e")
        await pilot.pause()
        changed = [path for path, text in before.items() if path.read_bytes() != text]
        assert changed == [shelf.root / file]


@pytest.mark.parametrize("name", ["shows", "set", "songs", "song", "lists", "rig", "soundcheck"])
@driven
async def test_the_keys_stand_in_the_last_line_without_anything_pressed(shelf: Shelf, until, name: str) -> None:
    app = app_of(shelf, name)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: len(offers(app)) > 4)


@pytest.mark.parametrize(("name", "key"), [("shows", ""), ("soundcheck", ""), ("set", "r"), ("set", "w"), ("set", "i")])
@driven
async def test_no_screen_spells_out_the_documents_it_gives_a_worker(shelf: Shelf, monkeypatch, name, key) -> None:
    """Textual writes what a worker is given into its description, which takes a second for a long book."""
    spelt: list[str] = []
    monkeypatch.setattr(proposing, "LOOKS_FOR_S", 0.05)
    monkeypatch.setattr(Document, "__repr__", lambda self: spelt.append(type(self).__name__) or "")
    app = app_of(shelf, name)
    async with app.run_test() as pilot:
        if key:
            await pilot.press(key)
        await app.workers.wait_for_complete()
    assert spelt == []
