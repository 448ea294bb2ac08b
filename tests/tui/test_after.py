"""The screen After: a night against its plan, closed with ticks, taken back, and opened again."""

import asyncio
import json
import os
import shutil
import tempfile
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.widgets import DataTable, Input, OptionList, Static

from showrunner.live.folder import run_folder
from showrunner.live.night import night_of, write_night
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.after import AfterScreen
from showrunner.tui.screens.after_close import CloseScreen
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.setlist import SetlistScreen
from showrunner.tui.shelf import Shelf

SHOW, NIGHT = "pellmarsh-hall", "2026-12-05"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW)


def app_of(shelf: Shelf) -> Screens:
    return Screens(place("after")(shelf))


def after(app: Screens) -> AfterScreen:
    """The screen, whatever is asked over it."""
    return next(screen for screen in app.screen_stack if isinstance(screen, AfterScreen))


def said(app: Screens, name: str) -> str:
    return str(after(app).query_one(name, Static).content)


def rows(app: Screens) -> list[list[str]]:
    table = after(app).query_one(DataTable)
    return [[str(cell) for cell in table.get_row_at(row)] for row in range(table.row_count)]


def state(shelf: Shelf) -> dict[str, bytes]:
    return {str(path.relative_to(shelf.root)): path.read_bytes() for path in shelf.root.rglob("*") if path.is_file()}


def log_of(shelf: Shelf, date: str = NIGHT) -> Path:
    return shelf.root / "runs" / SHOW / f"{date}.jsonl"


async def shown(app: Screens, pilot, until, *words: str) -> None:
    await until(pilot, lambda: all(word in said(app, "#night") for word in words))


@driven
async def test_the_latest_night_stands_against_its_plan(shelf: Shelf, until) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT, "not closed")
        assert rows(app)[2][:6] == ["7:59", "Low Lantern", "4:35", "4:48", "+0:13", ""]
        assert rows(app)[7][:6] == ["", "  to Eel Road", "1:00", "1:19", "+0:19", "0:31"]
        words = said(app, "#words")
        assert "1:02:09 before the curfew at 23:00" in words
        assert "the port host was gone for 2.8 s" in words
        assert "interface volume was moved 2 times, from +0.5 to -0.5 dB" in words
        planned, played, marks = said(app, "#evening").splitlines()
        assert planned.endswith("1:06:41")
        assert played.endswith("1:10:46")
        marked, meant = marks.split("▲ here")
        assert marked.count("!") == 2
        assert meant.split() == ["!", "went", "wrong"]


@driven
async def test_the_song_under_the_cursor_is_told_over_its_nights(shelf: Shelf, until) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("down", "down")
        lines = said(app, "#song").splitlines()
        assert lines[:2] == ["Low Lantern, written 4:35", "median 4:47 of 2"]
        assert lines[2].startswith("▸ 2026-12-05  4:48  +0:13")
        assert lines[3].startswith("  2026-11-28  4:45  +0:10")


@driven
async def test_an_earlier_night_is_stepped_to_and_picked_by_its_date(shelf: Shelf, until) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("comma")
        assert "2026-11-28" in said(app, "#night")
        await pilot.press("comma", "full_stop", "full_stop")
        assert NIGHT in said(app, "#night")
        await pilot.press("n", *"11-28", "enter")
        await pilot.pause()
        assert "2026-11-28 · not closed · 1 of 2" in said(app, "#night")


