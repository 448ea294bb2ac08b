"""Contrast of two colours, and of everything on a screen (WCAG 2.2)."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from rich.color import Color
from textpicture import Cell, Grid, in_sixteen
from textual.geometry import Region

TEXT, LARGE = 4.5, 3.0
"""The least for text, and for large text and for the parts of a drawing (WCAG 2.2, 1.4.3 and 1.4.11)."""
LINES = "".join(map(chr, range(0x2500, 0x2580))) + "▔▁"
"""Borders and rules between parts, which say nothing (from memory: Unicode's block Box Drawing, and two edges)."""
BLOCKS = "".join(map(chr, range(0x2580, 0x25A0)))
"""What letters several rows high are made of (from memory: Unicode's block Block Elements)."""
DRAWINGS = BLOCKS + "".join(map(chr, range(0x2800, 0x2900))) + "/\\·●◆▼▸│┃"
"""Parts of drawings: plots in braille, rulers and the signs on them."""

# fmt: off
VGA = (
    "#000000", "#aa0000", "#00aa00", "#aa5500", "#0000aa", "#aa00aa", "#00aaaa", "#aaaaaa",
    "#555555", "#ff5555", "#55ff55", "#ffff55", "#5555ff", "#ff55ff", "#55ffff", "#ffffff",
)
"""The sixteen colours of a text console (from memory: IBM's colour adapter, in the order of ECMA-48)."""
XTERM = (
    "#000000", "#cd0000", "#00cd00", "#cdcd00", "#0000ee", "#cd00cd", "#00cdcd", "#e5e5e5",
    "#7f7f7f", "#ff0000", "#00ff00", "#ffff00", "#5c5cff", "#ff00ff", "#00ffff", "#ffffff",
)
"""The sixteen colours that many terminal windows begin with (from memory)."""
# fmt: on


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    parts = [part / 255 for part in Color.parse(colour).get_truecolor()]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """(L1 + 0.05) / (L2 + 0.05), the lighter above (WCAG 2.2, definition of contrast ratio)."""
    lights = sorted((luminance(one), luminance(other)))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


class Faint(NamedTuple):
    """A run of characters that stand out too little from their ground."""

    row: int
    text: str
    ink: str
    ground: str
    has: float
    needs: float


def needed(cell: Cell) -> float:
    """The contrast that a character needs, 0 where it says nothing."""
    if not cell.text.strip() or cell.text in LINES:
        return 0
    return LARGE if cell.text in DRAWINGS else TEXT


def faint(grid: Grid, live: Sequence[Region], palette: Sequence[str] | None = None) -> Iterator[Faint]:
    """What stands out too little on the live parts of a screen, drawn in a palette's colours where one is given."""
    for number, row in enumerate(grid):
        text, last = "", None
        for column, cell in enumerate((*row, None)):
            inactive = not any(region.contains(column, number) for region in live)
            found = None if cell is None or inactive else _faint(cell, palette)
            if found != last:
                if last is not None and text.strip():
                    yield Faint(number, text.strip(), *last)
                text, last = "", found
            text += "" if cell is None else cell.text


def _faint(cell: Cell, palette: Sequence[str] | None) -> tuple[str, str, float, float] | None:
    needs = needed(cell)
    ink, ground = cell.drawn.ink, cell.drawn.ground
    if not needs or ink is None or ground is None:
        return None
    if palette is not None:
        ink, ground = palette[in_sixteen(ink)], palette[in_sixteen(ground)]
    if "reverse" in cell.drawn.marks:
        ink, ground = ground, ink
    has = contrast(ink, ground)
    return (ink, ground, round(has, 2), needs) if has < needs else None
