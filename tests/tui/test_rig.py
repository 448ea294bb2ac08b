"""The rig on the screen: what is there and heard, values by hand, calibration, with and without hardware."""

from pathlib import Path

import pytest
from driving import demo_shelf, driven
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.widgets import Input, Static

from showrunner.live.fake import FakeSystem
from showrunner.live.local import LocalShow
from showrunner.live.night import night_of
from showrunner.model.cautions import TRYING_VALUES
from showrunner.tui.app import Screens, place
from showrunner.tui.screens import rig as rig_screen
from showrunner.tui.screens.rig import RigScreen
from showrunner.tui.shelf import Shelf
from showrunner.tui.widgets.bigtype import BigType

SHOW = "pellmarsh-hall"
NAMES = (("Floor board", "Guitar box", "Host in"), ("Host out",))


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW)


@pytest.fixture
def system(monkeypatch: pytest.MonkeyPatch) -> FakeSystem:
    """What the machine has plugged in; the screen listens to it in its thread."""
    plugged_in = FakeSystem(*NAMES)
    monkeypatch.setattr(RigScreen, "system_of", staticmethod(lambda: plugged_in))
    return plugged_in


def screen_of(app: Screens) -> RigScreen:
    assert isinstance(app.screen, RigScreen)
    return app.screen


def shown(app: Screens, part: str) -> str:
    return str(app.screen.query_one(part, Static).visual)


async def until(pilot, true) -> None:
    """Let the screen and its thread go on until something is true."""
    for _ in range(500):
        if true():
            return
        await pilot.pause(0.01)
    raise AssertionError("it never came")


@driven
async def test_the_rigs_ports_are_found_on_the_system(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "4 of 4 ports there" in shown(app, "#head"))
        assert "Floor board" in shown(app, "#ports")
        system.pull("Guitar box")
        await until(pilot, lambda: 'missing: nothing fits "Guitar*"' in shown(app, "#ports"))


