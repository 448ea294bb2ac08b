"""Rehearsing on the screen: picked, played by clock and by foot, kept whatever happens, looked at afterwards."""

import errno
import shutil
from io import FileIO
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.widgets import Static

from showrunner.live.holding import holding, rehearsal_on, show_of
from showrunner.live.night import night_of
from showrunner.model.cautions import REAL_PORTS
from showrunner.takes.smf import read_take
from showrunner.tui.app import Screens
from showrunner.tui.rehearse_choices import Choice
from showrunner.tui.screens import rehearse as module
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.rehearse import RehearseScreen
from showrunner.tui.screens.rehearse_play import RehearsingScreen
from showrunner.tui.screens.rehearse_review import ReviewScreen
from showrunner.tui.screens.rehearse_takes import TakesScreen
from showrunner.tui.shelf import Shelf
from showrunner.tui.widgets.bigtype import BigType
from showrunner.tui.widgets.table import Table

SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"
BAR_S = 4 * 60 / 104
"""From the cue Theme on the song is in 4/4 at 104; two bars are counted in, and 32 later comes the next cue."""


class Clock:
    """Seconds as a test sets them."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, without=("takes",))


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The clock of every rehearsal without hardware."""
    made, local = Clock(), module.LocalRehearsal
    monkeypatch.setattr(module, "LocalRehearsal", lambda *args, **named: local(*args, **named, clock=made))
    return made


class Player:
    """Somebody at the screen: picks, plays, and lets the clock go on."""

    def __init__(self, app: Screens, pilot, clock: Clock) -> None:
        self.app, self.pilot, self.clock = app, pilot, clock

    @property
    def rehearse(self) -> RehearseScreen:
        found = [screen for screen in self.app.screen_stack if isinstance(screen, RehearseScreen)]
        return found[0]

    async def pick(self, choice: Choice, *keys: str) -> None:
        await self.settled()
        self.rehearse.choose(choice)
        await self.pilot.press(*keys)

    async def goes_on(self, seconds: float, step_s: float = 1.0) -> None:
        """Time passes, and the screen looks as often as it would."""
        until_s = self.clock.now_s + seconds
        while self.clock.now_s < until_s and isinstance(self.app.screen, RehearsingScreen):
            self.clock.now_s = min(until_s, self.clock.now_s + step_s)
            self.app.screen.look()
        await self.settled()

    async def settled(self) -> None:
        await self.pilot.pause()
        await self.app.workers.wait_for_complete()
        await self.pilot.pause()

    def shown(self, part: str) -> str:
        return str(self.app.screen.query_one(part, Static).visual)

    def big(self, part: str) -> str:
        return self.app.screen.query_one(part, BigType).words

    def takes(self, folder: str) -> list[Path]:
        return sorted((self.rehearse.shelf.root / "takes" / folder).glob("*.mid"))


def playing(test):
    """The test with somebody at a screen of 80 by 24, on a book without takes."""

    @driven
    async def run(shelf: Shelf, clock: Clock) -> None:
        app = Screens(RehearseScreen(shelf))
        async with app.run_test(size=(80, 24)) as pilot:
            await test(Player(app, pilot, clock))

    run.__name__ = test.__name__
    return lambda shelf, clock: run(shelf=shelf, clock=clock)


@playing
async def test_there_are_the_show_its_songs_and_the_changeovers_between(player: Player) -> None:
    await player.settled()
    table = player.app.screen.query_one(Table)
    rows = [str(table.get_row_at(row)[0]) for row in range(3)]
    assert rows == ["the whole show", "Saltmarsh Signal", "  into Low Lantern"]
    assert "no takes yet" in player.shown("#next")


@playing
async def test_a_song_is_started_at_one_cue_and_stopped_at_another(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "t", "n")
    assert "f  from   Theme" in player.shown("#how")
    assert "t  to     Solo" in player.shown("#how")
    assert "n  times  2" in player.shown("#how")


@playing
async def test_what_is_chosen_tells_what_it_consists_of(player: Player) -> None:
    await player.pick(Choice("show", SHOW))
    await player.settled()
    assert "Heron Clock" in player.shown("#about")
    await player.pick(Choice("song", SONG))
    await player.settled()
    assert "A 1:31 Theme" in player.shown("#about")
    await player.pick(Choice("changeover", "glass-weather", "heron-clock"))
    await player.settled()
    assert " ".join(player.shown("#about").split()).startswith("into Glass Weather: 0:10 of work in the talk 1:00")
    assert "Glass Weather, 5:10" in player.shown("#about")


