"""The soundcheck on the screen: moments to play, trims kept in the show and heard at once, locked when done."""

import datetime
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.widgets import DataTable, Static

from showrunner.live.fake import FakeSystem
from showrunner.live.local import LocalShow
from showrunner.live.locked import is_locked
from showrunner.live.night import night_of
from showrunner.live.runlog import append, trim_entry
from showrunner.model.cautions import LOUDER, SOUNDCHECK
from showrunner.planning.soundcheck import soundcheck
from showrunner.planning.trims import show_levels
from showrunner.state.events import Trim
from showrunner.tui.app import Screens
from showrunner.tui.beginning import beginning
from showrunner.tui.screens import soundcheck as soundcheck_screen
from showrunner.tui.screens.soundcheck import SoundcheckScreen
from showrunner.tui.shelf import Shelf

SHOW = "pellmarsh-hall"
WIDE = (120, 36)


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW)


@pytest.fixture(autouse=True)
def system(monkeypatch: pytest.MonkeyPatch) -> FakeSystem:
    """What the machine has plugged in."""
    plugged_in = FakeSystem(("Floor", "Guitar", "Host"), ("Host",))
    monkeypatch.setattr(SoundcheckScreen, "system_of", staticmethod(lambda: plugged_in))
    return plugged_in


@pytest.fixture
def playing(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> LocalShow:
    """The show at hand, running."""
    night = night_of(shelf.book, SHOW, "full")
    running = LocalShow(night.script(), night=night)
    monkeypatch.setattr(soundcheck_screen, "playing_now", lambda *_, **__: running)
    return running


def shown(app: Screens, part: str) -> str:
    return str(app.screen.query_one(part, Static).visual)


def rows(app: Screens, table: str) -> list[list[str]]:
    moments = app.screen.query_one(table, DataTable)
    return [[str(cell) for cell in moments.get_row_at(row)] for row in range(moments.row_count)]


def volume_on_disk(shelf: Shelf) -> float:
    return Shelf(shelf.root).book.shows[SHOW].trims.interface_volume_db


async def settled(app: Screens, pilot) -> None:
    await app.workers.wait_for_complete()
    await pilot.pause()


async def until(pilot, true) -> None:
    """Let the screen and its thread go on until something is true."""
    for _ in range(500):
        if true():
            return
        await pilot.pause(0.01)
    raise AssertionError("it never came")


@driven
async def test_the_plans_moments_are_listed_in_order(shelf: Shelf) -> None:
    book = shelf.book
    plan = soundcheck(book, book.shows[SHOW], book.rigs["full"])
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        titles = [row[3] for row in rows(app, "#moments")]
        assert titles == [
            f"{book.songs[step.spot.song].title}: {step.spot.name} → {step.spot.to}" for step in plan.steps
        ]
        assert f"{len(plan.steps)} moments" in shown(app, "#tonight")


@driven
async def test_the_caution_is_always_there(shelf: Shelf) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test() as pilot:
        await settled(app, pilot)
        assert shown(app, "#caution") == SOUNDCHECK


@driven
async def test_half_a_db_goes_into_the_show_at_once_and_comes_back(shelf: Shelf) -> None:
    file = shelf.root / "shows" / f"{SHOW}.toml"
    before, text = volume_on_disk(shelf), file.read_text()
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("plus", "plus")
        assert volume_on_disk(shelf) == before + 1
        await pilot.press("minus")
        assert volume_on_disk(shelf) == before + 0.5
        await pilot.press("u", "u", "u")
        assert file.read_text() == text


@driven
async def test_a_trim_shows_at_once_in_every_songs_volume(shelf: Shelf) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        before = [float(row[2]) for row in rows(app, "#songs")]
        await pilot.press("minus")
        assert [float(row[2]) for row in rows(app, "#songs")] == [volume - 0.5 for volume in before]
        levels = show_levels(shelf.book, shelf.book.shows[SHOW], shelf.book.rigs["full"])
        headroom = levels.songs[0].stages[-1].headroom_db
        await pilot.press("t")
        assert f"{headroom:.1f} dB left" in shown(app, "#stages")


@driven
async def test_each_trim_is_taken_to_hand_in_turn(shelf: Shelf) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("v", "minus")
        assert shelf.book.shows[SHOW].trims.input_gain_db == -0.5
        while "▸ reverb mix" not in shown(app, "#trims"):
            await pilot.press("v")
        await pilot.press("plus")
        assert shelf.book.shows[SHOW].trims.targets["reverb mix"] == 3


@driven
async def test_last_visits_trims_stand_beside_tonights(shelf: Shelf) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        lines = shown(app, "#trims").splitlines()
        assert lines[0].endswith("2026-05-16")
        reverb = next(line for line in lines if "reverb mix" in line)
        assert reverb.split() == ["reverb", "mix", "+2", "%", "-6", "%", "-4", "%", "-6", "%"]
        assert "The back row asked for less low end" in shown(app, ".detail")


@driven
async def test_a_room_never_played_shows_what_rooms_like_it_needed(shelf: Shelf) -> None:
    venue = shelf.root / "venues" / "pellmarsh-hall.toml"
    venue.write_text(venue.read_text().split("[trims]")[0])
    shelf.refresh()
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=(200, 60)) as pilot:
        await settled(app, pilot)
        assert "first time here" in shown(app, "#trims")
        assert "in rooms like it" in shown(app, "#trims")


