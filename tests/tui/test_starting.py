"""A show begun from the list of shows: what it will be played with is said first, and nothing happens unasked."""

from pathlib import Path

import pytest
from driving import demo_shelf, driven, offers
from left import leave
from textual.widgets import DataTable, Static

from showrunner.live.folder import STATE, run_folder
from showrunner.live.launch import Way
from showrunner.live.local import LocalShow
from showrunner.live.night import Night, night_of
from showrunner.model.cautions import LOUDER, REAL_PORTS
from showrunner.state.values import State
from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.playing import PlayingScreen
from showrunner.tui.screens.shows import ShowsScreen
from showrunner.tui.screens.starting import BeginScreen
from showrunner.tui.shelf import Shelf

SHOW, OTHER = "pellmarsh-hall", "oxcote-theatre"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW)


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[Night]:
    """The nights that are begun or joined, each in this process."""
    nights: list[Night] = []

    def attach(_folder: Path, night: Night, **_: bool) -> LocalShow:
        nights.append(night)
        return LocalShow(night.script(), night=night)

    monkeypatch.setattr("showrunner.tui.beginning.attach", attach)
    return nights


@pytest.fixture
def plays(monkeypatch: pytest.MonkeyPatch) -> dict[str, Way]:
    """How shows are being played, by their slug."""
    ways: dict[str, Way] = {}

    def way_played(folder: Path) -> Way | None:
        return next((way for slug, way in ways.items() if folder.name.startswith(slug[:24])), None)

    monkeypatch.setattr("showrunner.live.launch.way_played", way_played)
    monkeypatch.setattr(Shelf, "end", lambda _, show: ways.pop(show))
    return ways


def words(app: Screens) -> str:
    return " ".join(" ".join(str(each.content) for each in app.screen.query(Static)).split())


async def until_up(app: Screens, pilot, until, screen: type) -> None:
    await until(pilot, lambda: isinstance(app.screen, screen))
    await pilot.pause()


@driven
async def test_before_a_show_is_begun_its_trims_and_the_caution_are_said(shelf: Shelf, until, begun) -> None:
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("p")
        await until_up(app, pilot, until, BeginScreen)
        said = words(app)
        assert "Play Pellmarsh Hall, December? on Full rig, in Pellmarsh Hall" in said
        assert "full house: not counted; f counts it, +1.5 dB on the volume" in said
        assert "Saltmarsh Signal 29.0 dB -10.0 dB" in said
        assert REAL_PORTS in said
        assert LOUDER not in said
        await pilot.press("x")
        await until_up(app, pilot, until, ShowsScreen)
        assert begun == []
        await pilot.press("p", "y")
        await until_up(app, pilot, until, PlayingScreen)
        assert [(night.simulated, night.full_house) for night in begun] == [(False, False)]


@pytest.mark.parametrize(("key", "simulated"), [("p", False), ("t", True)])
@driven
async def test_a_full_house_is_chosen_where_a_show_is_begun(
    shelf: Shelf, until, begun, key: str, simulated: bool
) -> None:
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press(key, "f")
        said = words(app)
        assert "full house: counted, +1.5 dB on the volume; f leaves it out" in said
        assert "Saltmarsh Signal 29.0 dB -8.5 dB" in said
        assert (LOUDER in said, REAL_PORTS in said) == (not simulated, not simulated)
        assert ("SIMULATED: nothing is sent to any port" in said) == simulated
        await pilot.press("y")
        await until_up(app, pilot, until, PlayingScreen)
        (night,) = begun
        assert (night.simulated, night.full_house) == (simulated, True)
        levels = night.script().levels("saltmarsh-signal")
        assert (levels.input_gain.set_db, levels.interface_volume.set_db) == (29.0, -8.5)


@driven
async def test_a_room_without_a_trim_for_it_offers_no_full_house(shelf: Shelf) -> None:
    shelf.show = "brackwater-field"
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("p")
        assert "full house: the room has no trim for it" in words(app)
        assert [offer.words for offer in offers(app)] == ["Play it", "Leave it"]


