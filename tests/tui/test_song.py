"""The song: its curves, its cues and its start edited in place, each change taken back byte for byte."""

from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Input, Static

from showrunner.live.fake import FakeSystem
from showrunner.model.song import Song
from showrunner.tui.app import Screens, place
from showrunner.tui.screens import song as song_screen
from showrunner.tui.screens.curves import CurvesScreen
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.shelf import Shelf
from showrunner.tui.widgets.plotted import Plotted

SLUG = "saltmarsh-signal"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show="pellmarsh-hall", song=SLUG)


def app_of(shelf: Shelf) -> Screens:
    return Screens(place("song")(shelf))


def text(shelf: Shelf) -> str:
    return (shelf.root / "songs" / f"{SLUG}.toml").read_text()


def on_disk(shelf: Shelf) -> Song:
    return Shelf(shelf.root).book.songs[SLUG]


async def line(app: Screens, pilot, *keys: str, typed: str) -> None:
    await pilot.press(*keys)
    await pilot.pause()
    app.screen.query(Input).last().value = typed
    await pilot.press("enter")
    await pilot.pause()


async def picked(pilot, *keys: str, words: str) -> None:
    await pilot.press(*keys)
    await pilot.pause()
    await pilot.press(*words, "enter")
    await pilot.pause()


async def field(app: Screens, pilot, label: str, typed: str) -> None:
    """Type or choose something for a field of the list that is up."""
    await pilot.pause()
    assert isinstance(app.screen, FieldsScreen)
    table = app.screen.query_one(DataTable)
    table.move_cursor(row=[table.get_row_at(row)[0] for row in range(table.row_count)].index(label))
    await line(app, pilot, "enter", typed=typed)