@driven
async def test_closing_shows_everything_first_and_files_what_is_ticked_with_one_undo(shelf: Shelf, until) -> None:
    before = state(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("c")
        await until(pilot, lambda: asks_what_is_filed(app))
        lines = [str(option.prompt) for option in app.screen.query_one(OptionList).options]
        assert lines[0] == "[ ] Low Lantern      4:35 becomes 4:48, median 4:47 of 2"
        assert "[x] driver cell 4 h becomes 4.49 h: baritone in hand for 0.49 h" in lines
        assert "[x] the visit to Pellmarsh Hall on 2026-12-05, with its trims" in lines
        assert "    Saltmarsh Signal stays 6:40: it is as long as it lasts" in lines
        assert state(shelf) == before
        await pilot.press("down", "space", "down", "space", "space", "r", *"21.5", "enter", *"Boomy.", "enter", "y")
        await shown(app, pilot, until, "closed on")
        book = Shelf(shelf.root).book
        assert (book.songs["heron-clock"].duration, book.songs["low-lantern"].duration) == (302, 275)
        assert book.songs["glass-weather"].duration == 310
        assert book.rigs["full"].batteries["driver cell"].used_h == 4.49
        visit = book.venues[SHOW].visits[-1]
        assert (visit.show, visit.temperature_c, visit.note) == (SHOW, 21.5, "Boomy.")
        assert visit.trims.interface_volume_db == 1
        assert rows(app)[4][2:5] == ["4:50", "5:02", "+0:12"]
        await pilot.press("u")
        await shown(app, pilot, until, "not closed")
        assert state(shelf) == before
        await pilot.press("U")
        await shown(app, pilot, until, "closed on")
        assert Shelf(shelf.root).book.songs["heron-clock"].duration == 302


@driven
async def test_leaving_the_question_files_nothing(shelf: Shelf, until) -> None:
    before = state(shelf)
    app = app_of(shelf)
    async with app.run_test() as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("c", "a", "escape")
        await until(pilot, lambda: isinstance(app.screen, AfterScreen))
        assert state(shelf) == before


@driven
async def test_a_temperature_that_is_none_is_said_and_nothing_is_filed(shelf: Shelf, until) -> None:
    before = state(shelf)
    app = app_of(shelf)
    async with app.run_test() as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("c", "r", *"warm", "enter", "enter", "y")
        await pilot.pause()
        assert isinstance(app.screen, CloseScreen)
        assert app.screen.query_one("#temperature", Input).has_focus
        assert state(shelf) == before


@driven
async def test_a_closed_night_says_so_and_is_opened_again_from_another_session(shelf: Shelf, until) -> None:
    before = state(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("c", "a", "y")
        await shown(app, pilot, until, "closed on")
        filed = state(shelf)
        await pilot.press("c")
        await pilot.pause()
        assert isinstance(app.screen, AfterScreen)
        assert any("closed already on" in note.message for note in app._notifications)
        assert state(shelf) == filed
    again = Shelf(shelf.root)
    again.show = SHOW
    app = app_of(again)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, "closed on")
        await pilot.press("o", "escape")
        await until(pilot, lambda: isinstance(app.screen, AfterScreen))
        assert state(shelf) == filed
        await pilot.press("o", "y")
        await shown(app, pilot, until, "not closed")
        assert state(shelf) == before
        await pilot.press("u")
        await shown(app, pilot, until, "closed on")
        assert state(shelf) == filed


@driven
async def test_what_was_changed_since_stays_and_nothing_is_given_back(shelf: Shelf, until) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("c", "a", "y")
        await shown(app, pilot, until, "closed on")
        song = shelf.root / "songs/heron-clock.toml"
        song.write_text(song.read_text().replace('"5:02"', '"5:30"'))
        filed = state(shelf)
        await pilot.press("u")
        await until(pilot, lambda: any("no longer what it was" in note.message for note in app._notifications))
        assert state(shelf) == filed


@driven
async def test_while_a_show_runs_nothing_is_filed(shelf: Shelf, until, monkeypatch: pytest.MonkeyPatch) -> None:
    before = state(shelf)
    monkeypatch.setattr("showrunner.live.launch.running", lambda _: True)
    app = app_of(shelf)
    async with app.run_test() as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("c", "y")
        await until(pilot, lambda: any("is being played" in note.message for note in app._notifications))
        assert state(shelf) == before


@driven
async def test_a_path_that_cannot_be_is_told_when_the_log_is_exported(shelf: Shelf, until, tmp_path: Path) -> None:
    app = app_of(shelf)
    async with app.run_test() as pilot:
        await shown(app, pilot, until, NIGHT)
        for name in ("~nobody-of-that-name/night.csv", str(tmp_path), str(tmp_path / "no" / "night.csv")):
            await pilot.press("x")
            app.screen.query_one(Input).value = name
            await pilot.press("enter")
            await until(pilot, lambda name=name: any(name in note.message for note in app._notifications))


@driven
async def test_the_log_is_exported_where_it_is_asked_for_and_over_nothing(shelf: Shelf, until, tmp_path: Path) -> None:
    app = app_of(shelf)
    out = tmp_path / "night.csv"
    async with app.run_test() as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("x")
        app.screen.query_one(Input).value = str(out)
        await pilot.press("enter")
        await until(pilot, out.exists)
        text = out.read_text()
        assert text.splitlines()[0] == "time,seconds,what,song,title,cue,words"
        assert "Low Lantern" in text
        await pilot.press("x")
        app.screen.query_one(Input).value = str(out)
        await pilot.press("enter")
        await until(pilot, lambda: any("is there already" in note.message for note in app._notifications))
        await pilot.press("x")
        app.screen.query_one(Input).value = str(tmp_path / "no" / "such.csv")
        await pilot.press("enter")
        await until(pilot, lambda: any("can't be saved" in note.message for note in app._notifications))
        assert out.read_text() == text


@driven
async def test_a_broken_line_is_said_with_its_place_and_the_rest_is_shown(shelf: Shelf, until) -> None:
    log = log_of(shelf)
    lines = log.read_text().splitlines()
    log.write_text("\n".join([*lines[:10], '{"time": "2026-1', *lines[10:]]))
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        assert f"runs/{SHOW}/{NIGHT}.jsonl:11: the line was cut short" in said(app, "#words")
        assert len(rows(app)) == 25


@driven
async def test_an_empty_log_beside_others_is_said(shelf: Shelf, until) -> None:
    log_of(shelf, "2026-12-06").write_text("")
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        assert "2026-12-06.jsonl: no song was begun in this run" in said(app, "#words")


@driven
async def test_a_record_that_can_not_be_read_is_said_and_the_night_is_shown(shelf: Shelf, until) -> None:
    log_of(shelf).with_name(f"{NIGHT}.closed.json").write_text("{")
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        assert "can't be read as the record" in said(app, "#words")
        await pilot.press("c", "y")
        await until(pilot, lambda: any("can't be read" in note.message for note in app._notifications))


@driven
async def test_a_run_of_songs_that_are_gone_is_shown_by_their_slugs(shelf: Shelf, until) -> None:
    text = log_of(shelf).read_text()
    log_of(shelf).write_text(text.replace('"low-lantern"', '"lower-lantern"'))
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        assert rows(app)[2][:4] == ["7:59", "lower-lantern", "-", "4:48"]
        assert "not played: Low Lantern" in said(app, "#words")
        await pilot.press("down", "down", "c", "a", "y")
        await shown(app, pilot, until, "closed on")


@driven
async def test_a_run_that_a_crash_cut_short_is_shown_and_its_last_song_not_offered(shelf: Shelf, until) -> None:
    lines = log_of(shelf).read_text().splitlines()
    left = next(number for number, line in enumerate(lines) if '"kind": "changeover", "song": "eel-road"' in line)
    cut = max(number for number in range(left) if '"kind": "cue"' in lines[number])
    log_of(shelf).write_text("\n".join(lines[: cut + 1]) + '\n{"time"')
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        assert rows(app)[-1][3] == "-"
        await pilot.press("c")
        await until(pilot, lambda: asks_what_is_filed(app))
        lines = [str(option.prompt) for option in app.screen.query_one(OptionList).options]
        assert any(line.endswith("it was not left") for line in lines)


@driven
async def test_several_performances_of_a_night_are_told_apart(shelf: Shelf, until) -> None:
    log = log_of(shelf)
    more = [
        {"time": f"{NIGHT}T23:10:00", "unix_s": 2e9 + at_s, "kind": kind, "song": song}
        for at_s, kind, song in ((0, "began", None), (1, "song", "marram"), (200, "over", "marram"))
    ]
    log.write_text(log.read_text() + "".join(json.dumps(line) + "\n" for line in more))
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, f"{NIGHT}, performance 2 of 2")
        assert len(rows(app)) == 1
        await pilot.press("comma")
        assert f"{NIGHT}, performance 1 of 2" in said(app, "#night")
        assert len(rows(app)) == 25


