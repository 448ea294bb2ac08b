"""The playing screen before its documents are read: it shows what the show itself says, and loses no key."""

import itertools
import threading
from time import monotonic

import pytest
from driving import demo_shelf, driven, offers
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.live.freeze import from_json, to_json
from showrunner.live.looking import Looker
from showrunner.live.seen import Sight
from showrunner.live.sight import arrivals, sight
from showrunner.tui.app import Screens
from showrunner.tui.screens.playing import FRAMES_PER_S, STILL_AFTER_S, STILL_PER_S, PlayingScreen
from showrunner.tui.screens.shows import ShowsScreen
from showrunner.tui.shelf import Shelf
from showrunner.tui.widgets.bigtype import BigType

PEDAL = [("swell", 0), ("swell", 64), ("swell", 127)]
STEPS = st.sampled_from(["next", "back", "choose", "take", "cancel", "mute", *PEDAL])


class Unread:
    """A client whose documents are read only once a test lets them, as from a show in other processes."""

    def __init__(self, bench) -> None:
        self._show, self._looker = bench.client, Looker(bench.night)
        self._looker.ready = (bench.client.script, bench.plan)
        self.readable, self.broken = threading.Event(), False
        self.picture, self.ask, self.move = self._show.picture, self._show.ask, self._show.move
        self.close, self.simulated, self.on_stir = self._show.close, True, self._show.on_stir

    @property
    def ready(self) -> bool:
        return self.readable.is_set()

    @property
    def night(self):
        assert self.readable.wait(60)
        if self.broken:
            raise ValueError("night.json holds no night")
        return self._show.night

    @property
    def script(self):
        return self._show.script

    def sight(self) -> Sight:
        picture = self._show.picture()
        return from_json(Sight, self._looker.sight(to_json(picture), picture.at_s, answers=True))


def words(app: Screens, zone: str) -> str:
    return app.screen.query_one(f"#{zone}", BigType).words


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(STEPS, max_size=8))
def test_what_the_show_says_is_what_the_screen_would_say_itself(make_bench, steps) -> None:
    bench = make_bench()
    bench.play(*steps)
    picture, script = bench.client.picture(), bench.client.script
    own = sight(script, picture.as_shown(simulated=True), bench.plan, arrivals(script, picture.state))
    looker = Looker(bench.night)
    looker.ready = (script, bench.plan)
    assert from_json(Sight, looker.sight(to_json(picture), picture.at_s, answers=True)) == own


def test_an_engine_that_does_not_answer_is_said_so(bench) -> None:
    looker = Looker(bench.night)
    looker.ready = (bench.client.script, bench.plan)
    told = from_json(Sight, looker.sight(to_json(bench.client.picture()), 0.0, answers=False))
    assert told.trouble[0].big[0] == "PLAYER NOT ANSWERING"


@driven
async def test_the_song_is_there_before_any_document_is_read(bench) -> None:
    client = Unread(bench)
    app = Screens(PlayingScreen(client))
    async with app.run_test():
        assert not client.ready
        assert words(app, "head") == "LOW LANTERN"
        client.readable.set()


@driven
async def test_steps_before_the_documents_are_taken_and_shown(bench) -> None:
    client = Unread(bench)
    app = Screens(PlayingScreen(client))
    async with app.run_test() as pilot:
        await pilot.press("right", "right")
        assert bench.client.picture().state.moment == 1
        assert words(app, "head") == "LEAD"
        assert not client.ready
        client.readable.set()


@driven
async def test_a_pedal_moved_before_the_documents_moves_once_they_are_read(bench, until) -> None:
    client = Unread(bench)
    app = Screens(PlayingScreen(client))
    async with app.run_test() as pilot:
        await pilot.press("right", "e", "down", "down")
        assert "swell" not in bench.client.picture().state.travels
        client.readable.set()
        await until(pilot, lambda: "swell" in bench.client.picture().state.travels)
        assert 89 <= bench.client.picture().state.travels["swell"] <= 91


@driven
async def test_a_pedal_that_was_where_it_should_be_meanwhile_is_not_asked_for_again(bench, until) -> None:
    client = Unread(bench)
    app = Screens(PlayingScreen(client))
    async with app.run_test() as pilot:
        bench.client.ask("next")
        bench.client.ask("next")
        bench.clock.now_s += 2
        bench.client.move("swell", 127)
        app.screen.look()
        bench.client.move("swell", 40)
        app.screen.look()
        assert "SWELL" not in words(app, "do")
        client.readable.set()
        await until(pilot, lambda: not app.screen._reads)
        assert "SWELL" not in words(app, "do")


