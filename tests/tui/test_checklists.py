"""Checklists that verify themselves, on ports that a test plugs in and pulls."""

import shutil
from pathlib import Path

import pytest
from driving import driven
from textual.widgets import Static

from showrunner.curves.message import control_change
from showrunner.live import doubling
from showrunner.live.fake import FakeSystem, plain
from showrunner.live.local import LocalShow
from showrunner.live.night import night_of
from showrunner.places import demo_book
from showrunner.tui.app import Screens
from showrunner.tui.screens import checklists
from showrunner.tui.screens.checklists import ChecklistsScreen
from showrunner.tui.shelf import Shelf

LIST = """\
format = 1
title = "Before the doors"
items = [
  { ask = "Swell pedal", verify = "control swell", critical = true },
  { ask = "Host", verify = "port host" },
  { ask = "Room on the disk", verify = "disk" },
  { ask = "Doubled", verify = "not doubled swell" },
  { ask = "Lights" },
]
"""


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shelf:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    root = tmp_path / "book"
    shutil.copytree(demo_book(), root, ignore=shutil.ignore_patterns(".*"))
    for file in (root / "checklists").glob("*.toml"):
        file.unlink()
    (root / "checklists" / "doors.toml").write_text(LIST)
    show = root / "shows" / "pellmarsh-hall.toml"
    lines = [line for line in show.read_text().splitlines() if not line.startswith("checklists")]
    show.write_text("\n".join(lines))
    made = Shelf(root)
    made.show = "pellmarsh-hall"
    return made


@pytest.fixture
def system(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> FakeSystem:
    made = FakeSystem.simulated(shelf.book.rigs["full"])
    monkeypatch.setattr(ChecklistsScreen, "system_of", staticmethod(lambda: made))
    return made


def items(app: Screens) -> str:
    return str(app.screen.query_one("#items", Static).content)


def move(shelf: Shelf, system: FakeSystem, name: str, *raws: int) -> None:
    rig = shelf.book.rigs["full"]
    control = rig.controls[name]
    for raw in raws:
        port = plain(rig.ports[control.port].input)
        system.play(port, control_change(control.channel, control.cc, raw))


@pytest.mark.usefixtures("system")
@driven
async def test_an_answer_that_cannot_be_kept_is_told(
    shelf: Shelf, until, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "no folder").write_text("")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "no folder"))
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await pilot.press("y")
        await until(pilot, lambda: any("the answer can't be kept" in note.message for note in app._notifications))


@driven
async def test_a_control_is_ticked_once_it_is_heard(shelf: Shelf, system: FakeSystem, until) -> None:
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "there" in items(app))
        assert "! Swell pedal" in items(app)
        assert "not heard yet" in items(app)
        move(shelf, system, "swell", 2, 60, 125)
        await until(pilot, lambda: "✓ Swell pedal" in items(app))
        await until(pilot, lambda: "from 0 to 100 %" in items(app))
    assert shelf.answers("doors")["Swell pedal"] == "seen"


@pytest.mark.parametrize("file", ["rigs/full.toml", "checklists/doors.toml", "shows/pellmarsh-hall.toml"])
@driven
async def test_ports_are_heard_once_what_says_so_can_be_read(
    shelf: Shelf, system: FakeSystem, until, file: str
) -> None:
    text = (shelf.root / file).read_text()
    (shelf.root / file).write_text("title = \n")
    (shelf.root / "book.toml").write_text('format = 1\nname = "B"\n')
    shelf.refresh()
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await app.workers.wait_for_complete()
        assert "✓ Host" not in items(app)
        (shelf.root / file).write_text(text)
        await until(pilot, lambda: "✓ Host" in items(app))
        move(shelf, system, "swell", 60)
        await until(pilot, lambda: "✓ Swell pedal" in items(app))


@driven
async def test_ports_are_heard_though_the_first_list_asks_for_none(shelf: Shelf, system: FakeSystem, until) -> None:
    (shelf.root / "checklists" / "a-first.toml").write_text('format = 1\ntitle = "A"\nitems = [{ ask = "Van" }]\n')
    shelf.refresh()
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        assert app.screen.item.ask == "Van"
        await pilot.press("l")
        await until(pilot, lambda: "✓ Host" in items(app))
        move(shelf, system, "swell", 60)
        await until(pilot, lambda: "✓ Swell pedal" in items(app))


@driven
async def test_a_port_that_goes_again_has_a_cross(shelf: Shelf, system: FakeSystem, until) -> None:
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "✓ Host" in items(app))
        system.pull(plain(shelf.book.rigs["full"].ports["host"].output))
        await until(pilot, lambda: "✗ Host" in items(app))


