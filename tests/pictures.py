"""Pictures of the screens for the README, of the same scenes that the tests look at: `python tests/pictures.py`.

Each is the terminal's own drawing as Textual exports it, without the web font that it would load and the frame's dots.
"""

import asyncio
import re
from pathlib import Path

from scenes import SCENES
from stage import shown

FOLDER = Path(__file__).parent.parent / ".pictures"
SIZE = (100, 30)
SHOWN = ("song-playing", "changeover", "set", "rehearsing", "after", "song")
"""Scenes that the README shows."""
_FONT = re.compile(r"@font-face \{.*?\}\s*", re.DOTALL)
_DOTS = re.compile(r"<g transform=\"translate\(26,22\)\">.*?</g>", re.DOTALL)
_NUMBER = re.compile(r"terminal-\d+")


async def drawn(name: str) -> str:
    """A scene as SVG, the same each time."""
    async with shown(SCENES[name], SIZE) as pilot:
        svg = pilot.app.export_screenshot(title="Showrunner")
    plain = _DOTS.sub("", _FONT.sub("", _NUMBER.sub("t", svg)))
    lines = plain.replace("Fira Code", "monospace").splitlines()
    return "\n".join(line.strip() for line in lines if line.strip()) + "\n"


def pictures() -> dict[str, str]:
    """Every picture by its file's name."""
    return {f"{name}.svg": asyncio.run(drawn(name)) for name in SHOWN}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for file, svg in pictures().items():
        (FOLDER / file).write_text(svg, encoding="utf-8")
