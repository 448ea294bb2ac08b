"""The set: songs moved between sets, encore and reserve, tonight's changes, stand-ins, and the swap that helps most."""

from pathlib import Path

import pytest
from driving import demo_shelf, driven, offers
from textual.widgets import DataTable, Input, Static

from showrunner.live.evidence import played_seconds
from showrunner.model.show import Show
from showrunner.planning.timing import running_time
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.shelf import Shelf

PELLMARSH, OXCOTE, FIELD = "pellmarsh-hall", "oxcote-theatre", "brackwater-field"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book")


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


async def typed(app: Screens, pilot, label: str, line: str) -> None:
    """Type something for a field of the list that is up."""
    await pilot.pause()
    assert isinstance(app.screen, FieldsScreen)
    table = app.screen.query_one(DataTable)
    table.move_cursor(row=[table.get_row_at(row)[0] for row in range(table.row_count)].index(label))
    await line_typed(app, pilot, "enter", line=line)


async def line_typed(app: Screens, pilot, *keys: str, line: str) -> None:
    await pilot.press(*keys)
    await pilot.pause()
    app.screen.query_one(Input).value = line
    await pilot.press("enter")
    await pilot.pause()


@pytest.mark.parametrize(
    ("label", "line", "key", "holds"),
    [
        ("capo", "3", "capo", 3),
        ("tuning", "drop d", "tuning", "drop D"),
        ("tempo", "141,5", "tempo_bpm", 141.5),
        ("trim", "-1.5", "trim_db", -1.5),
        ("duration", "185s", "duration", 185),
    ],
)
@driven
async def test_tonights_changes_are_edited_in_place(shelf: Shelf, label: str, line: str, key: str, holds) -> None:
    written = text(shelf, FIELD)
    app = app_of(shelf, FIELD)
    async with app.run_test() as pilot:
        cursor_to(app, "eel-road")
        await pilot.press("t")
        await typed(app, pilot, label, line)
        assert getattr(on_disk(shelf, FIELD).tonight["eel-road"], key) == holds
        await pilot.press("u")
        assert text(shelf, FIELD) == written


@driven
async def test_tonights_last_change_goes_with_its_table(shelf: Shelf) -> None:
    app = app_of(shelf, OXCOTE)
    async with app.run_test() as pilot:
        cursor_to(app, "kiln-light")
        await pilot.press("t")
        await typed(app, pilot, "trim", "")
        await pilot.press("escape")
        assert "kiln-light" not in on_disk(shelf, OXCOTE).tonight
        assert "[tonight.kiln-light]" not in text(shelf, OXCOTE)


@pytest.mark.parametrize(("label", "line"), [("capo", "90"), ("capo", "two"), ("duration", "1h99m"), ("tempo", "nan")])
@driven
async def test_tonights_change_that_can_not_be_stays_to_be_mended(shelf: Shelf, label: str, line: str) -> None:
    written = text(shelf, FIELD)
    app = app_of(shelf, FIELD)
    async with app.run_test() as pilot:
        await pilot.press("t")
        await typed(app, pilot, label, line)
        assert app.screen.query_one(Input).value == line
        assert text(shelf, FIELD) == written


@pytest.mark.parametrize(
    ("line", "stands"), [("segue", "segue"), ("gap 20s", "gap 0:20"), ("talk 1:30", "talk 1:30"), ("", "None")]
)
@driven
async def test_what_follows_a_song_is_typed_and_the_clock_follows(shelf: Shelf, line: str, stands: str) -> None:
    written = text(shelf, PELLMARSH)
    app = app_of(shelf, PELLMARSH)
    async with app.run_test() as pilot:
        await pilot.press("down", "down")
        clock = str(app.screen.query_one("#clock", Static).content)
        await line_typed(app, pilot, "f", line=line)
        assert str(on_disk(shelf, PELLMARSH).sets[0].songs[2].then) == stands
        await pilot.press("escape")
        assert str(app.screen.query_one("#clock", Static).content) != clock
        await pilot.press("u")
        assert text(shelf, PELLMARSH) == written


@driven
async def test_a_pause_without_a_length_is_refused(shelf: Shelf) -> None:
    written = text(shelf, PELLMARSH)
    app = app_of(shelf, PELLMARSH)
    async with app.run_test() as pilot:
        await line_typed(app, pilot, "f", line="gap 1:99")
        assert app.screen.query_one(Input).value == "gap 1:99"
        assert text(shelf, PELLMARSH) == written