@playing
async def test_where_it_stops_never_comes_before_where_it_starts(player: Player) -> None:
    await player.pick(Choice("song", SONG), "t", "f", "f")
    assert "f  from   Solo" in player.shown("#how")
    assert "t  to     the end" in player.shown("#how")


@playing
async def test_without_a_count_in_the_song_is_under_way_at_once(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "i")
    assert "i  count  no count-in" in player.shown("#how")
    await player.pilot.press("enter")
    await player.goes_on(0.01)
    assert player.app.screen.seen.counted_in is None
    assert "bar 41.1" in player.app.screen.seen.label


@playing
async def test_midi_clock_goes_to_a_port_of_the_real_rig_or_to_none(player: Player) -> None:
    await player.pick(Choice("song", SONG), "m")
    assert "m  clock" not in player.shown("#how")
    await player.pilot.press("r")
    assert "m  clock  none" in player.shown("#how")
    await player.pilot.press("m")
    assert "m  clock  MIDI, to host" in player.shown("#how")


@playing
async def test_before_real_ports_are_used_the_caution_is_there_and_without_them_it_is_not(player: Player) -> None:
    await player.pick(Choice("song", SONG))
    assert "volume control" not in player.shown("#how")
    await player.pilot.press("r")
    assert REAL_PORTS in " ".join(player.shown("#how").split())


@playing
async def test_what_was_chosen_is_still_so_after_a_look_at_another_screen(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "n", "c")
    await player.pilot.press("5")
    await player.settled()
    await player.pilot.press("8")
    await player.settled()
    screen = player.app.screen
    assert isinstance(screen, RehearseScreen)
    screen.choose(Choice("song", SONG))
    await player.pilot.pause()
    assert "f  from   Theme" in player.shown("#how")
    assert "c  cues   by foot or key" in player.shown("#how")


@playing
async def test_the_count_in_is_counted_in_large_letters_and_flashes(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "enter")
    await player.goes_on(0.01)
    assert (player.big("#head"), player.big("#beside")) == ("SALTMARSH SIGNAL", "1  2 BARS  4/4")
    assert player.app.screen.seen.counted_in.lit
    await player.goes_on(0.3)
    assert not player.app.screen.seen.counted_in.lit
    # A bar of 4/4 at 104 lasts 2.31 s.
    await player.goes_on(2.1)
    assert player.big("#beside") == "1  LAST BAR  4/4"


@playing
async def test_the_moment_stands_with_the_beat_and_the_bars_until_what_comes_next(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "t", "n", "enter")
    await player.goes_on(2 * BAR_S + 0.01)
    assert (player.big("#head"), player.big("#beside")) == ("THEME", "SALTMARSH SIGNAL  4/4")
    assert player.big("#after") == "→ SOLO  IN 32 BARS"
    assert "time 1 of 2 · bar 41.1" in player.shown("#status")
    assert "1:31 of 6:40" in player.shown("#status")


@playing
async def test_by_the_clock_a_song_goes_to_its_end_and_its_take_is_looked_at(player: Player) -> None:
    await player.pick(Choice("song", SONG), "enter")
    await player.goes_on(500, 20)
    assert isinstance(player.app.screen, ReviewScreen)
    (kept,) = player.takes(SONG)
    assert [cue.cue for cue in read_take(kept).cues] == ["start", "Theme", "Solo", "Second verse", "Long note", "Damp"]
    assert "nobody was heard" in player.shown("#review")
    assert "swell not heard, should be at 100 %" in player.shown("#review")
    assert "can't be seen: octave switch octave" in player.shown("#review")


@playing
async def test_a_changeover_goes_round_as_often_as_was_asked(player: Player) -> None:
    await player.pick(Choice("changeover", "low-lantern", SONG), "n", "n", "n", "enter")
    await player.pilot.press("up")
    await player.goes_on(30, 5)
    assert "time 1 of 5" in player.shown("#status")
    assert player.app.screen.seen.aside[0] == "23 S LEFT"
    await player.goes_on(400, 5)
    assert isinstance(player.app.screen, ReviewScreen)
    assert player.shown("#review").count("0:45, planned 0:45") == 5
    assert "5 of 5" in player.shown("#over")


@playing
async def test_by_foot_the_clock_only_counts_and_says_late_and_early_as_it_happens(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "c", "enter")
    await player.goes_on(34 * BAR_S + 0.4, 0.5)
    assert player.big("#after") == "→ SOLO  NOW"
    await player.pilot.press("space")
    assert player.big("#head") == "SOLO"
    assert player.app.screen.seen.aside[0] == "0.4 S LATE"
    assert player.shown("#words") == "Solo 0.4 s late"