@driven
async def test_a_control_is_lit_when_it_is_heard_with_raw_value_and_travel(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        system.play("Floor board", bytes((0xB0, 11, 60)))
        await until(pilot, lambda: screen_of(app).seen.raws.get("swell") == 60)
        assert "50.0 %  raw 60" in shown(app, "#controls")
        assert "swell" in screen_of(app).seen.lit


@driven
async def test_the_control_heard_last_stands_in_large_letters(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        system.play("Floor board", bytes((0xB0, 11, 60)))
        await until(pilot, lambda: app.screen.query_one(BigType).words == "SWELL  50 %")
        system.play("Floor board", bytes((0xB0, 81, 127)))
        await until(pilot, lambda: app.screen.query_one(BigType).words == "SW 2  DOWN")


@driven
async def test_what_no_control_owns_is_said_as_bytes(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        system.play("Floor board", bytes((0xB4, 99, 7)))
        await until(pilot, lambda: "no control's: floor: b4 63 07" in shown(app, "#head"))


@driven
async def test_controls_of_a_pulled_port_are_unknown_again(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        system.play("Floor board", bytes((0xB0, 11, 60)))
        await until(pilot, lambda: "swell" in screen_of(app).seen.raws)
        system.pull("Floor board")
        await until(pilot, lambda: "swell" not in screen_of(app).seen.raws)


@driven
async def test_one_value_is_sent_to_a_target_by_hand(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        await pilot.press("t", "enter")
        app.screen.query_one("#value", Input).value = "12"
        await pilot.press("enter")
        await until(pilot, lambda: bool(system.sent))
        await until(pilot, lambda: "sent 12 dB (127)" in shown(app, "#targets"))
        assert list(system.sent) == [("Host out", bytes((0xB0, 70, 127)))]


@driven
async def test_a_value_outside_a_targets_range_is_not_sent(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        await pilot.press("t", "enter")
        app.screen.query_one("#value", Input).value = "13"
        await pilot.press("enter")
        await pilot.pause()
        assert any("drive goes from -12 to 12 dB" in note.message for note in app._notifications)
        assert not system.sent


@driven
async def test_a_value_for_a_missing_port_is_said_not_to_be_sent(shelf: Shelf, system: FakeSystem) -> None:
    system.pull("Host out")
    app = Screens(RigScreen(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await until(pilot, lambda: "3 of 4" in shown(app, "#head"))
        await pilot.press("t", "enter", "0", "enter")
        await until(pilot, lambda: "drive: not sent: host: it is not plugged in" in shown(app, ".detail"))


@driven
async def test_trying_values_comes_with_the_caution(shelf: Shelf, system: FakeSystem) -> None:  # noqa: ARG001
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await pilot.press("t")
        assert TRYING_VALUES in shown(app, ".detail")


@driven
async def test_without_hardware_keys_move_the_controls(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        await pilot.press("w", "e", "comma", "comma")
        assert screen_of(app).seen.travels["swell"] == pytest.approx(90, abs=1)
        await pilot.press("down", "down", "e")
        assert screen_of(app).seen.raws["fade"] == 16200
        assert not system.sent


@driven
async def test_the_keys_move_nothing_on_real_ports(shelf: Shelf, system: FakeSystem) -> None:  # noqa: ARG001
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        await pilot.press("e", "full_stop")
        assert not screen_of(app).seen.raws


@driven
async def test_a_pretended_pedal_is_calibrated_step_by_step_into_the_file(shelf: Shelf, system: FakeSystem) -> None:  # noqa: ARG001
    file = shelf.root / "rigs" / "full.toml"
    before = file.read_text()
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("w", "down", "c")
        assert "all the way to the heel" in shown(app, ".detail")
        await pilot.press(*["space"] * 14)
        assert "reaches raw" in shown(app, ".detail")
        assert file.read_text() == before
        await pilot.press("y")
        pairs = shelf.book.rigs["full"].controls["colour"].calibration
        assert pairs[0][1] == 0
        assert pairs[-1][1] == 100
        assert len(pairs) > 2
        await pilot.press("u")
        assert file.read_text() == before


@driven
async def test_a_real_pedal_that_says_nothing_is_asked_again(
    shelf: Shelf,
    system: FakeSystem,  # noqa: ARG001
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    now_s = [100.0]
    monkeypatch.setattr(rig_screen.time, "perf_counter", lambda: now_s[0])
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await until(pilot, lambda: "4 of 4" in shown(app, "#head"))
        await pilot.press("c", "space")
        assert "hold it still" in shown(app, ".detail")
        now_s[0] += 2
        await until(pilot, lambda: "nothing was heard" in shown(app, ".detail"))
        assert "all the way to the heel" in shown(app, ".detail")


@driven
async def test_what_has_no_travel_is_not_calibrated(shelf: Shelf, system: FakeSystem) -> None:  # noqa: ARG001
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("w", *["down"] * 4, "c")
        assert "calibrating" not in shown(app, ".detail")


@driven
async def test_another_rig_says_what_it_lacks(shelf: Shelf, system: FakeSystem) -> None:  # noqa: ARG001
    app = Screens(RigScreen(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await app.workers.wait_for_complete()
        while "Small rig" not in shown(app, "#head"):
            await pilot.press("o")
        assert "it lacks, beside Full rig" in shown(app, ".detail")
        assert "colour, strip" in shown(app, ".detail")


@driven
async def test_while_a_show_plays_its_rig_is_only_looked_at(
    shelf: Shelf, system: FakeSystem, monkeypatch: pytest.MonkeyPatch
) -> None:
    night = night_of(shelf.book, SHOW, "full", simulated=True)
    playing = LocalShow(night.script(), night=night)
    monkeypatch.setattr(rig_screen, "playing_now", lambda *_, **__: playing)
    app = Screens(RigScreen(shelf))
    async with app.run_test() as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        playing.move("swell", 60)
        await until(pilot, lambda: screen_of(app).seen.raws.get("swell") == 60)
        assert "is being played on it" in shown(app, "#head")
        await pilot.press("t", "enter", "c")
        assert not app.screen.query_one("#value").display
        assert not system.sent


@driven
async def test_leaving_lets_go_of_the_ports(shelf: Shelf, system: FakeSystem) -> None:
    app = Screens(place("shows")(shelf))
    async with app.run_test() as pilot:
        await pilot.press("6")
        await until(pilot, lambda: app.screen.query("#head") and "4 of 4" in shown(app, "#head"))
        await pilot.press("1")
        await until(pilot, lambda: not system._listening)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    keys=st.lists(
        st.sampled_from(
            [
                "space",
                "y",
                "escape",
                "up",
                "down",
                "comma",
                "full_stop",
                "h",
                "e",
                "c",
                "t",
                "enter",
                "w",
                "o",
                "u",
                "0",
            ]
        ),
        max_size=14,
    ),
    size=st.tuples(st.integers(1, 140), st.integers(1, 50)),
)
@driven
async def test_any_keys_on_any_terminal_leave_it_standing(shelf: Shelf, keys, size) -> None:
    app = Screens(RigScreen(shelf))
    async with app.run_test(size=size) as pilot:
        await pilot.press(*keys)
        await app.workers.wait_for_complete()
        await pilot.resize_terminal(80, 24)
        assert app.is_running