@driven
async def test_a_row_is_added_for_another_target_and_taken_out(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await picked(pilot, "a", words="reverb mix")
        assert on_disk(shelf).curves["verse"]["swell"].moves["reverb mix"].values == (18, 18, 18)
        await pilot.press("u")
        assert text(shelf) == written
        await pilot.press("down", "delete")
        assert "drive" not in on_disk(shelf).curves["verse"]["swell"].moves
        await pilot.press("u")
        assert text(shelf) == written


@driven
async def test_a_column_is_added_with_the_values_that_hold_there_and_taken_out(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await line(app, pilot, "plus", typed="75 %")
        curve = on_disk(shelf).curves["verse"]["swell"]
        assert curve.travel == (0, 50, 75, 100)
        assert curve.moves["delay mix"].values == (0, 20, 32.5, 45)
        assert curve.moves["drive"].values == (3, 3, 6, 9)
        assert curve.moves["width"] == shelf.book.songs[SLUG].curves["verse"]["swell"].moves["width"]
        app.screen.query_one("#curve", DataTable).move_cursor(row=0, column=4)
        await pilot.press("minus")
        assert on_disk(shelf).curves["verse"]["swell"].travel == (0, 50, 100)
        await pilot.press("u", "u")
        assert text(shelf) == written


@pytest.mark.parametrize("typed", ["50", "120", "-1", "half"])
@driven
async def test_a_column_that_can_not_be_stays_to_be_mended(shelf: Shelf, typed: str) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await line(app, pilot, "plus", typed=typed)
        assert app.screen.query(Input).last().value == typed
        assert text(shelf) == written


@driven
async def test_a_row_gets_a_column_of_its_own_where_it_has_none(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        app.screen.query_one("#curve", DataTable).move_cursor(row=0, column=2)
        await line(app, pilot, "enter", typed="5")
        move = on_disk(shelf).curves["verse"]["swell"].moves["delay mix"]
        assert (move.travel, move.values) == ((0, 30, 50, 100), (0, 5, 20, 45))
        await pilot.press("u")
        assert text(shelf) == written


@pytest.mark.parametrize("shape", ["smooth", "step", "equal-power", "straight"])
@driven
async def test_the_shape_of_a_row_is_chosen(shelf: Shelf, shape: str) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("down", "down") if shape == "straight" else None
        await picked(pilot, "s", words=f"{shape}:")
        name = "shimmer" if shape == "straight" else "delay mix"
        assert on_disk(shelf).curves["verse"]["swell"].moves[name].shape == shape
        await pilot.press("u")
        assert text(shelf) == written


@driven
async def test_how_a_curve_comes_in_is_chosen(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("y")
        await field(app, pilot, "entry", "meet:")
        assert on_disk(shelf).curves["verse"]["swell"].entry == "meet"
        await pilot.press("u", "escape")
        assert text(shelf) == written


@driven
async def test_a_set_is_renamed_with_the_start_and_the_cues_that_take_it(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("v")
        await pilot.pause()
        await line(app, pilot, "m", typed="quiet verse")
        song = on_disk(shelf)
        assert list(song.curves) == ["quiet verse", "lead"]
        assert {cue.curves for cue in song.cues} - {None} == {"lead", "quiet verse"}
        assert song.start_set == "quiet verse"
        assert not Shelf(shelf.root).reading.problems
        assert text(shelf).count("#") == written.count("#")
        await pilot.press("u")
        assert text(shelf) == written


@driven
async def test_a_set_is_copied_begun_and_removed(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("v")
        await pilot.pause()
        await line(app, pilot, "c", typed="outro")
        curves = on_disk(shelf).curves
        assert curves["outro"] == curves["verse"]
        await pilot.press("u")
        assert text(shelf) == written
        await line(app, pilot, "n", typed="bridge")
        await pilot.press(*"colour", "enter")
        await pilot.pause()
        assert dict(on_disk(shelf).curves["bridge"]["colour"].moves) == {}
        await pilot.press("delete")
        assert "bridge" not in on_disk(shelf).curves
        await pilot.press("u", "u")
        assert text(shelf) == written


@driven
async def test_a_set_that_a_cue_takes_is_not_removed(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("v")
        await pilot.pause()
        await pilot.press("down", "down", "delete")
        assert text(shelf) == written


@driven
async def test_the_curve_that_is_chosen_is_shown(shelf: Shelf) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("v")
        await pilot.pause()
        assert isinstance(app.screen, CurvesScreen)
        await pilot.press("down", "down", "enter")
        await pilot.pause()
        assert 'set "lead"' in str(app.screen.query_one("#head", Static).content)


@driven
async def test_a_cue_is_added_moved_renamed_and_deleted(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("tab", "down")
        await line(app, pilot, "a", typed="Break")
        assert [cue.name for cue in on_disk(shelf).cues][:3] == ["Theme", "Break", "Solo"]
        await pilot.press("full_stop")
        assert [cue.name for cue in on_disk(shelf).cues][:3] == ["Theme", "Solo", "Break"]
        await pilot.press("comma", "up", "enter")
        await field(app, pilot, "name", "Tune")
        cues = on_disk(shelf).cues
        assert cues[0].name == "Tune"
        assert next(cue for cue in cues if cue.name == "Solo").back_to == "Tune"
        await pilot.press("escape", "delete")
        cues = on_disk(shelf).cues
        assert [cue.name for cue in cues][:2] == ["Break", "Solo"]
        assert cues[1].back_to is None
        await pilot.press(*["u"] * 5)
        assert text(shelf) == written


@pytest.mark.parametrize(
    ("label", "typed", "key", "holds"),
    [
        ("at", "1:35", "at", 95),
        ("curves", "verse", "curves", "verse"),
        ("say", "softly", "say", "softly"),
        ("open", "yes", "open", True),
        ("hold", "no", "hold", False),
        ("octave switch, by hand", "off", "by_hand", {"octave switch": "off"}),
        ("swell", "90", "controls", {"swell": 90}),
        ("reverb mix →", "30", "targets", {"reverb mix": 30}),
    ],
)
@driven
async def test_each_field_of_a_cue_is_edited_in_place(shelf: Shelf, label: str, typed: str, key: str, holds) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 50)) as pilot:
        await pilot.press("tab", "down", "enter")
        await field(app, pilot, label, typed)
        now = getattr(on_disk(shelf).cues[0], key)
        assert (dict(now) if isinstance(holds, dict) else now) == holds
        await pilot.press("u", "escape")
        assert text(shelf) == written


@driven
async def test_a_time_takes_the_place_of_a_bar(shelf: Shelf) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 50)) as pilot:
        await pilot.press("tab", "down", "enter")
        await field(app, pilot, "at", "1:35")
        assert on_disk(shelf).cues[0].bar is None
        await field(app, pilot, "bar", "40")
        assert (on_disk(shelf).cues[0].at, on_disk(shelf).cues[0].bar) == (None, 40)


@driven
async def test_what_ends_a_held_note_goes_with_all_of_it(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 50)) as pilot:
        await pilot.press("tab", "down", "down", "enter")
        await field(app, pilot, "stop by", "")
        assert on_disk(shelf).cues[1].stop is None
        await field(app, pilot, "stop by", "picking hand")
        await field(app, pilot, "driver", "off")
        stop = on_disk(shelf).cues[1].stop
        assert (stop.by, stop.driver) == ("picking hand", "off")
        await pilot.press("u", "u", "u")
        assert text(shelf) == written


@driven
async def test_the_start_is_edited_in_place(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 50)) as pilot:
        await pilot.press("tab", "enter")
        await field(app, pilot, "octave switch, by hand", "off")
        await field(app, pilot, "swell", "25")
        await field(app, pilot, "curves", "lead")
        start = on_disk(shelf).start
        assert (start.by_hand["octave switch"], start.controls["swell"], start.curves) == ("off", 25, "lead")
        await pilot.press("u", "u", "u", "escape")
        assert text(shelf) == written


@driven
async def test_the_facts_of_a_song_are_edited_in_place(shelf: Shelf) -> None:
    written = text(shelf)
    app = app_of(shelf)
    async with app.run_test(size=(120, 50)) as pilot:
        await pilot.press("f")
        await field(app, pilot, "tempo", "96")
        await field(app, pilot, "duration", "6m30s")
        song = on_disk(shelf)
        assert (song.tempo_bpm, song.duration) == (96, 390)
        await pilot.press("u", "u", "escape")
        assert text(shelf) == written


@driven
async def test_a_step_that_will_be_heard_is_said_at_its_row_and_where(shelf: Shelf) -> None:
    file = shelf.root / "songs" / f"{SLUG}.toml"
    file.write_text(text(shelf).replace("drive       = [3, 3, 9]", 'drive = { values = [3, 3, 9], shape = "step" }'))
    shelf.refresh()
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("down")
        row = app.screen.query_one("#curve", DataTable).get_row_at(1)
        assert "heard at 100 %" in row[-1]
        assert row[0].endswith("!")
        assert str(app.screen.query_one(".detail", Static).content).startswith("▸ ")


@driven
async def test_the_mouse_puts_the_pedal_where_it_presses(shelf: Shelf) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        plot = app.screen.query_one(Plotted)
        await pilot.click(plot, offset=(plot.size.width - 9, 5))
        now = app.screen.query_one("#curve", DataTable).get_row_at(0)[5]
        assert float(now.split()[0]) > 35


@driven
async def test_the_real_pedal_moves_the_curve(shelf: Shelf, monkeypatch: pytest.MonkeyPatch, until) -> None:
    rig = shelf.book.rigs["full"]
    system = FakeSystem.simulated(rig)
    monkeypatch.setattr(song_screen.SongScreen, "system_of", staticmethod(lambda: system))
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("p")
        await until(pilot, lambda: app.screen._real._seen().ready)
        swell = rig.controls["swell"]
        port = next(name for name in system.inputs() if name.startswith("Floor"))
        table = app.screen.query_one("#curve", DataTable)

        def moved() -> bool:
            system.play(port, bytes((0xB0 | swell.channel - 1, swell.cc, 127)))
            return table.get_row_at(0)[5] == "45.0 %"

        await until(pilot, moved)
        await pilot.press("p")
        assert not app.screen._real.listening


def said(app: Screens, part: str) -> str:
    return str(app.screen.query_one(part, Static).content)


@driven
async def test_a_curve_is_told_in_words_beside_its_plot(shelf: Shelf) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        words = said(app, "#said")
        assert words.startswith("swell from heel to toe:\n1 delay mix rises from 0 % to 45 %\n")
        assert "2 drive rests at 3 dB up to 50 %, rises to 9 dB" in words
        assert "delay mix: 0 to 100 %, linear; port host" in words
        assert "enter types another value" in words
        await pilot.press("down")
        await pilot.pause()
        assert "drive: -12 to 12 dB" in said(app, "#said")
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert not app.screen.query_one("#said", Static).display


@driven
async def test_the_cue_under_the_cursor_is_told_whole(shelf: Shelf) -> None:
    app = app_of(shelf)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("tab")
        await pilot.pause()
        assert said(app, ".detail").startswith('start: curves "verse"; octave switch fundamental, fuzz knob low')
        await pilot.press("down", "down")
        await pilot.pause()
        cue = "Solo at 2:45: back to Theme; stop by fretting hand, driver on; “nod to end”"
        assert said(app, ".detail").splitlines()[0] == cue