@playing
async def test_while_the_foot_is_late_at_a_songs_end_its_clock_runs_on(player: Player) -> None:
    """Low Lantern lasts 4:35 and goes straight into Heron Clock: eight seconds of it lead up to that."""
    await player.pick(Choice("changeover", "heron-clock", "low-lantern"), "c", "enter")
    await player.goes_on(7.5, 0.5)
    assert "bar " in player.shown("#status")
    await player.goes_on(2.5)
    assert "4:37 of 4:35" in player.shown("#status")
    assert "bar " not in player.shown("#status")
    await player.pilot.press("space")
    assert player.app.screen.seen.aside[0] == "2 S LATE"
    assert "changeover straight on, 2 s late" in player.shown("#words")
    await player.pilot.press("q")
    await player.settled()
    (row,) = (line for line in player.shown("#review").splitlines() if "changeover" in line)
    assert row.split()[1] == "x"
    assert row.endswith("straight on, 2 s late")


@playing
async def test_keys_move_the_pedal_and_the_take_keeps_what_it_did(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "enter")
    await player.goes_on(0.5)
    await player.pilot.press("e")
    await player.goes_on(6)
    assert "swell at 100 %" not in player.shown("#words")
    await player.pilot.press("q")
    await player.settled()
    assert "swell at 100 %" in player.shown("#review")
    heard = [event for event in read_take(player.takes(SONG)[0]).events if event.direction == "in"]
    assert [event.data for event in heard] == [bytes((0xB0, 11, 125))]


@playing
async def test_again_goes_back_to_the_start_of_this_time_through(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "enter")
    await player.goes_on(20)
    await player.pilot.press("a")
    await player.goes_on(0.01)
    assert player.big("#beside") == "1  2 BARS  4/4"


@playing
async def test_stopping_keeps_the_take(player: Player) -> None:
    await player.pick(Choice("song", SONG), "enter")
    await player.goes_on(10)
    await player.pilot.press("q")
    await player.settled()
    assert isinstance(player.app.screen, ReviewScreen)
    assert len(player.takes(SONG)) == 1


@playing
async def test_a_take_that_is_deleted_while_it_is_written_ends_in_words(player: Player) -> None:
    await player.pick(Choice("song", SONG), "enter")
    await player.goes_on(3)
    player.takes(SONG)[0].unlink()
    await player.pilot.press("q")
    await player.settled()
    assert isinstance(player.app.screen, RehearseScreen)
    assert any("the take is gone" in note.message for note in player.app._notifications)


class Full(FileIO):
    """A file on a disk that has room for 300 bytes."""

    def write(self, data) -> int:
        if self.tell() + len(data) > 300:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(data)


@playing
async def test_on_a_full_disk_the_song_goes_on_and_what_is_kept_is_said(player: Player) -> None:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("showrunner.takes.recorder.FileIO", Full)
        await player.pick(Choice("song", SONG), "enter")
        await player.goes_on(250)
    assert isinstance(player.app.screen, RehearsingScreen)
    assert player.app.screen.seen.trouble[0].big[0] == "TAKE TROUBLE"
    assert "what was played before is kept" in player.app.screen.seen.trouble[0].words
    await player.pilot.press("q")
    await player.settled()
    assert isinstance(player.app.screen, ReviewScreen)
    assert any("the take can't be written on" in note.message for note in player.app._notifications)
    assert [cue.cue for cue in read_take(player.takes(SONG)[0]).cues][:1] == ["start"]


@playing
async def test_a_take_that_is_deleted_as_its_song_ends_ends_in_words_as_well(player: Player) -> None:
    await player.pick(Choice("song", SONG), "enter")
    await player.goes_on(3)
    player.takes(SONG)[0].unlink()
    await player.goes_on(900, step_s=30)
    assert isinstance(player.app.screen, RehearseScreen)


@playing
async def test_a_program_that_is_killed_leaves_a_take_that_opens(player: Player) -> None:
    await player.pick(Choice("song", SONG), "enter")
    await player.goes_on(20, 0.5)
    await player.pilot.press("h")
    await player.goes_on(0.2, 0.05)
    (kept,) = player.takes(SONG)
    left = read_take(kept)
    assert [cue.cue for cue in left.cues] == ["start"]
    assert any(event.direction == "in" for event in left.events)


