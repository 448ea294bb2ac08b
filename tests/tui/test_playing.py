"""The playing screen under keys: it shows the show, passes steps on, and never ends it."""

import pytest
from driving import driven, offers
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.color import Color
from textual.command import CommandList

from showrunner.live.seen import Trouble
from showrunner.live.sight import sight
from showrunner.tui.app import Screens
from showrunner.tui.screens.playing import PlayingScreen
from showrunner.tui.screens.stage import StageScreen
from showrunner.tui.settings import Settings
from showrunner.tui.themes import THEMES
from showrunner.tui.widgets.bigtype import BigType
from showrunner.tui.widgets.ruler import Rulers, rows_for

KEYS = ["right", "left", "c", "t", "x", "m", "g", "up", "down", "h", "e", "p", "space"]
SIZES = [(80, 24), (120, 36), (200, 60)]


def app_of(bench, **settings_of) -> Screens:
    chosen = Settings(**settings_of)
    return Screens(PlayingScreen(bench.client, bench.plan, chosen), chosen)


def words(app: Screens, zone: str) -> str:
    return app.screen.query_one(f"#{zone}", BigType).words


@driven
async def test_right_and_left_step_through_the_show(bench) -> None:
    app = app_of(bench)
    async with app.run_test() as pilot:
        await pilot.press("right", "right")
        assert words(app, "head") == "LEAD"
        bench.clock.now_s += 60
        await pilot.press("left")
        assert words(app, "head") == "LOW LANTERN"


@driven
async def test_the_arrow_keys_move_the_pedal_of_a_simulated_rig(bench) -> None:
    app = app_of(bench)
    async with app.run_test() as pilot:
        await pilot.press("right", "e")
        assert bench.client.picture().state.travels["swell"] == 100
        await pilot.press("down", "down")
        assert bench.client.picture().state.travels["swell"] == pytest.approx(90, abs=1)
        assert "91 %" in app.screen.query_one(Rulers).text


@driven
async def test_choosing_is_taken_by_key_and_nothing_is_sent_before(bench) -> None:
    app = app_of(bench)
    async with app.run_test() as pilot:
        await pilot.press("right", "c", "left")
        assert words(app, "head") == "? KILN LIGHT"
        assert bench.client.picture().state.order == ("lantern", "road")
        await pilot.press("t")
        assert words(app, "head") == "KILN LIGHT"
        assert bench.client.picture().state.order == ("lantern", "kiln", "road")


@driven
async def test_on_real_hardware_keys_move_no_pedal(bench) -> None:
    bench.client.simulated = False
    app = app_of(bench)
    async with app.run_test() as pilot:
        await pilot.press("right", "e", "g")
        state = bench.client.picture().state
        assert state.phase == "song"
        assert "swell" not in state.travels


@pytest.mark.parametrize("simulated", [True, False], ids=["simulated", "real"])
@pytest.mark.parametrize(
    ("phase", "steps"),
    [
        ("changeover", []),
        ("song", ["next"]),
        ("song", ["next", "mute"]),
        ("choosing", ["next", "choose"]),
        ("over", ["next"] * 6),
    ],
)
@driven
async def test_m_mutes_and_unmutes_in_every_phase(bench, phase, steps, simulated) -> None:
    bench.client.simulated = simulated
    bench.play(*steps)
    before = bench.client.picture().state
    assert ("choosing" if before.choice is not None else before.phase) == phase
    app = app_of(bench)
    async with app.run_test() as pilot:
        await pilot.press("m")
        assert bench.client.picture().state.muted != before.muted
        await pilot.press("m")
        assert bench.client.picture().state.muted == before.muted


@pytest.mark.parametrize("simulated", [True, False], ids=["simulated", "real"])
@pytest.mark.parametrize("steps", [[], ["next"], ["next", "choose"], ["next"] * 6])
@driven
async def test_every_key_is_under_the_question_mark(bench, until, steps, simulated) -> None:
    bench.client.simulated = simulated
    bench.play(*steps)
    app = app_of(bench)
    async with app.run_test(size=(120, 40)) as pilot:
        playing = app.screen
        can = {b.action: b for _, b, on, _ in playing.active_bindings.values() if on and b.id and b.id != "app.more"}
        assert {b.id for b in can.values()} >= {"playing.next", "playing.back", "playing.mute", "playing.leave"}
        await pilot.press("question_mark")
        listed = app.screen.query_one(CommandList)
        await until(pilot, lambda: listed.option_count >= len(can))
        lines = [str(listed.get_option_at_index(index).prompt) for index in range(listed.option_count)]
        for binding in can.values():
            assert any((binding.tooltip or binding.description) in line for line in lines), binding