@pytest.mark.usefixtures("system")
@driven
async def test_what_needs_no_port_is_looked_at_too(shelf: Shelf, until) -> None:
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "GB free" in items(app))


async def to_the_doubled(app: Screens, pilot, until) -> None:
    """To the item that an ear answers."""
    await until(pilot, lambda: "✓ Host" in items(app))
    await pilot.press("space")
    while app.screen.item.ask != "Doubled":
        await pilot.press("right")


def verified(app: Screens) -> str:
    return str(app.screen.query_one("#verified", Static).content)


@driven
async def test_what_only_an_ear_can_tell_is_asked_once_the_control_has_moved(
    shelf: Shelf, system: FakeSystem, until, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doubling, "WITHHELD_S", 0.0)
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await to_the_doubled(app, pilot, until)
        assert "t tries it" in verified(app)
        await pilot.press("t")
        await until(pilot, lambda: "move swell" in verified(app))
        move(shelf, system, "swell", 20, 60)
        await until(pilot, lambda: "did the sound move?" in verified(app))
        assert "Doubled" not in shelf.answers("doors")
        await pilot.press("n")
        assert shelf.answers("doors")["Doubled"] == "done"
        assert app.screen.item.ask == "Lights"


@driven
async def test_a_sound_that_moved_leaves_the_item_undone(
    shelf: Shelf, system: FakeSystem, until, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doubling, "WITHHELD_S", 0.0)
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await to_the_doubled(app, pilot, until)
        await pilot.press("t")
        await until(pilot, lambda: "move swell" in verified(app))
        move(shelf, system, "swell", 20, 60)
        await until(pilot, lambda: "did the sound move?" in verified(app))
        await pilot.press("y")
        assert shelf.answers("doors")["Doubled"] == doubling.HOST_HEARS
        assert "– Doubled" in items(app)


@pytest.mark.usefixtures("system")
@driven
async def test_a_try_that_hears_nothing_says_so_and_answers_nothing(
    shelf: Shelf, until, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doubling, "WAITS_FOR_S", 0.0)
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await to_the_doubled(app, pilot, until)
        await pilot.press("t")
        await until(pilot, lambda: any("was not heard" in note.message for note in app._notifications))
        assert "Doubled" not in shelf.answers("doors")


@pytest.mark.usefixtures("system")
@driven
async def test_in_a_running_show_the_control_is_withheld_and_then_passed_on_again(
    shelf: Shelf, until, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [100.0]
    night = night_of(shelf.book, "pellmarsh-hall", "full", simulated=True)
    playing = LocalShow(night.script(), lambda: now[0], night=night)
    monkeypatch.setattr(checklists, "playing_now", lambda *_, **__: playing)
    monkeypatch.setattr(doubling, "WITHHELD_S", 0.0)
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await to_the_doubled(app, pilot, until)
        await pilot.press("t")
        await until(pilot, lambda: "move swell" in verified(app))
        assert "swell" in playing.picture().state.withheld
        playing.move("swell", 60)
        await until(pilot, lambda: "did the sound move?" in verified(app))
        await pilot.press("n")
        assert shelf.answers("doors")["Doubled"] == "done"
        now[0] += 3
        assert playing.picture().state.withheld == {}


@pytest.mark.usefixtures("system")
@driven
async def test_done_goes_on_to_what_is_still_open(shelf: Shelf, until) -> None:
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "✓ Host" in items(app) and "✓ Room" in items(app))
        await pilot.press("space")
        assert app.screen.item.ask == "Doubled"


@pytest.mark.usefixtures("system")
@driven
async def test_the_other_lists_and_what_the_signs_mean_stand_where_there_is_room(shelf: Shelf) -> None:
    other = LIST.replace("Before the doors", "After the show").replace("format = 1", 'format = 1\nwhen = "at the end"')
    (shelf.root / "checklists" / "end.toml").write_text(other)
    (shelf.root / "checklists" / "lost.toml").write_text("format = ")
    shelf.refresh()
    app = Screens(ChecklistsScreen(shelf))
    async with app.run_test(size=(120, 28)) as pilot:
        await pilot.pause()
        await pilot.pause()
        said = items(app)
        assert "the other lists: l goes to the next" in said
        assert "After the show · at the end · 0 of 5 done" in said
        assert "lost can't be read" in said
        assert "! critical and open" in said
        assert said.count("Lights: done") == 1
        await pilot.resize_terminal(200, 60)
        await pilot.pause()
        await pilot.pause()
        assert items(app).count("Lights: done") == 2
        await pilot.resize_terminal(80, 18)
        await pilot.pause()
        await pilot.pause()
        assert "the other lists" not in items(app)
