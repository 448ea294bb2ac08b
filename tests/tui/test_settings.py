"""The user's settings file: what it sets, and that nothing in it stops the screens."""

import asyncio
from pathlib import Path

import pytest
from driving import driven
from stage import settled
from textual.widgets import Input

from showrunner.places import demo_book, settings_file
from showrunner.tui import editor
from showrunner.tui.app import Screens, named_actions, place, unknown_in, user_settings
from showrunner.tui.settings import Settings, read_settings
from showrunner.tui.settings_file import text_of
from showrunner.tui.shelf import Shelf


def settings_of(tmp_path: Path, text: str) -> Settings:
    file = tmp_path / "settings.toml"
    file.write_text(text)
    return read_settings(file)


def test_without_a_file_the_usual_ones_hold(tmp_path: Path) -> None:
    assert read_settings(tmp_path / "settings.toml") == Settings()


def test_distance_screen_theme_and_keys_are_read(tmp_path: Path) -> None:
    text = '[screen]\ndistance_m = 3\ndiagonal_in = 13.3\ntheme = "contrast"\n[keys]\n"playing.next" = "f5"\n'
    assert settings_of(tmp_path, text) == Settings(3.0, 13.3, "contrast", {"playing.next": "f5"})


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    assert settings_of(tmp_path, "\ufeff[screen]\ndistance_m = 3\n") == Settings(3.0)


@pytest.mark.parametrize(
    "text",
    [
        *("[screen", "screen = 3", "[screen]\ndistance_m = 'far'", "[screen]\ndistance_m = -1", "[screen]\ntheme = 4"),
        *(f"a = {'[' * 5000}", f"[keys]\n{'a.' * 3000}a = 'f5'"),
    ],
)
def test_what_is_wrong_is_said_and_the_usual_holds(tmp_path: Path, text: str) -> None:
    told = settings_of(tmp_path, text)
    assert told.problems
    assert (told.distance_m, told.theme) == (2.0, "stage")


def test_a_name_of_an_action_needs_no_quotes(tmp_path: Path) -> None:
    assert settings_of(tmp_path, '[keys]\nplaying.next = "f5"\n').keys == {"playing.next": "f5"}


def test_a_key_that_is_none_is_said(tmp_path: Path) -> None:
    told = settings_of(tmp_path, "[keys]\nplaying.next = 5\n")
    assert told.keys == {}
    assert told.problems[0].startswith("keys.playing.next: 5 is not a key")


def test_names_that_nothing_answers_to_are_said_with_the_nearest() -> None:
    assert unknown_in(Settings(theme="midnight", keys={"playing.nekst": "f5", "playing.back": "f6"})) == [
        'keys: no action is called "playing.nekst"; "playing.next" is',
        'screen.theme: "midnight" is none of stage, daylight, contrast',
    ]


def test_the_file_as_first_written_sets_nothing_and_names_every_action(tmp_path: Path) -> None:
    text = text_of(named_actions())
    assert settings_of(tmp_path, text) == Settings()
    assert {"playing.next", "files.new", "set.earlier", "curve.shape", "soundcheck.up"} <= set(named_actions())
    assert '"playing.next" = "right,n,space"' in text


def test_with_every_line_let_count_it_sets_what_holds_anyway(tmp_path: Path) -> None:
    lines = [line.removeprefix("# ") if "= " in line else line for line in text_of(named_actions()).splitlines()]
    told = settings_of(tmp_path, "\n".join(lines))
    assert told.problems == ()
    assert told.keys == {name: each.key for name, each in named_actions().items()}
    assert unknown_in(told) == []


def test_settings_are_edited_from_a_screen_and_count_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    seen = []

    def edits(_: object, file: Path) -> None:
        seen.append(file.read_text())
        file.write_text('[screen]\ntheme = "daylight"\ndistance_m = 3\n[keys]\nfiles.new = "f6"\nnone = "f7"\n')

    monkeypatch.setattr(editor, "edit_in", edits)

    async def driven() -> None:
        app = Screens(place("songs")(Shelf(demo_book())))
        async with app.run_test(notifications=True) as pilot:
            assert "Settings" in [each.title for each in app.get_system_commands(app.screen)]
            app.edit_settings()
            await pilot.pause()
            assert (app.theme, app.screen.settings.distance_m) == ("daylight", 3)
            assert [note.message for note in app._notifications] == ['keys: no action is called "none"']
            await pilot.press("f6")
            assert type(app.screen).__name__ == "LineScreen"

    asyncio.run(driven())
    assert seen == [text_of(named_actions())]
    assert settings_file().parent.parent == tmp_path


def test_only_the_programs_own_themes_are_offered() -> None:
    assert sorted(Screens(place("songs")(Shelf(demo_book()))).available_themes) == ["contrast", "daylight", "stage"]


async def choose(app: Screens, pilot, name: str) -> list[str]:
    """Choose a theme in the list of themes; what was said meanwhile."""
    app.search_themes()
    await pilot.pause()
    app.screen.query_one(Input).value = name
    await settled(pilot)
    await pilot.press("enter")
    await app.workers.wait_for_complete()
    await pilot.pause()
    return [note.message for note in app._notifications]


WRITTEN = """# mine
[keys]
playing.next = "f5" # by the foot

[screen]   # at home
distance_m = 3
# theme = "contrast"
"""


@pytest.mark.parametrize("written", [WRITTEN, WRITTEN + 'theme = "contrast" # for the eyes\n'])
@driven
async def test_a_theme_that_is_chosen_is_kept_and_nothing_else_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, written: str
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    settings_file().parent.mkdir()
    settings_file().write_text(written)
    app = Screens(place("songs")(Shelf(demo_book())), user_settings())
    async with app.run_test(notifications=True) as pilot:
        assert await choose(app, pilot, "daylight") == []
        assert app.theme == "daylight"
    text = settings_file().read_text()
    assert user_settings() == Settings(3.0, theme="daylight", keys={"playing.next": "f5"})
    assert [line for line in written.splitlines() if line not in text.splitlines()] in (
        [],
        ['theme = "contrast" # for the eyes'],
    )
    assert ("# for the eyes" in text) == ("# for the eyes" in written)


@driven
async def test_a_theme_is_kept_where_there_was_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    app = Screens(place("songs")(Shelf(demo_book())), user_settings())
    async with app.run_test(notifications=True) as pilot:
        assert await choose(app, pilot, "black and") == []
        assert await choose(app, pilot, "daylight") == []
    assert user_settings() == Settings(theme="daylight")
    assert set(text_of(named_actions()).splitlines()) <= set(settings_file().read_text().splitlines())


@pytest.mark.parametrize(
    ("written", "words"), [("[screen", "settings.toml"), ("screen = 3\n", "screen"), (None, "this is a folder")]
)
@driven
async def test_a_theme_that_can_not_be_kept_is_on_and_why_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, written: str | None, words: str
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    file = settings_file()
    file.parent.mkdir()
    file.mkdir() if written is None else file.write_text(written)
    app = Screens(place("songs")(Shelf(demo_book())))
    async with app.run_test(notifications=True) as pilot:
        said = await choose(app, pilot, "daylight")
        assert app.theme == "daylight"
    assert len(said) == 1
    assert said[0].startswith(f"the theme can't be kept in {file}: ")
    assert words in said[0].partition(": ")[2]
    assert written is None or file.read_text() == written
