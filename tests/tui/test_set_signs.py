"""The set's notes as signs of their own, and proposals that hold nothing to be taken."""

from pathlib import Path

import pytest
from driving import demo_shelf, driven, offers
from textual.widgets import DataTable

from showrunner.planning import exchange
from showrunner.tui.app import Screens, place
from showrunner.tui.palette import Actions
from showrunner.tui.shelf import Shelf

FIELD = "brackwater-field"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=FIELD)


def titles(app: Screens) -> list[str]:
    table = app.screen.query_one(DataTable)
    column = [str(each.label) for each in table.ordered_columns].index("Song")
    return [str(table.get_row_at(row)[column]) for row in range(table.row_count)]


@driven
async def test_pinned_optional_changed_and_played_with_a_stand_in_have_a_sign_each(shelf: Shelf) -> None:
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        said = titles(app)
        assert "Saltmarsh Signal ⊥" in said
        assert "Marram ◌≠" in said
        assert "Low Lantern ⇄" in said
        assert not any("*" in title for title in said)
        told = [entry.title for entry in Actions(app.screen)._entries()]
        for sign, name in (("⊥", "pinned"), ("◌", "optional"), ("≠", "tonight"), ("⇄", "Stand-ins")):
            assert any(sign in title and name in title for title in told)


@driven
async def test_where_no_swap_helps_no_key_is_left_to_take_it(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exchange, "best_exchanges", lambda *_: ())
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(200, 50)) as pilot:
        await pilot.press("w")
        await app.workers.wait_for_complete()
        await pilot.pause()
        below = str(app.screen.query_one(".detail").content)
        assert below == "no exchange of two songs takes less time between them"
        await pilot.pause()
        assert not {"y", "x"} & {offer.shown for offer in offers(app)}


@driven
@pytest.mark.parametrize(
    ("name", "does"),
    [("shows", "Open"), ("set", "Open the song"), ("songs", "Open"), ("soundcheck", "Play the show from here")],
)
async def test_what_enter_does_stands_at_the_foot_and_among_the_keys(shelf: Shelf, name: str, does: str) -> None:
    app = Screens(place(name)(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        await pilot.pause()
        assert ("enter" in {offer.key for offer in offers(app)}) == (name != "set")
        assert does in [
            entry.title for entry in Actions(app.screen)._entries() if entry.key == app.get_key_display(_enter(app))
        ]


def _enter(app: Screens):
    return app.screen.active_bindings["enter"].binding
