"""Files that can't be read: shown where a player looks for them, with all that is wrong and the ways to mend it."""

from contextlib import nullcontext
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from textual.widgets import DataTable, Input, Static

from showrunner.tui.app import Screens, place
from showrunner.tui.screens.asked import LineScreen, PickScreen
from showrunner.tui.screens.mending import MendingScreen
from showrunner.tui.shelf import Shelf
from showrunner.tui.unread import unread_of

SHOW, SONG = "pellmarsh-hall", "low-lantern"
KINDS = {"songs": ("song", SONG, "Low Lantern"), "shows": ("show", SHOW, "Pellmarsh Hall, December")}


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return demo_shelf(tmp_path / "book", show=SHOW, song=SONG, without=("takes",))


def file_of(shelf: Shelf, kind: str, slug: str) -> Path:
    return shelf.root / f"{kind}s" / f"{slug}.toml"


def broken(file: Path, *lines: str) -> str:
    """Put lines that won't do at the end of a file; what it said before."""
    text = file.read_text()
    file.write_text(text.rstrip() + "\n" + "\n".join(lines) + "\n")
    return text


def row(app: Screens, slug: str) -> list[str]:
    return [str(cell) for cell in app.screen.query_one(DataTable).get_row(slug)]


def at_cursor(app: Screens) -> str | None:
    table = app.screen.query_one(DataTable)
    return table.coordinate_to_cell_key(table.cursor_coordinate).row_key.value


def words(app: Screens, part: str) -> str:
    return str(app.screen.query_one(part, Static).content)


def said(app: Screens) -> str:
    return " ".join(notification.message for notification in app._notifications)


def test_a_title_that_can_not_be_read_gives_way_to_the_files_name(shelf: Shelf) -> None:
    file_of(shelf, "song", SONG).write_text(f"title = {'[' * 5000}\n")
    found = unread_of(Shelf(shelf.root).reading, "song", SONG)
    assert found is not None
    assert found.title == SONG