def asks_what_is_filed(app: Screens) -> bool:
    """Whether the question is up with all that it offers: a screen is there a little before its widgets."""
    return isinstance(app.screen, CloseScreen) and bool(app.screen.query(OptionList))


def again(shelf: Shelf, *, simulated: bool = False) -> None:
    """The show played once more on the night, and ended."""
    began = {"kind": "began", "show": SHOW, "rig": "full", "simulated": simulated}
    rows = [
        began,
        *({"kind": kind, "song": "low-lantern", "cue": "start"} for kind in ("song", "over")),
        {"kind": "ended"},
    ]
    more = [{"time": f"{NIGHT}T23:10:00", "unix_s": 2e9 + 290 * at, "say": "", **row} for at, row in enumerate(rows)]
    log = log_of(shelf)
    log.write_text(log.read_text() + "".join(json.dumps(line) + "\n" for line in more))


@pytest.mark.parametrize("simulated", [False, True])
@driven
async def test_after_a_show_it_opens_on_what_was_played_last_whatever_dates_there_are(
    shelf: Shelf, until, simulated: bool
) -> None:
    log_of(shelf, "2026-11-28").write_text(log_of(shelf, "2026-11-28").read_text() + log_of(shelf).read_text())
    log = str(log_of(shelf, "2026-11-28"))
    write_night(night_of(shelf.book, SHOW, "full", log=log, simulated=simulated), run_folder(shelf.root, SHOW))
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, f"{NIGHT} · not closed" if simulated else "2026-11-28, performance 2 of 2")