@playing
async def test_what_fails_most_is_offered_first(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "enter")
    await player.goes_on(2)
    await player.pilot.press("h")
    await player.goes_on(5)
    await player.pilot.press("q", "escape")
    await player.settled()
    assert player.shown("#next") == "practise next (p): Saltmarsh Signal: Theme"
    player.rehearse.choose(Choice("song", "nine-reeds"))
    await player.pilot.press("p")
    assert player.rehearse.choice == Choice("song", SONG)
    assert "Theme" in player.shown("#went")
    assert "swell not there 1×" in player.shown("#went")


async def keep_a_take(player: Player) -> None:
    await player.pick(Choice("song", SONG), "enter")
    await player.goes_on(10)
    await player.pilot.press("e")
    await player.goes_on(5)
    await player.pilot.press("q")
    await player.settled()


@playing
async def test_a_take_as_the_player_shows_bars_and_beats_where_its_song_is(player: Player) -> None:
    await player.pick(Choice("song", SONG), "f", "enter")
    await player.goes_on(15)
    await player.pilot.press("q", "escape")
    await player.settled()
    player.rehearse.choose(Choice("song", SONG))
    await player.pilot.press("k", "p")
    await player.goes_on(0.1)
    assert "bar" not in player.app.screen.seen.label
    # Two bars of count-in and four of the song, from bar 41, and half a beat.
    await player.goes_on(6 * BAR_S + 0.2)
    assert player.app.screen.seen.label.endswith("bar 45.1")


@playing
async def test_a_take_is_played_against_the_book_as_it_is_now(player: Player) -> None:
    await keep_a_take(player)
    await player.pilot.press("v")
    await player.settled()
    assert "sends what went out then" in player.shown("#replayed")
    song = player.rehearse.shelf.root / f"songs/{SONG}.toml"
    song.write_text(song.read_text().replace('"delay mix" = [0, 20, 45]', '"delay mix" = [0, 20, 90]'))
    await player.pilot.press("v")
    await player.settled()
    assert "delay mix  differs for" in player.shown("#replayed")
    assert "now 89.8 %" in " ".join(player.shown("#replayed").split())


@playing
async def test_a_take_is_deleted_only_once_that_is_answered(player: Player) -> None:
    await keep_a_take(player)
    await player.pilot.press("d")
    assert isinstance(player.app.screen, ProposalScreen)
    await player.pilot.press("x")
    assert len(player.takes(SONG)) == 1
    await player.pilot.press("d", "y")
    await player.settled()
    assert player.takes(SONG) == []


@playing
async def test_no_second_rehearsal_on_the_same_ports(player: Player) -> None:
    await player.pick(Choice("song", SONG), "r")
    shelf = player.rehearse.shelf
    with holding(rehearsal_on(shelf.book.rigs["full"], "Heron Clock", shelf.root)):
        await player.pilot.press("enter")
        await player.pilot.pause()
    assert isinstance(player.app.screen, RehearseScreen)
    said = [note.message for note in player.app._notifications]
    assert any("Heron Clock is being rehearsed on Full rig; end the rehearsal first" in each for each in said)


@playing
async def test_takes_are_listed_with_their_length_and_can_be_looked_at(player: Player) -> None:
    await keep_a_take(player)
    await player.pilot.press("escape", "k")
    assert isinstance(player.app.screen, TakesScreen)
    assert player.shown("#title") == "Saltmarsh Signal: 1 take"
    row = player.app.screen.query_one(Table).get_row_at(0)
    assert row[:2] == [f"{SONG}/{player.takes(SONG)[0].stem}", "0:15"]
    await player.pilot.press("enter")
    await player.settled()
    assert isinstance(player.app.screen, ReviewScreen)


@playing
async def test_a_take_can_be_the_player_and_nothing_is_kept_of_it(player: Player) -> None:
    await keep_a_take(player)
    await player.pilot.press("escape", "k", "p")
    await player.goes_on(60)
    assert isinstance(player.app.screen, ReviewScreen)
    assert "not kept" in player.shown("#title")
    assert len(player.takes(SONG)) == 1


@playing
async def test_a_whole_shows_take_is_kept_under_the_show(player: Player) -> None:
    await player.pick(Choice("show", SHOW), "enter")
    await player.goes_on(10)
    await player.pilot.press("q")
    await player.settled()
    assert len(player.takes(SHOW)) == 1


@playing
async def test_no_rehearsal_on_a_rig_that_a_show_is_being_played_on(player: Player) -> None:
    await player.settled()
    with holding(show_of(night_of(player.rehearse.shelf.book, SHOW, "full"), Path("run"), "engine")):
        await player.pick(Choice("song", SONG), "r", "enter")
        await player.pilot.pause()
    assert isinstance(player.app.screen, RehearseScreen)
    assert any("is being played on Full rig" in note.message for note in player.app._notifications)