@driven
async def test_under_the_list_of_keys_the_show_goes_on_and_no_picture_is_missed(bench, until) -> None:
    bench.play("next", ("swell", 0), "next")
    app = app_of(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        playing = app.screen
        await until(pilot, lambda: "SWELL TOE" in words(app, "do"))
        await pilot.press("question_mark")
        bench.client.move("swell", 127)
        await until(pilot, lambda: not any("SWELL TOE" in item for item in playing.seen.do))
        bench.client.move("swell", 10)
        bench.client.ask("back")
        await until(pilot, lambda: playing.seen.standing[0].rows[0].wants is None)
        await pilot.resize_terminal(120, 36)
        await pilot.press("escape")
        await until(pilot, lambda: app.screen is playing)
        bench.clock.now_s += 2
        bench.client.ask("next")
        await until(pilot, lambda: words(app, "head") == "LEAD")
        assert "SWELL TOE" not in words(app, "do")
        assert playing.query_one(Rulers).size.width == 120


@pytest.mark.parametrize(("width", "at_foot"), [(80, {"Next", "Back", "Mute", "More", "Leave"}), (200, {"Toe"})])
@driven
async def test_as_many_keys_stand_at_the_foot_as_there_is_room_for(bench, until, width, at_foot) -> None:
    app = app_of(bench)
    async with app.run_test(size=(width, 24)) as pilot:
        await until(pilot, lambda: at_foot <= {offer.words for offer in offers(app)})


@driven
@pytest.mark.parametrize("key", ["q", "ctrl+c"])
async def test_leaving_the_screen_leaves_the_show_as_it_was(bench, key: str) -> None:
    app = app_of(bench)
    async with app.run_test() as pilot:
        await pilot.press("right", "right")
        before = bench.client.picture().state
        await pilot.press(key)
        assert app._exit
    assert bench.client._player.engine.look() == before


@driven
async def test_trouble_covers_nothing_and_moves_nothing(bench) -> None:
    app = app_of(bench)
    async with app.run_test() as pilot:
        await pilot.press("right")
        regions = {zone.id: zone.region for zone in app.screen.query(BigType) if zone.id != "trouble"}
        bench.client.pull("host")
        app.screen.look()
        await pilot.pause()
        assert words(app, "trouble") == "PORT HOST LOST"
        assert "check the cable" in str(app.screen.query_one("#words").content)
        now = {zone.id: zone.region for zone in app.screen.query("BigType, Rulers, #words")}
        assert regions.items() <= now.items()
        assert now["trouble"].height == 3
        assert not any(a.overlaps(b) for a in now.values() for b in now.values() if a != b)


@driven
async def test_what_has_no_room_in_big_letters_stands_in_the_terminals_own(bench) -> None:
    seen = sight(bench.client.script, bench.client.picture(), bench.plan)
    calm = seen._replace(do=tuple(f"DO THIS {number}" for number in "ABCD"), trouble=())
    app = Screens(StageScreen())
    async with app.run_test(size=(80, 24)) as pilot:
        app.screen.see(calm)
        await pilot.pause()
        do = app.screen.query_one("#do", BigType)
        assert do.told.said == calm.do
        assert do.letter_rows >= 2.5
        app.screen.see(calm._replace(trouble=(Trouble(("LOST",), "gone"),)))
        await pilot.pause()
        assert do.told.said == calm.do
        assert do.told.lines[-1] == "DO THIS D"
        assert do.region.height >= len(do.told.lines)


@driven
async def test_hands_have_the_rows_that_rulers_leave(bench) -> None:
    app = app_of(bench)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("right", "right")
        await pilot.pause()
        assert app.screen.query_one("#do", BigType).letter_rows >= 3.5
        assert app.screen.query_one(Rulers).size.height >= rows_for(app.screen.seen.standing)


@pytest.mark.parametrize("size", SIZES)
@driven
async def test_everything_needed_is_in_readable_letters(bench, size) -> None:
    app = app_of(bench)
    async with app.run_test(size=size) as pilot:
        await pilot.press("right", "right")
        await pilot.pause()
        assert str(app.screen.query_one("#words").content) == ""
        assert words(app, "do") == "OCTAVE SWITCH OCTAVE · HOLD THE E · SWELL TOE"


@driven
async def test_letters_too_small_for_the_distance_are_admitted(bench) -> None:
    app = app_of(bench, distance_m=6.0)
    async with app.run_test() as pilot:
        await pilot.pause()
        assert "too small at 6 m" in str(app.screen.query_one("#words").content)


@driven
async def test_a_key_can_be_put_elsewhere(bench) -> None:
    app = app_of(bench, keys={"playing.next": "f5"})
    async with app.run_test() as pilot:
        await pilot.press("f5", "right")
        assert bench.client.picture().state.phase == "song"
        assert bench.client.picture().state.moment == 0


@driven
async def test_nothing_is_painted_while_nothing_changes(bench) -> None:
    app = app_of(bench)
    async with app.run_test() as pilot:
        await pilot.press("right")
        before = app.screen.seen
        app.screen.look()
        assert app.screen.seen is before


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    keys=st.lists(
        st.sampled_from(["right", "left", "c", "t", "x", "m", "g", "up", "down", "h", "e", "p", "space"]), max_size=12
    ),
    size=st.tuples(st.integers(1, 140), st.integers(1, 50)),
)
@driven
async def test_any_keys_on_any_terminal_leave_it_standing(make_bench, keys, size) -> None:
    bench = make_bench()
    app = app_of(bench)
    async with app.run_test(size=size) as pilot:
        await pilot.press(*keys)
        await pilot.resize_terminal(80, 24)
        assert app.screen.seen is not None


@pytest.mark.parametrize("theme", [theme.name for theme in THEMES])
@driven
async def test_the_first_screen_is_painted_in_the_theme_that_was_chosen(bench, theme) -> None:
    app = app_of(bench, theme=theme)
    async with app.run_test():
        assert app.current_theme.name == theme
        assert app.screen.styles.background == Color.parse(app.current_theme.background or "")
        assert ("-dark-mode" in app.classes) == app.current_theme.dark


@driven
async def test_the_keys_stand_at_the_foot_before_anything_has_been_pressed(bench, until) -> None:
    app = app_of(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: "Next" in [offer.words for offer in offers(app)])