@driven
async def test_too_little_headroom_is_said_with_what_to_turn(shelf: Shelf) -> None:
    show = shelf.root / "shows" / f"{SHOW}.toml"
    show.write_text(show.read_text().replace("interface_volume_db = 0.5", "interface_volume_db = 10.5"))
    shelf.refresh()
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        at = next(place for place, row in enumerate(rows(app, "#moments")) if "Tin Harbour" in "".join(row))
        await pilot.press(*["down"] * at)
        await settled(app, pilot)
        assert "! interface output" in shown(app, "#stages")
        assert "too little" in shown(app, "#stages")
        assert "turn the interface volume down" in shown(app, ".detail")


@driven
async def test_a_new_volume_is_heard_at_once_where_no_show_runs(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("t", "plus")
        number = show_levels(shelf.book, shelf.book.shows[SHOW], shelf.book.rigs["full"]).songs[0]
        await until(pilot, lambda: bool(system.sent))
        assert list(system.sent) == [("Host", bytes((0xB0, 112, number.interface_volume_number or 0)))]
        await until(pilot, lambda: "volume sent" in shown(app, ".detail"))


@driven
async def test_locked_trims_stay_even_under_undo_and_after_another_screen(shelf: Shelf) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("plus")
        assert "locked" not in shown(app, "#tonight")
        await pilot.press("k")
        kept = volume_on_disk(shelf)
        await pilot.press("plus", "minus", "u")
        assert volume_on_disk(shelf) == kept
        await pilot.press("5", "7")
        await settled(app, pilot)
        assert "locked" in shown(app, "#tonight")
        await pilot.press("k", "minus")
        assert volume_on_disk(shelf) == kept
        await pilot.press("K", "minus")
        assert volume_on_disk(shelf) == kept - 0.5


@driven
async def test_enter_plays_the_running_show_from_the_moment(shelf: Shelf, playing: LocalShow) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("down", "enter")
        spot = soundcheck(shelf.book, shelf.book.shows[SHOW], shelf.book.rigs["full"]).steps[1].spot
        state = playing.picture().state
        assert (state.song, state.moment, state.phase) == (spot.song, spot.number, "song")
        await until(pilot, lambda: rows(app, "#moments")[1][0] == "◆")


@driven
async def test_locked_moments_are_not_jumped_to(shelf: Shelf, playing: LocalShow) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("k", "down", "enter")
        assert playing.picture().state.phase == "changeover"


@driven
async def test_without_a_running_show_enter_says_how_to_begin_it(shelf: Shelf) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("enter")
        await pilot.pause()
        assert any("the show is not running" in note.message for note in app._notifications)


@driven
async def test_a_lock_lasts_over_a_restart_until_another_night(shelf: Shelf) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("k")
    again = Shelf(shelf.root)
    again.show = SHOW
    app = Screens(SoundcheckScreen(again))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        assert "locked" in shown(app, "#tonight")
    show = shelf.book.shows[SHOW]
    assert not is_locked(shelf.root, SHOW, show.model_copy(update={"date": datetime.date(2027, 1, 1)}))


def tonights(playing: LocalShow) -> dict[str, float]:
    return dict(playing.picture().state.trims)


@driven
async def test_a_full_house_is_counted_as_it_will_be_played(shelf: Shelf) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        assert "empty room" in shown(app, "#tonight")
        before = shown(app, "#song")
        await pilot.press("f")
        assert "full house" in shown(app, "#tonight")
        assert "full house       0 dB      +1.5 dB   +1.5 dB" in shown(app, "#trims")
        assert shown(app, "#song") != before
        assert [note.message for note in app._notifications] == [LOUDER]
        assert beginning(shelf, SHOW, simulated=False).night.full_house
        await pilot.press("f")
        assert shown(app, "#song") == before
        assert not beginning(shelf, SHOW, simulated=False).night.full_house


@driven
async def test_a_running_show_without_hardware_is_said_to_be_simulated(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    night = night_of(shelf.book, SHOW, "full", simulated=True, full_house=True)
    running = LocalShow(night.script(), night=night)
    monkeypatch.setattr(soundcheck_screen, "playing_now", lambda *_, **__: running)
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        assert "the running show is SIMULATED: nothing is heard" in shown(app, "#tonight")
        await pilot.press("f")
        assert "full house" in shown(app, "#tonight")
        assert any("this run was begun for a full house" in note.message for note in app._notifications)


@driven
async def test_in_a_running_show_trims_are_heard_at_once_and_its_file_stays(shelf: Shelf, playing: LocalShow) -> None:
    file = shelf.root / "shows" / f"{SHOW}.toml"
    before, text = volume_on_disk(shelf), file.read_text()
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        assert "through the running show, muted" in shown(app, "#tonight")
        await pilot.press("enter")
        await until(pilot, lambda: playing.picture().state.phase == "song" and not playing.picture().state.settling)
        await until(pilot, lambda: "through the running show, sounding" in shown(app, "#tonight"))
        playing.system.sent.clear()
        await pilot.press("minus", "minus", "minus")
        assert tonights(playing) == {"interface volume": before - 1.5}
        assert {message[:2] for _, message in playing.system.sent} == {bytes((0xB0, 112))}
        await until(pilot, lambda: "-1 dB" in shown(app, "#trims"))
        assert file.read_text() == text
        assert playing.picture().engine == "playing"


@driven
async def test_in_a_running_show_trims_are_taken_back_and_made_again(shelf: Shelf, playing: LocalShow) -> None:
    before = volume_on_disk(shelf)
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("minus", "v", "plus", "u")
        assert tonights(playing) == {"interface volume": before - 0.5}
        await pilot.press("u")
        assert tonights(playing) == {}
        await pilot.press("U", "U", "U")
        assert tonights(playing) == {"interface volume": before - 0.5, "input gain": 0.5}


@driven
async def test_the_input_gain_is_said_to_be_set_by_hand(shelf: Shelf, playing: LocalShow) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        await pilot.press("v", "plus")
        await until(pilot, lambda: "input gain: set by hand" in shown(app, ".detail"))
        assert any("by hand" in notice.say for _, notice in playing.picture().notices)


@driven
async def test_what_a_run_moved_is_offered_for_the_show_once_it_has_ended(shelf: Shelf) -> None:
    before = volume_on_disk(shelf)
    trim = Trim("soundcheck", "interface volume", before, before - 2, "dB", by_hand=False)
    append(shelf.root / "runs" / SHOW / "2026-12-19.jsonl", {"unix_s": 1.0, "kind": "trimmed", **trim_entry(trim)})
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        assert "w keeps it for tonight" in shown(app, ".detail")
        await pilot.press("w")
        assert volume_on_disk(shelf) == before - 2
        assert "w keeps it" not in shown(app, ".detail")
        await pilot.press("u")
        assert volume_on_disk(shelf) == before


@driven
async def test_a_show_that_ends_leaves_its_file_to_the_keys(
    shelf: Shelf, playing: LocalShow, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=WIDE) as pilot:
        await settled(app, pilot)
        monkeypatch.setattr(soundcheck_screen, "playing_now", lambda *_, **__: None)
        ended = playing.picture()._replace(engine="ended")
        monkeypatch.setattr(playing, "picture", lambda: ended)
        await until(pilot, lambda: "running show" not in shown(app, "#tonight"))
        before = volume_on_disk(shelf)
        await pilot.press("minus")
        assert volume_on_disk(shelf) == before - 0.5


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    keys=st.lists(
        st.sampled_from(["plus", "minus", "v", "V", "t", "f", "k", "K", "w", "up", "down", "enter", "tab", "u", "U"]),
        max_size=14,
    ),
    size=st.tuples(st.integers(1, 140), st.integers(1, 50)),
)
@driven
async def test_any_keys_on_any_terminal_leave_it_standing(shelf: Shelf, keys, size) -> None:
    app = Screens(SoundcheckScreen(shelf))
    async with app.run_test(size=size) as pilot:
        await pilot.press(*keys)
        await app.workers.wait_for_complete()
        await pilot.resize_terminal(80, 24)
        assert app.is_running