@driven
async def test_a_book_without_a_rig_says_so(shelf: Shelf, clock: Clock) -> None:
    shutil.rmtree(shelf.root / "rigs")
    shelf.refresh()
    app = Screens(RehearseScreen(shelf))
    async with app.run_test() as pilot:
        player = Player(app, pilot, clock)
        await player.pick(Choice("song", SONG), "enter")
        await pilot.pause()
        assert any("no rig that can be read" in note.message for note in app._notifications)


@driven
async def test_a_book_without_songs_says_so(shelf: Shelf, clock: Clock) -> None:  # noqa: ARG001
    shutil.rmtree(shelf.root / "songs")
    shelf.refresh()
    app = Screens(RehearseScreen(shelf))
    async with app.run_test() as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("enter", "f", "t", "k", "p")
        assert "nothing to rehearse" in str(app.screen.query_one("#how", Static).visual)


@driven
async def test_a_damaged_take_is_named(shelf: Shelf, clock: Clock) -> None:
    file = shelf.root / "takes" / SONG / "2026-11-02.mid"
    file.parent.mkdir(parents=True)
    file.write_bytes(b"MThd\x00")
    app = Screens(RehearseScreen(shelf))
    async with app.run_test() as pilot:
        player = Player(app, pilot, clock)
        await player.settled()
        assert "2026-11-02.mid: can't be read as a take" in player.shown("#next")


@driven
async def test_a_folder_that_cannot_be_written_is_told(shelf: Shelf, clock: Clock) -> None:
    (shelf.root / "takes").write_text("in the way")
    app = Screens(RehearseScreen(shelf))
    async with app.run_test() as pilot:
        player = Player(app, pilot, clock)
        await player.pick(Choice("song", SONG), "enter")
        await pilot.pause()
        assert any("the take can't be written" in note.message for note in app._notifications)


KEYS = ["enter", "space", "up", "down", "f", "t", "n", "c", "m", "o", "k", "p", "a", "h", "e", "v", "escape", "s", "u"]


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    keys=st.lists(st.sampled_from(KEYS), max_size=16),
    size=st.tuples(st.integers(1, 140), st.integers(1, 50)),
)
@driven
async def test_any_keys_on_any_terminal_leave_it_standing(shelf: Shelf, clock: Clock, keys, size) -> None:
    app = Screens(RehearseScreen(shelf))
    async with app.run_test(size=size) as pilot:
        for key in keys:
            clock.now_s += 7
            await pilot.press(key)
        await app.workers.wait_for_complete()
        await pilot.resize_terminal(20, 6)
        await pilot.pause()
        await pilot.resize_terminal(80, 24)
        assert app.is_running


@driven
@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 60)])
async def test_what_to_practise_next_stands_over_the_list(shelf: Shelf, until, size: tuple[int, int]) -> None:
    app = Screens(RehearseScreen(shelf))
    async with app.run_test(size=size) as pilot:
        said = app.screen.query_one("#next", Static)
        await until(pilot, lambda: "no takes yet" in str(said.content))
        await pilot.pause()
        assert said.display
        assert said.region.height == 1


@playing
async def test_what_was_wrong_goes_on_under_where_it_began_on_a_narrow_screen(player: Player) -> None:
    await player.pick(Choice("changeover", "heron-clock", "low-lantern"), "enter")
    await player.pilot.press("up")
    await player.goes_on(30, 1)
    lines = player.shown("#review").splitlines()
    start = next(number for number, line in enumerate(lines) if " start " in line)
    assert lines[start].endswith("fade not heard, should be at")
    assert lines[start + 1].strip() == "100 %"
    assert lines[start + 1].index("100") == lines[start].index("fade")
    assert max(map(len, lines)) <= 80


@driven
async def test_what_the_book_would_do_now_comes_into_sight(tmp_path: Path) -> None:
    app = Screens(RehearseScreen(demo_shelf(tmp_path / "book", show=SHOW)))
    async with app.run_test(size=(80, 24)) as pilot:
        player = Player(app, pilot, Clock())
        await player.settled()
        player.rehearse.review(player.takes(SONG)[0])
        await player.settled()
        await pilot.press("v")
        await player.settled()
        shown = app.screen.query_one("#replayed", Static)
        for _ in range(2):
            assert shown.region.bottom <= 24
            app.screen.query_one("#body").scroll_home(animate=False)
            await pilot.press("v")
            await player.settled()
        assert "every target stands the same" in " ".join(str(shown.visual).split())
        assert shown.region.bottom <= 24
        assert shown.region.height >= 2