@driven
async def test_two_performances_of_a_date_are_closed_apart_and_taken_back_apart(shelf: Shelf, until) -> None:
    again(shelf)
    before = state(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, "performance 2 of 2", "not closed")
        await pilot.press("c", "y")
        await shown(app, pilot, until, "performance 2 of 2", "closed on")
        of_song = [line.split()[:3] for line in said(app, "#song").splitlines() if NIGHT in line]
        assert [line[:3] for line in of_song] == [["▸", NIGHT, "(2)"], [NIGHT, "(1)", "4:48"]]
        await pilot.press("comma")
        assert "performance 1 of 2 · not closed" in said(app, "#night")
        await pilot.press("c", "y")
        await shown(app, pilot, until, "performance 1 of 2", "closed on")
        visits = [visit for visit in Shelf(shelf.root).book.venues[SHOW].visits if str(visit.date) == NIGHT]
        assert len(visits) == 2
        await pilot.press("u")
        await shown(app, pilot, until, "performance 1 of 2", "not closed")
        await pilot.press("full_stop")
        assert "performance 2 of 2 · closed on" in said(app, "#night")
        await pilot.press("o", "y")
        await shown(app, pilot, until, "performance 2 of 2", "not closed")
        assert state(shelf) == before


@driven
async def test_a_simulated_run_is_no_night_and_is_said_to_be_left_out(shelf: Shelf, until) -> None:
    again(shelf, simulated=True)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, f"{NIGHT} · not closed · 2 of 2")
        assert f"{NIGHT}: 1 simulated run left out" in said(app, "#words").splitlines()
        for date in ("2026-11-28", NIGHT):
            log_of(shelf, date).write_text(log_of(shelf).read_text().splitlines()[-4] + "\n")
        await shown(app, pilot, until, "was not played yet")
        assert f"{NIGHT}: 1 simulated run left out" in said(app, "#words").splitlines()


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
@driven
async def test_where_there_is_no_visit_to_file_it_is_said_why(shelf: Shelf, until, size: tuple[int, int]) -> None:
    show = shelf.root / "shows" / f"{SHOW}.toml"
    show.write_text(show.read_text().replace(f"date = {NIGHT}", "date = 2026-12-06"))
    app = app_of(Shelf(shelf.root))
    app._first.shelf.show = SHOW
    async with app.run_test(size=size) as pilot:
        await shown(app, pilot, until, NIGHT)
        await pilot.press("c")
        await until(pilot, lambda: asks_what_is_filed(app))
        await pilot.pause()
        line = app.screen.query_one("#no_visit", Static)
        assert str(line.content) == "no visit: this run was on 2026-12-05, and the show is there on 2026-12-06"
        assert line.region.height > 0
        assert app.screen.region.contains_region(line.region)
        await pilot.press("end", "space")
        assert any(" stays " in note.message for note in app._notifications)


