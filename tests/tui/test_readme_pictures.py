"""The pictures in the README are of the screens as they are."""

import asyncio
import re
from pathlib import Path

import pytest
from pictures import FOLDER, SHOWN, drawn

README = Path(__file__).parents[2] / "README.md"


@pytest.mark.parametrize("name", SHOWN)
def test_a_picture_in_the_readme_is_current(name: str) -> None:
    kept = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert kept == asyncio.run(drawn(name)), "draw them anew: python tests/pictures.py"


def test_the_readme_shows_every_picture_with_words_for_who_cannot_see_it() -> None:
    shown = re.findall(r"!\[([^\]]+)\]\(\.pictures/([\w-]+)\.svg\)", README.read_text(encoding="utf-8"))
    assert {name for _, name in shown} == set(SHOWN)
    assert {file.stem for file in FOLDER.iterdir()} == set(SHOWN)
