"""Nothing that a file or a log says steers the terminal from a screen."""

import asyncio
from pathlib import Path
from unittest.mock import patch

import pytest
from planted import COLOUR, RAW, TITLE, planted
from scenes import SCENES
from stage import shown
from textpicture import text_of
from textual.screen import Screen

from showrunner.tui.app import Screens

SEEN = ("shows", "set", "songs", "song", "lists", "rig", "soundcheck", "rehearse", "after", "song-playing", "trouble")


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return planted(tmp_path_factory.mktemp("planted") / "book")


@pytest.mark.parametrize("scene", SEEN)
def test_no_screen_draws_a_raw_control(scene: str, hostile: Path) -> None:
    async def seen() -> str:
        async with shown(SCENES[scene], (120, 36)) as pilot:
            return text_of(pilot.app)

    with patch("stage.demo_book", lambda: hostile):
        text = asyncio.run(seen())
    assert RAW.findall(text) == []
    assert "\ufffd" in text or "\u241b" in text


class Falls(Screen[None]):
    def on_mount(self) -> None:
        raise ValueError(f"{TITLE}{COLOUR}")


def test_an_error_that_ends_the_screens_is_written_visibly(capsys: pytest.CaptureFixture[str]) -> None:
    Screens(Falls()).run(headless=True)
    said = capsys.readouterr().err
    assert "\u241b]0;x\ufffd31m" in said.replace("\u2407", "")
    assert RAW.findall(said) == []