@pytest.mark.parametrize(
    ("words", "pin"), [("last in", "last"), ("here", "here"), ("not after tin", "not after tin-harbour")]
)
@driven
async def test_a_song_is_pinned(shelf: Shelf, words: str, pin: str) -> None:
    written = text(shelf, OXCOTE)
    app = app_of(shelf, OXCOTE)
    async with app.run_test() as pilot:
        cursor_to(app, "nine-reeds")
        await pilot.press("p")
        await pilot.pause()
        await pilot.press(*words, "enter")
        await pilot.pause()
        assert str(on_disk(shelf, OXCOTE).sets[0].songs[1].pin) == pin
        await pilot.press("escape")
        assert f"pinned {words}"[:11] in str(app.screen.query_one(".detail", Static).content)
        await pilot.press("u")
        assert text(shelf, OXCOTE) == written


@driven
async def test_a_set_is_made_filled_named_and_removed(shelf: Shelf) -> None:
    written = text(shelf, PELLMARSH)
    app = app_of(shelf, PELLMARSH)
    async with app.run_test() as pilot:
        await line_typed(app, pilot, "n", line="After the raffle")
        assert sets(shelf, PELLMARSH)[1] == []
        table = app.screen.query_one(DataTable)
        assert "no song yet" in table.get_row_at(table.cursor_row)[2]
        assert "set 2 · After the raffle" in str(app.screen.query_one(".detail", Static).content)
        await pilot.press("a")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        (song,) = sets(shelf, PELLMARSH)[1]
        await pilot.press("m")
        await typed(app, pilot, "name", "Late")
        await typed(app, pilot, "slot", "20m")
        await pilot.press("escape")
        part = on_disk(shelf, PELLMARSH).sets[1]
        assert (part.title, part.slot) == ("Late", 1200)
        await pilot.press("M")
        assert len(sets(shelf, PELLMARSH)) == 1
        assert on_disk(shelf, PELLMARSH).reserve[-1] == song
        await pilot.press(*["u"] * 5)
        assert text(shelf, PELLMARSH) == written


@driven
async def test_songs_go_into_an_empty_encore_and_reserve(shelf: Shelf) -> None:
    file = shelf.root / "shows" / "short.toml"
    file.write_text('format = 1\ntitle = "Short"\n')
    shelf.refresh()
    app = app_of(shelf, "short")
    async with app.run_test() as pilot:
        for row, words in (("encore", "tin"), ("reserve", "marram")):
            parts = [spot.part[0] for spot in app.screen.spots]
            app.screen.query_one(DataTable).move_cursor(row=parts.index(row))
            await pilot.press("a")
            await pilot.pause()
            await pilot.press(*words, "enter")
            await pilot.pause()
        show = on_disk(shelf, "short")
        assert sorted((*show.set_songs, *show.encore, *show.reserve)) == ["marram", "tin-harbour"]
        await pilot.press("u", "u")
        assert file.read_text() == 'format = 1\ntitle = "Short"\n'


@driven
async def test_a_song_taken_out_leaves_no_pin_that_names_it(shelf: Shelf) -> None:
    written = text(shelf, OXCOTE)
    app = app_of(shelf, OXCOTE)
    async with app.run_test() as pilot:
        cursor_to(app, "low-lantern")
        await pilot.press("delete")
        assert "low-lantern" not in text(shelf, OXCOTE)
        assert not Shelf(shelf.root).reading.problems
        await pilot.press("u")
        assert text(shelf, OXCOTE) == written


@driven
async def test_an_order_across_sets_is_offered_where_there_are_several(shelf: Shelf) -> None:
    for show, offered in ((OXCOTE, True), (PELLMARSH, False)):
        app = app_of(shelf, show)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            assert ("R" in app.screen.active_bindings) is offered
            await pilot.press("r")
            await found(app, pilot)
            assert (
                "R looks for an order across sets" in str(app.screen.query_one(".detail", Static).content)
            ) is offered


@driven
async def test_the_footer_shows_the_keys_that_matter_at_80_columns(shelf: Shelf, until) -> None:
    app = app_of(shelf, OXCOTE)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: offers(app))
        shown = {offer.key for offer in offers(app)}
        assert {"comma", "full_stop", "a", "f", "t", "d", "r", "R", "u", "question_mark"} <= shown


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


@driven
async def test_the_clock_rests_on_what_was_played_before(shelf: Shelf, until) -> None:
    shelf.show = "pellmarsh-hall"
    written = shelf.timed(shelf.book, "pellmarsh-hall").expected_s
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await until(pilot, lambda: shelf.timed(shelf.book, "pellmarsh-hall").expected_s != written)
    reading, show = shelf.reading, shelf.book.shows["pellmarsh-hall"]
    as_command = running_time(shelf.book, show, played=played_seconds(reading, show))
    assert shelf.timed(shelf.book, "pellmarsh-hall").expected_s == as_command.expected_s
