"""Text set in big type: from two metres a letter has to be several rows high."""

import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from showrunner.live.seen import Wordings
from showrunner.tui.widgets.glyphs import GLYPHS

_STRETCH = (0, 1, 1, 2, 3, 3, 4)
"""Which of a glyph's five rows make the seven of a tall letter."""
_BLOCKS = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
_HALVES = {block: "".join(".#"[half] for half in halves) for halves, block in _BLOCKS.items()}
_LIKE = {"♭": "b", "♯": "#", "–": "-", "—": "-", "’": "'", "×": "X", "_": " "}


class Size(NamedTuple):
    """A size of letters: dots high, whether a dot is a whole row and two columns or half a row and one."""

    dots: int
    whole: bool

    @property
    def rows(self) -> int:
        """Rows of the screen it takes."""
        return self.dots if self.whole else (self.dots + 1) // 2

    @property
    def letter_rows(self) -> float:
        """Height of a letter in rows."""
        return float(self.dots) if self.whole else self.dots / 2


SIZES = (Size(7, True), Size(5, True), Size(7, False), Size(5, False))
"""Largest first; below them only the terminal's own letters are left."""


BETWEEN = "  "
"""What separates items on one line."""
OWN_LETTER_ROWS = 0.6
"""Height of the terminal's own capitals in rows; from memory, fonts differ a little."""
NOTHING_TO_READ = 99.0
"""Letter height where there are no letters: it is never the smallest."""


class Set(NamedTuple):
    """Text as it is set: its lines, the height of its letters in rows, and whether all of it is there."""

    lines: tuple[str, ...]
    letter_rows: float
    whole: bool


def can_set(text: str) -> bool:
    """Whether every letter of the text is drawn."""
    return all(glyph in GLYPHS for glyph in _spelled(text))


@lru_cache(512)
def width_of(text: str, size: Size) -> int:
    """Columns the text takes in a size."""
    dots = sum(len(GLYPHS[glyph][0]) + 1 for glyph in _spelled(text) if glyph in GLYPHS)
    return max(0, dots - 1) * (2 if size.whole else 1)


@lru_cache(512)
def set_in(text: str, size: Size) -> tuple[str, ...]:
    """The text's lines of block characters in a size; letters that aren't drawn are left out."""
    glyphs = [GLYPHS[glyph] for glyph in _spelled(text) if glyph in GLYPHS]
    rows = range(5) if size.dots == 5 else _STRETCH
    dots = [".".join(glyph[row] for glyph in glyphs) for row in rows]
    if size.whole:
        return tuple(line.replace(".", "  ").replace("#", "██") for line in dots)
    dots += ["." * len(dots[0])] * (len(dots) % 2)
    return tuple(map(_joined, dots[::2], dots[1::2]))


def lowered(lines: Sequence[str], rows: int) -> list[str]:
    """Lines of blocks set down as far as they go in so many rows, by half a row where only that is free."""
    room = [""] * (rows - len(lines))
    halves = [half for line in lines for half in zip(*(_HALVES.get(block, "##") for block in line), strict=True)]
    if not halves or len(halves) != 2 * len(lines) or "#" in halves[-1]:
        return [*room, *lines]
    shifted = ["." * len(lines[0]), *("".join(half) for half in halves[:-1])]
    return [*room, *map(_joined, shifted[::2], shifted[1::2])]


def _joined(above: str, below: str) -> str:
    """A line of blocks of its upper and its lower dots."""
    return "".join(_BLOCKS[upper == "#", lower == "#"] for upper, lower in zip(above, below, strict=True))


def typeset(items: Sequence[Wordings], width: int, rows: int) -> Set:
    """Items in the largest size in which all of them fit, side by side and line under line.

    In each size fuller wordings are tried before shorter ones. Where no size holds them all, the smallest holds the
    first ones and says how many are left out. Letters that aren't drawn, or fewer than three rows, leave only the
    terminal's own letters.
    """
    return _typeset(tuple(items), width, rows)


@lru_cache(256)
def _typeset(items: tuple[Wordings, ...], width: int, rows: int) -> Set:
    said = [item for item in items if any(item)]
    if not said:
        return Set((), NOTHING_TO_READ, True)
    if rows < SIZES[-1].rows or not all(can_set(wording) for item in said for wording in item):
        return _plain(said, width, rows)
    for size in SIZES:
        for brevity in range(max(map(len, said))):
            lines = pack([item[min(brevity, len(item) - 1) :] for item in said], width, size)
            if len(lines) <= _lines_in(rows, size) and all(width_of(line, size) <= width for line in lines):
                return _set(lines, size, whole=True)
    return _cut([item[-1:] for item in said], width, rows)


def pack(items: Sequence[Wordings], width: int, size: Size) -> list[str]:
    """Lines of items, as many to a line as fit, each in its fullest wording that fits a line at all."""
    lines: list[str] = []
    for item in items:
        wording = next((wording for wording in item if width_of(wording, size) <= width), item[-1])
        if lines and width_of(lines[-1] + BETWEEN + wording, size) <= width:
            lines[-1] += BETWEEN + wording
        else:
            lines.append(wording)
    return lines


def _cut(items: Sequence[Wordings], width: int, rows: int) -> Set:
    size = SIZES[-1]
    room = _lines_in(rows, size)
    for there in range(len(items), 0, -1):
        left_out = [(f"+{len(items) - there}",)] if there < len(items) else []
        lines = pack([*items[:there], *left_out], width, size)
        if len(lines) <= room and all(width_of(line, size) <= width for line in lines):
            return _set(lines, size, whole=False)
    rest = f"{BETWEEN}+{len(items) - 1}" if len(items) > 1 else ""
    first = _shortened(items[0][-1], width - width_of(rest, size), size)
    return _set([first + rest] if width_of(first + rest, size) <= width else [], size, whole=False)


def _set(lines: Sequence[str], size: Size, *, whole: bool) -> Set:
    gap = ("",) if size.whole else ()
    drawn = [row for index, line in enumerate(lines) for row in (*(gap if index else ()), *set_in(line, size))]
    return Set(tuple(drawn), size.letter_rows, whole)


def _plain(items: Sequence[Wordings], width: int, rows: int) -> Set:
    text = BETWEEN.join(item[0] for item in items)
    lines = [text[start : start + width] for start in range(0, len(text), max(1, width))]
    return Set(tuple(lines[:rows]), OWN_LETTER_ROWS, len(lines) <= rows)


def _lines_in(rows: int, size: Size) -> int:
    gap = 1 if size.whole else 0
    return (rows + gap) // (size.rows + gap)


def _shortened(line: str, width: int, size: Size) -> str:
    if width_of(line, size) <= width:
        return line
    while line and width_of(line + "…", size) > width:
        line = line[:-1]
    return line.rstrip() + "…"


def _spelled(text: str) -> list[str]:
    """The text's glyphs: accents left off, small letters as capitals where only those are drawn."""
    plain = "".join(char for char in unicodedata.normalize("NFKD", text) if not unicodedata.combining(char))
    return [_LIKE.get(char, char if char in GLYPHS else char.upper()) for char in plain.replace("...", "…")]
