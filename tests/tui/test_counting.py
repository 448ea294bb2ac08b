"""The count-in on the playing screen: two bars of 7/8 at 92 quarters a minute are 14 eighths of 0.326 s."""

import asyncio

from showrunner.live.counting import counting
from showrunner.live.sight import sight
from showrunner.tui.app import Screens
from showrunner.tui.lettering import TURNED
from showrunner.tui.screens.playing import PlayingScreen
from showrunner.tui.widgets.bigtype import BigType

EIGHTH_S = 30 / 92


def at_beat(bench, number: float):
    """The count-in as it is some beats after the song was begun."""
    picture = bench.client.picture()
    script = bench.client.script
    piece = script.pieces["lantern"]
    return counting(piece, picture.state, picture.state.clock.began_s + number * EIGHTH_S)


def flashes(bench) -> list[float]:
    """Seconds at which the screen turns light, looked at a hundred times a beat."""
    lit = [(step, at_beat(bench, step / 100)) for step in range(1401)]
    on = [count is not None and count.lit for _, count in lit]
    return [
        step * EIGHTH_S / 100 for (step, _), now, was in zip(lit, on, [False, *on], strict=False) if now and not was
    ]


def test_bars_count_down_and_beats_up(bench) -> None:
    bench.play("next")
    said = [at_beat(bench, number + 0.1)[:2] for number in range(14)]
    assert said == [(2, beat) for beat in range(1, 8)] + [(1, beat) for beat in range(1, 8)]


def test_after_its_bars_the_count_in_is_over(bench) -> None:
    bench.play("next")
    assert at_beat(bench, 13.9) is not None
    assert at_beat(bench, 14.01) is None


def test_no_more_than_three_flashes_come_in_a_second(bench) -> None:
    """WCAG 2.2, success criterion 2.3.1: three flashes or below in any one second period."""
    bench.play("next")
    times = flashes(bench)
    assert len(times) >= 8
    assert max(sum(start <= time < start + 1 for time in times) for start in times) <= 3


def test_every_bar_flashes_on_its_first_beat(bench) -> None:
    bench.play("next")
    assert at_beat(bench, 0.1).lit
    assert at_beat(bench, 7.1).lit
    assert not at_beat(bench, 7.9).lit


def test_a_cue_taken_early_ends_the_count_in(bench) -> None:
    bench.play("next", "next")
    assert at_beat(bench, 1) is None


def test_a_song_without_a_tempo_is_not_counted(bench) -> None:
    bench.play("next", "next", "next", "next", "next")
    told = sight(bench.client.script, bench.client.picture(), bench.plan)
    assert told.mode == "song"
    assert told.counted_in is None


def test_the_flash_is_seen_without_colour(bench) -> None:
    """Where the zone was blank it is full, and the letters are cut out of it."""

    async def drive() -> tuple[str, str]:
        app = Screens(PlayingScreen(bench.client, bench.plan))
        async with app.run_test() as pilot:
            await pilot.press("right")
            await pilot.pause()
            head = app.screen.query_one("#head", BigType)
            lit = head.render().plain
            bench.clock.now_s += EIGHTH_S * 0.9
            app.screen.look()
            return lit, head.render().plain

    lit, dark = asyncio.run(drive())
    blocks = sum(char not in " \n" for char in dark)
    assert 0 < blocks < sum(char not in " \n" for char in lit)
    first = lit.splitlines()[0]
    assert dark.splitlines()[0].ljust(len(first)) == first.translate(TURNED)