@driven
async def test_documents_that_cant_be_read_end_the_screen_with_a_reason(bench, until) -> None:
    client = Unread(bench)
    client.broken = True
    app = Screens(PlayingScreen(client))
    async with app.run_test() as pilot:
        client.readable.set()
        await until(pilot, lambda: app._exit)
        assert app.return_code == 2


@driven
async def test_the_foot_names_only_keys_that_do_something(bench, until) -> None:
    client = Unread(bench)
    app = Screens(PlayingScreen(client))

    def foot() -> set[str]:
        return {offer.words for offer in offers(app)}

    async with app.run_test() as pilot:
        await until(pilot, lambda: "Next" in foot() and not {"Take", "Cancel", "Send program"} & foot())
        await pilot.press("c")
        await until(pilot, lambda: {"Take", "Cancel"} <= foot() and "Choose" not in foot())
        client.readable.set()


class Stirs(Unread):
    """A client that says when it stands otherwise, and counts how often it is looked at."""

    def __init__(self, bench) -> None:
        super().__init__(bench)
        self.looks, self.stir = 0, None
        self.picture, self.on_stir = self._counted, self._keep
        self.readable.set()

    def _keep(self, call) -> bool:
        self.stir = call
        return True

    def _counted(self):
        self.looks += 1
        return self._show.picture()


@driven
async def test_a_show_that_stands_still_is_looked_at_now_and_then_and_at_once_when_it_moves(bench, until) -> None:
    client = Stirs(bench)
    app = Screens(PlayingScreen(client, bench.plan))
    async with app.run_test() as pilot:
        await until(pilot, lambda: client.stir is not None)
        await until(pilot, lambda: monotonic() - app.screen._moved_s > STILL_AFTER_S + 1 / STILL_PER_S)
        before = client.looks
        await pilot.pause(1.5)
        assert client.looks - before < 1.5 * FRAMES_PER_S / 2
        bench.client.ask("next")
        client.stir()
        await until(pilot, lambda: app.screen._picture.state.phase == "song")
        assert monotonic() - app.screen._moved_s < STILL_AFTER_S


class ToldLate(Unread):
    """A client to whom the show says nothing the first few times it is asked, as while it is still being reached."""

    def __init__(self, bench, silent: int) -> None:
        super().__init__(bench)
        self._silent, self.close = silent, self.readable.set

    def sight(self) -> Sight | None:
        self._silent -= 1
        return super().sight() if self._silent < 0 else None


def zones_shown(app: Screens) -> dict[str, tuple[int, int, int, int]]:
    """Where each zone stands that is to be seen."""
    return {zone.id: tuple(zone.region) for zone in app.screen.query("#head, #do, Rulers, #after") if zone.region}


@pytest.mark.parametrize("silent", [0, 5], ids=["sight first", "size first"])
@driven
async def test_every_zone_has_its_rows_whichever_is_there_first(bench, until, silent) -> None:
    client, usual = ToldLate(bench, silent), Screens(PlayingScreen(bench.client, bench.plan))
    async with usual.run_test() as pilot:
        await pilot.pause()
        wanted = zones_shown(usual)
    app = Screens(PlayingScreen(client))
    async with app.run_test() as pilot:
        await until(pilot, lambda: app.screen.seen is not None)
        await pilot.pause()
        assert set(wanted) == {"head", "do", "rulers", "after"}
        assert zones_shown(app) == wanted
        client.readable.set()


@driven
async def test_opened_fifty_times_from_shows_it_is_never_blank(bench, until, tmp_path, monkeypatch) -> None:
    opened = itertools.count()
    monkeypatch.setattr(Shelf, "plays", lambda *_: "real")
    monkeypatch.setattr("showrunner.tui.beginning.join", lambda *_, **__: ToldLate(bench, next(opened) % 4))
    app = Screens(ShowsScreen(demo_shelf(tmp_path / "book", show="pellmarsh-hall")))
    async with app.run_test() as pilot:
        shows, wanted = app.screen, None
        for number in range(50):
            await pilot.press("p")
            await until(pilot, lambda: app.screen is not shows and app.screen.seen is not None)
            await pilot.pause()
            wanted = wanted or zones_shown(app)
            assert zones_shown(app) == wanted, f"opening {number + 1}"
            await pilot.press("q")
            await until(pilot, lambda: app.screen is shows)
    assert next(opened) == 50
