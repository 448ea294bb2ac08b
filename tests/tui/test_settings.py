"""The user's settings file: what it sets, and that nothing in it stops the screens."""

from pathlib import Path

import pytest

from showrunner.tui.settings import Settings, read_settings


def settings_of(tmp_path: Path, text: str) -> Settings:
    file = tmp_path / "settings.toml"
    file.write_text(text)
    return read_settings(file)


def test_without_a_file_the_usual_ones_hold(tmp_path: Path) -> None:
    assert read_settings(tmp_path / "settings.toml") == Settings()


def test_distance_screen_theme_and_keys_are_read(tmp_path: Path) -> None:
    text = '[screen]\ndistance_m = 3\ndiagonal_in = 13.3\ntheme = "contrast"\n[keys]\n"playing.next" = "f5"\n'
    assert settings_of(tmp_path, text) == Settings(3.0, 13.3, "contrast", {"playing.next": "f5"})


@pytest.mark.parametrize(
    "text",
    ["[screen", "screen = 3", "[screen]\ndistance_m = 'far'", "[screen]\ndistance_m = -1", "[screen]\ntheme = 4"],
)
def test_what_is_wrong_is_said_and_the_usual_holds(tmp_path: Path, text: str) -> None:
    told = settings_of(tmp_path, text)
    assert told.problems
    assert (told.distance_m, told.theme) == (2.0, "stage")