@driven
async def test_a_closed_night_is_taken_back_from_elsewhere_only_when_that_is_said(shelf: Shelf, until) -> None:
    before = state(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT, "not closed")
        await pilot.press("c", "y")
        await shown(app, pilot, until, "closed on")
        filed = state(shelf)
        await pilot.press("2")
        await until(pilot, lambda: isinstance(app.screen, SetlistScreen))
        await pilot.press("u")
        await until(pilot, lambda: isinstance(app.screen, ProposalScreen))
        asked = " ".join(str(each.content) for each in app.screen.query(Static))
        assert "Take back what was done on After?" in asked
        assert f"closing {SHOW}, {NIGHT}: venues/{SHOW}.toml, rigs/full.toml" in asked
        await pilot.press("x")
        assert state(shelf) == filed
        await pilot.press("u", "y")
        await until(pilot, lambda: state(shelf) == before)
        await pilot.press("U")
        await until(pilot, lambda: isinstance(app.screen, ProposalScreen))
        assert "Make again what was done on After?" in str(app.screen.query_one("#asks", Static).content)
        await pilot.press("y")
        await until(pilot, lambda: f"runs/{SHOW}/{NIGHT}.closed.json" in state(shelf))


@driven
async def test_another_nights_closing_is_taken_back_only_when_that_is_said(shelf: Shelf, until) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT, "not closed")
        await pilot.press("c", "y")
        await shown(app, pilot, until, "closed on")
        await pilot.press("comma", "u")
        await until(pilot, lambda: isinstance(app.screen, ProposalScreen))
        await pilot.press("x", "full_stop", "u")
        await shown(app, pilot, until, NIGHT, "not closed")


@driven
async def test_a_show_that_was_not_played_says_how(shelf: Shelf, until) -> None:
    shelf.show = "oxcote-theatre"
    app = app_of(shelf)
    async with app.run_test() as pilot:
        await shown(app, pilot, until, "was not played yet")
        assert said(app, "#words") == "p on the screen Shows plays it; n shows the nights of other shows"
        await pilot.press("c", "o", "x", "comma", "full_stop")
        assert isinstance(app.screen, AfterScreen)


@driven
async def test_another_shows_night_is_picked_from_a_show_that_was_not_played(shelf: Shelf, until) -> None:
    shelf.show = "oxcote-theatre"
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, "was not played yet")
        await pilot.press("n", *"11-28", "enter")
        await shown(app, pilot, until, "2026-11-28 · not closed")
        assert shelf.show == SHOW


@driven
async def test_a_night_that_is_played_meanwhile_appears(shelf: Shelf, until) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await shown(app, pilot, until, NIGHT)
        shutil.copy(log_of(shelf), log_of(shelf, "2026-12-12"))
        await shown(app, pilot, until, "2026-12-12", "3 of 3")


@driven
async def test_it_stands_in_a_tiny_terminal_and_through_resizing(shelf: Shelf, until) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(20, 6)) as pilot:
        await shown(app, pilot, until, "Pellmarsh")
        await pilot.press("down", "c", "down", "space", "escape", "x", "escape")
        for size in ((200, 60), (80, 24), (10, 3), (120, 36)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
        assert len(rows(app)) == 25


KEYS = st.sampled_from(
    ["comma", "full_stop", "n", "c", "o", "x", "u", "U", "y", "a", "r", "space", "enter", "escape", "down", "up"]
)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(keys=st.lists(KEYS, max_size=14), size=st.sampled_from([(20, 6), (80, 24), (120, 36)]))
def test_any_keys_leave_whole_files_and_a_screen_that_stands(keys: list[str], size: tuple[int, int]) -> None:
    async def press(root: Path) -> None:
        app = app_of(demo_shelf(root, show=SHOW))
        async with app.run_test(size=size) as pilot:
            await app.workers.wait_for_complete()
            for key in keys:
                await pilot.press(key)
            assert app.is_running
        assert Shelf(root).reading.problems == ()

    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_STATE_HOME", os.path.join(folder, "state"))
        patched.chdir(folder)
        asyncio.run(press(Path(folder) / "book"))


@driven
@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 60)])
async def test_the_evenings_bars_stand_on_every_usual_terminal(shelf: Shelf, until, size: tuple[int, int]) -> None:
    app = app_of(shelf)
    async with app.run_test(size=size) as pilot:
        await shown(app, pilot, until, NIGHT)
        bars = after(app).query_one("#evening", Static)
        await until(pilot, lambda: "planned" in str(bars.content))
        assert bars.display
        await until(pilot, lambda: bars.region.height >= 2)
        marks = str(bars.content).splitlines()[2]
        assert "! went wrong" in marks
        assert len(marks) <= size[0]