@pytest.mark.parametrize("name", KINDS)
@driven
async def test_it_stays_in_the_list_with_all_that_is_wrong_and_the_cursor_on_it(shelf: Shelf, until, name: str) -> None:
    kind, slug, title = KINDS[name]
    file = file_of(shelf, kind, slug)
    app = Screens(place(name)(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        good, at = row(app, slug), app.screen.query_one(DataTable).cursor_row
        assert (good[0], at_cursor(app)) == (title, slug)
        text = broken(file, "[oops]", "tempo = 1")
        lines = len(file.read_text().splitlines())
        await until(pilot, lambda: any("can't be read" in cell for cell in row(app, slug)))
        assert row(app, slug)[0] == title
        assert f"line {lines - 1}" in " ".join(row(app, slug))
        assert (at_cursor(app), app.screen.query_one(DataTable).cursor_row) == (slug, at)
        await until(pilot, lambda: f"line {lines - 1}: oops" in words(app, ".detail"))
        assert "ctrl+e opens it" in words(app, ".detail")
        file.write_text(text)
        await until(pilot, lambda: not any("can't be read" in cell for cell in row(app, slug)))
        await until(pilot, lambda: row(app, slug) == good)
        assert at_cursor(app) == slug


@pytest.mark.parametrize("name", KINDS)
@driven
async def test_what_can_not_be_done_with_it_is_said(shelf: Shelf, name: str) -> None:
    kind, slug, _ = KINDS[name]
    file_of(shelf, kind, slug).write_text("title = \n")
    shelf.refresh()
    app = Screens(place(name)(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        assert row(app, slug)[0] == slug
        for key in ("c", "m", "enter", *(("p", "t", "w", "x") if name == "shows" else ())):
            app.clear_notifications()
            await pilot.press(key)
            await pilot.pause()
            assert f"{kind}s/{slug}.toml can't be read: line 1" in said(app), key
            assert app.screen.place == name, key


@pytest.mark.parametrize("name", KINDS)
@driven
async def test_an_editor_opens_it_and_what_it_mends_is_an_ordinary_row_again(shelf: Shelf, monkeypatch, name) -> None:
    kind, slug, title = KINDS[name]
    broken(file_of(shelf, kind, slug), "oops")
    shelf.refresh()
    monkeypatch.setenv("VISUAL", "sed -i '/^oops/d'")
    app = Screens(place(name)(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        monkeypatch.setattr(app, "suspend", nullcontext)
        await pilot.press("ctrl+e")
        await pilot.pause()
        assert not shelf.reading.problems
        assert (row(app, slug)[0], at_cursor(app)) == (title, slug)
        await pilot.press("c")
        assert isinstance(app.screen, LineScreen)
        assert app.screen.query_one(Input).value == title


@driven
async def test_songs_that_can_not_be_read_are_found_and_are_the_worst_findings(shelf: Shelf) -> None:
    broken(file_of(shelf, "song", SONG), "oops")
    shelf.refresh()
    shelf.findings()
    app = Screens(place("songs")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        table = app.screen.query_one(DataTable)
        await pilot.press("s", "s")
        assert str(table.get_row_at(0)[0]) == "Low Lantern"
        await pilot.press("slash", *"be read")
        assert [key.value for key in table.rows] == [SONG]


@pytest.mark.parametrize(
    ("name", "kind", "slug", "head"),
    [
        ("song", "song", SONG, "#head"),
        ("set", "show", SHOW, "#clock"),
        ("soundcheck", "show", SHOW, "#tonight"),
        ("soundcheck", "rig", "full", "#tonight"),
        ("rig", "rig", "full", "#head"),
        ("lists", "checklist", "load-in", "#list"),
        ("after", "show", SHOW, "#night"),
    ],
)
@driven
async def test_a_screen_whose_document_breaks_says_so_and_goes_on_once_it_is_mended(
    shelf: Shelf, until, name: str, kind: str, slug: str, head: str
) -> None:
    file = file_of(shelf, kind, slug)
    app = Screens(place(name)(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await until(pilot, lambda: words(app, head) and not words(app, head).endswith("…"))
        title, _, _ = words(app, head).partition(" · ")
        text = broken(file, "[oops]")
        await until(pilot, lambda: f"{kind}s/{slug}.toml can't be read" in words(app, head))
        shown = " ".join(str(part.content) for part in app.screen.query(Static))
        assert "ctrl+e opens it" in shown
        assert "oops" in shown
        file.write_text(text)
        await until(pilot, lambda: title in words(app, head) and "can't be read" not in words(app, head))


@driven
async def test_a_rig_that_can_not_be_read_is_chosen_among_the_others(shelf: Shelf) -> None:
    rigs = shelf.reading.slugs("rig")
    broken(file_of(shelf, "rig", rigs[-1]), "oops")
    shelf.refresh()
    title = unread_of(shelf.reading, "rig", rigs[-1]).title
    app = Screens(place("shows")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("w")
        await pilot.pause()
        app.screen.query_one(DataTable).move_cursor(row=2)
        await pilot.press("enter")
        assert isinstance(app.screen, PickScreen)
        assert app.screen._things[rigs[-1]] == f"{title} (can't be read)"
        await pilot.press("escape", "escape", "6")
        heads = set()
        for _ in rigs:
            await pilot.press("o")
            heads.add(words(app, "#head"))
        assert any(f"rigs/{rigs[-1]}.toml can't be read" in head for head in heads)


@driven
async def test_checklists_that_can_not_be_read_are_gone_through_with_the_others(shelf: Shelf) -> None:
    slugs = list(shelf.book.shows[SHOW].checklists)
    broken(file_of(shelf, "checklist", slugs[1]), "oops")
    shelf.refresh()
    app = Screens(place("lists")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("l")
        assert f"checklists/{slugs[1]}.toml can't be read" in words(app, "#list")
        await pilot.press("space", "n", "b", "t")
        await pilot.press("l")
        assert "can't be read" not in words(app, "#list")


@pytest.mark.parametrize("goes", [True, False])
@pytest.mark.parametrize(("kind", "slug"), [("venue", "pellmarsh-hall"), ("rig", "full"), ("song", SONG)])
@driven
async def test_what_a_night_would_be_filed_in_breaks_or_goes_while_that_is_asked(
    shelf: Shelf, until, kind: str, slug: str, goes: bool
) -> None:
    app = Screens(place("after")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await until(pilot, lambda: app.screen._nights is not None)
        await pilot.press("c")
        await pilot.pause()
        file = file_of(shelf, kind, slug)
        file.unlink() if goes else file.write_text("title = \n")
        shelf.refresh()
        await pilot.press("a", "y")
        await pilot.pause()
        assert f"{kind}s/{slug}.toml can't be read" in said(app)
        assert app.screen.place == "after"
        assert not list(shelf.root.glob("runs/*/*.closed.json"))


@driven
async def test_all_that_is_to_be_mended_is_listed_and_mended_one_by_one(shelf: Shelf, monkeypatch) -> None:
    broken(file_of(shelf, "song", SONG), "oops")
    broken(file_of(shelf, "venue", "pellmarsh-hall"), "oops", "[worse]")
    broken(file_of(shelf, "show", SHOW), "oops")
    shelf.refresh()
    count = len(shelf.reading.problems)
    monkeypatch.setenv("VISUAL", "sed -i '/^oops/d;/^.worse/d'")
    app = Screens(place("set")(shelf))
    async with app.run_test(size=(80, 24)) as pilot:
        monkeypatch.setattr(app, "suspend", nullcontext)
        assert f"{count} to mend (!)" in words(app, "#where")
        await pilot.press("exclamation_mark")
        await pilot.pause()
        assert isinstance(app.screen, MendingScreen)
        for left in range(count, 0, -1):
            assert app.screen.query_one(DataTable).row_count == left
            assert str(shelf.reading.problems[0]) == words(app, "#hint")
            await pilot.press("enter")
            await pilot.pause()
        assert app.screen.place == "set"
        assert "nothing is left to mend" in said(app)
        await pilot.press("exclamation_mark")
        assert app.screen.place == "set"


@pytest.mark.parametrize(
    ("kind", "slug", "lands"),
    [("song", SONG, "songs"), ("show", SHOW, "shows"), ("rig", "full", "rig"), ("checklist", "load-in", "lists")],
)
@driven
async def test_from_a_problem_one_goes_to_what_it_is_in(shelf: Shelf, kind: str, slug: str, lands: str) -> None:
    broken(file_of(shelf, kind, slug), "oops")
    shelf.refresh()
    shelf.show = shelf.show if kind == "show" else "brackwater-field"
    for name in (lands, "after"):
        app = Screens(place(name)(shelf))
        async with app.run_test(size=(120, 36)) as pilot:
            await pilot.press("exclamation_mark")
            await pilot.pause()
            await pilot.press("g")
            await pilot.pause()
            assert app.screen.place == lands
            assert app.screen.at_hand() == (kind, slug)


@driven
async def test_a_document_that_can_be_read_is_gone_to_where_it_is_shown(shelf: Shelf) -> None:
    file = file_of(shelf, "show", "brackwater-field")
    file.write_text(file.read_text().replace('"eel-road"', '"eel-rode"'))
    shelf.refresh()
    assert not shelf.reading.unread
    app = Screens(place("songs")(shelf))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("exclamation_mark")
        await pilot.pause()
        await pilot.press("g")
        await pilot.pause()
        assert (app.screen.place, shelf.show) == ("set", "brackwater-field")