@driven
async def test_a_run_that_broke_off_goes_on_with_the_trims_it_was_begun_with(shelf: Shelf) -> None:
    folder = run_folder(shelf.root, SHOW)
    night = night_of(shelf.book, SHOW, "full", full_house=True)
    leave(folder, night, State(night.script().order, trims=(("interface volume", -2.0),)))
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("p", "f")
        said = words(app)
        assert "it broke off at " in said
        assert "full house: counted, +1.5 dB on the volume " in said
        assert "Saltmarsh Signal 29.0 dB -11.0 dB" in said  # 0.5 dB for tonight were moved to -2
        assert [offer.words for offer in offers(app)] == ["Play it", "Leave it"]
        await pilot.press("x", "t")
        said = words(app)
        assert "there is the run on Full rig that broke off at " in said
        assert "it was played on real ports" in said
        assert [offer.words for offer in offers(app)] == ["Begin anew", "Resume that run", "Full house", "Leave it"]


@pytest.mark.parametrize(("key", "simulated", "kept"), [("y", True, False), ("r", False, True)])
@driven
async def test_a_run_that_is_not_what_is_asked_for_is_gone_on_with_or_given_up_as_the_player_says(
    shelf: Shelf, until, begun, key: str, simulated: bool, kept: bool
) -> None:
    folder = run_folder(shelf.root, SHOW)
    night = night_of(shelf.book, SHOW, "full")
    leave(folder, night, State(night.script().order, place=2))
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("t")
        assert "before Heron Clock" in words(app)
        assert "r goes on with it as it was begun; beginning anew gives it up" in words(app)
        await pilot.press(key)
        await until_up(app, pilot, until, PlayingScreen)
        assert [night.simulated for night in begun] == [simulated]
        assert (folder / STATE).exists() == kept


@driven
async def test_a_show_that_plays_is_not_tried_before_that_is_answered(shelf: Shelf, until, begun, plays) -> None:
    plays[SHOW] = "real"
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("t")
        await until_up(app, pilot, until, ProposalScreen)
        assert "Pellmarsh Hall, December is being played on real ports" in words(app)
        await pilot.press("x")
        await until_up(app, pilot, until, ShowsScreen)
        assert begun == []
        await pilot.press("t", "y")
        await until_up(app, pilot, until, PlayingScreen)
        assert [night.simulated for night in begun] == [False]
        assert plays == {SHOW: "real"}


@driven
async def test_a_show_that_is_tried_is_not_played_before_that_is_answered(shelf: Shelf, until, begun, plays) -> None:
    plays[SHOW] = "simulated"
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("p")
        await until_up(app, pilot, until, ProposalScreen)
        assert "Pellmarsh Hall, December is being played SIMULATED, without hardware" in words(app)
        await pilot.press("x", "p", "y")
        await until_up(app, pilot, until, BeginScreen)
        assert (plays, begun) == ({}, [])
        await pilot.press("y")
        await until_up(app, pilot, until, PlayingScreen)
        assert [night.simulated for night in begun] == [False]


@driven
async def test_a_show_is_tried_beside_another_that_plays_once_that_is_said(shelf: Shelf, begun, plays) -> None:
    plays[OTHER] = "real"
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("t")
        assert "Oxcote, two halves is being played on real ports, and plays on" in words(app)
        assert begun == []


@driven
async def test_the_list_says_of_a_show_how_it_is_played(shelf: Shelf, until, plays) -> None:
    plays.update({SHOW: "simulated", OTHER: "real"})
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        table = app.screen.query_one(DataTable)
        date = [str(column.label) for column in table.columns.values()].index("Date")
        await until(pilot, lambda: table.get_row(SHOW)[date] == "SIMULATED")
        assert table.get_row(OTHER)[date] == "playing"
        assert "being played SIMULATED, without hardware: t joins it, x ends it" in words(app)
