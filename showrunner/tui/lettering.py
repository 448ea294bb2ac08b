"""Text set in big type: from two metres a letter has to be several rows high."""

import os
import unicodedata
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from showrunner.live.seen import Wordings
from showrunner.tui.widgets.glyphs import GLYPHS

_STRETCH = (0, 1, 1, 2, 3, 3, 4)
"""Which of a glyph's five rows make the seven of a tall letter."""
_QUARTERS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
"""A cell's four quarters: 1 for the upper left, 2 upper right, 4 lower left, 8 lower right."""
_BLOCKS = {"".join(".#"[each >> bit & 1] for bit in range(4)): block for each, block in enumerate(_QUARTERS)}
_LIKE = {"♭": "b", "♯": "#", "–": "-", "—": "-", "’": "'", "×": "X", "_": " "}
TURNED = str.maketrans(_QUARTERS, _QUARTERS[::-1])
"""Each block with the quarters that it leaves free."""


class Size(NamedTuple):
    """A size of letters: dots high, and half columns to a dot, which is half as many half rows high.

    A narrow letter's dot is half a column and half a row.
    """

    dots: int
    across: int

    @property
    def rows(self) -> int:
        """Rows of the screen it takes."""
        return self.dots if self.large else (self.dots + 1) // 2

    @property
    def letter_rows(self) -> float:
        """Height of a letter in rows."""
        return float(self.dots) if self.large else self.dots / 2

    @property
    def large(self) -> bool:
        """Whether a dot is a whole row high; lines of such letters need a row between them."""
        return self.across == LARGE


NARROW, MEDIUM, LARGE = 1, 2, 4
SIZES = tuple(
    size
    for size in (Size(7, LARGE), Size(5, LARGE), Size(7, MEDIUM), Size(7, NARROW), Size(5, MEDIUM), Size(5, NARROW))
    if size.across != NARROW or os.environ.get("TERM") != "linux"
)
"""Largest first; below them only the terminal's own letters are left. The Linux console's fonts have no quarters."""


HANGING = "  "
"""What a line begins with that goes on with the item above it."""
OWN_LETTER_ROWS = 0.6
"""Height of the terminal's own capitals in rows; from memory, fonts differ a little."""
NOTHING_TO_READ = 99.0
"""Letter height where there are no letters: it is never the smallest."""


class Set(NamedTuple):
    """Text as it is set: its lines, the height of its smallest letters in rows, and each item that is there whole.

    `whole` is whether that is all of them, `size` the size they all stand in, None for the terminal's own letters.
    """

    lines: tuple[str, ...] = ()
    letter_rows: float = NOTHING_TO_READ
    said: tuple[str, ...] = ()
    whole: bool = True
    size: Size | None = None

    @property
    def width(self) -> int:
        """Columns of its longest line."""
        return max(map(len, self.lines), default=0)


NOTHING = Set()


def can_set(text: str) -> bool:
    """Whether every letter of the text is drawn."""
    return all(glyph in GLYPHS for glyph in _spelled(text))


@lru_cache(512)
def width_of(text: str, size: Size) -> int:
    """Columns the text takes in a size."""
    dots = sum(len(GLYPHS[glyph][0]) + 1 for glyph in _spelled(text) if glyph in GLYPHS)
    return (max(0, dots - 1) * size.across + 1) // 2


@lru_cache(512)
def set_in(text: str, size: Size) -> tuple[str, ...]:
    """The text's lines of block characters in a size; letters that aren't drawn are left out."""
    glyphs = [GLYPHS[glyph] for glyph in _spelled(text) if glyph in GLYPHS]
    rows = range(5) if size.dots == 5 else _STRETCH
    halves = [
        "".join(dot * size.across for dot in ".".join(glyph[row] for glyph in glyphs))
        for row in rows
        for _ in range(2 if size.large else 1)
    ]
    return _joined(halves)


def lowered(lines: Sequence[str], rows: int) -> list[str]:
    """Lines of blocks set down as far as they go in so many rows, by half a row where only that is free."""
    room = [""] * (rows - len(lines))
    halves = [half for line in lines for half in _parted(line)]
    if not halves or "#" in halves[-1]:
        return [*room, *lines]
    return [*room, *_joined(["." * len(halves[0]), *halves[:-1]])]


def _joined(halves: Sequence[str]) -> tuple[str, ...]:
    """Lines of blocks of half rows, two to a line, each a string of half columns."""
    columns = max(map(len, halves)) + max(map(len, halves)) % 2
    padded = [half.ljust(columns, ".") for half in (*halves, *("." for _ in range(len(halves) % 2)))]
    return tuple(
        "".join(_BLOCKS[above[at : at + 2] + below[at : at + 2]] for at in range(0, columns, 2))
        for above, below in zip(padded[::2], padded[1::2], strict=True)
    )


def _parted(line: str) -> tuple[str, str]:
    """The upper and the lower half row of a line of blocks."""
    bits = [_QUARTERS.index(block) for block in line]
    above, below = ("".join(".#"[bool(each & bit)] for each in bits for bit in pair) for pair in ((1, 2), (4, 8)))
    return above, below


def typeset(
    items: Sequence[Wordings], width: int, rows: int, least_rows: float = 0.0, sizes: Sequence[Size] = SIZES
) -> Set:
    """Items in the largest letters in which all of them fit, each on a line of its own.

    Smaller letters come before shorter wordings, as long as they are `least_rows` high; in each, one line to an item
    comes before more. What fits in no size stands in the terminal's own letters, the last items first; where not even
    those have room the last line says how many are left out.
    """
    return _typeset(tuple(items), width, rows, least_rows, tuple(sizes))


@lru_cache(512)
def _typeset(items: tuple[Wordings, ...], width: int, rows: int, least_rows: float, sizes: tuple[Size, ...]) -> Set:
    said = [item for item in items if any(item)]
    if not said:
        return NOTHING
    if width < 1 or rows < 1:
        return Set((), OWN_LETTER_ROWS, whole=False)
    ways = [[item[min(brevity, len(item) - 1)] for item in said] for brevity in range(max(map(len, said)))]
    drawn = all(can_set(text) for way in ways for text in way)
    legible = [size for size in sizes if size.letter_rows >= least_rows]
    for allowed in (legible, [size for size in sizes if size not in legible]) if drawn else ():
        for way in ways:
            for wraps in (False, True):
                for size in allowed:
                    lines = _lines_of(way, width, size, wraps=wraps)
                    if lines is not None and len(lines) <= (rows + size.large) // (size.rows + size.large):
                        return Set(_drawn(lines, size), size.letter_rows, tuple(way), size=size)
    return _in_own(ways, width, rows, sizes if drawn else ())


def _lines_of(texts: Sequence[str], width: int, size: Size, *, wraps: bool) -> list[str] | None:
    """The lines of some texts in a size; None where one is too wide."""
    lines: list[str] = []
    for text in texts:
        line = ""
        for word in text.split(" ") if wraps else [text]:
            longer = f"{line} {word}" if line else word
            if line and width_of(longer, size) > width:
                lines.append(line)
                longer = HANGING + word
            line = longer
            if width_of(line, size) > width:
                return None
        lines.append(line)
    return lines


def _drawn(lines: Sequence[str], size: Size) -> tuple[str, ...]:
    gap = [""] if size.large else []
    return tuple(row for index, line in enumerate(lines) for row in (*(gap if index else ()), *set_in(line, size)))


def _in_own(ways: Sequence[Sequence[str]], width: int, rows: int, sizes: Sequence[Size]) -> Set:
    """The first items in the smallest of the big letters, as many as leave room for the rest in the terminal's own."""
    texts = next((way for way in ways if len(_plain(way, width)) <= rows), ways[-1])
    for big in range(len(texts) - 1, 0, -1) if sizes else ():
        lines = _lines_of(texts[:big], width, sizes[-1], wraps=True)
        above = _drawn(lines, sizes[-1]) if lines is not None else ()
        rest = _plain(texts[big:], width)
        if above and len(above) + len(rest) <= rows:
            return Set((*above, *rest), OWN_LETTER_ROWS, tuple(texts))
    for there in range(len(texts), 0, -1):
        told = _counted(_plain(texts[:there], width), len(texts) - there, width)
        if len(told) <= rows:
            return Set(tuple(told), OWN_LETTER_ROWS, tuple(texts[:there]), there == len(texts))
    first = _plain(texts[:1], width)[:rows]
    return Set(tuple(first), OWN_LETTER_ROWS, (), whole=False)


def _plain(texts: Sequence[str], width: int) -> list[str]:
    """Texts in the terminal's own letters, each on lines of its own."""
    return [line for text in texts for line in _wrapped(text, width)]


def _wrapped(text: str, width: int) -> Iterator[str]:
    line, indent = "", HANGING if width > len(HANGING) else ""
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if line and len(longer) > width:
            yield line
            longer = indent + word
        while len(longer) > width:
            yield longer[:width]
            longer = indent + longer[width:]
        line = longer
    yield line


def _counted(lines: Sequence[str], left_out: int, width: int) -> list[str]:
    """Lines with how many more there would be behind the last, or below it."""
    if not left_out:
        return list(lines)
    said = f"+{left_out}" if len(f"+{left_out}") <= width else "+"[:width]
    if len(lines[-1]) + len(said) + 2 <= width:
        return [*lines[:-1], f"{lines[-1]}  {said}"]
    return [*lines, said]


def _spelled(text: str) -> list[str]:
    """The text's glyphs: accents left off, small letters as capitals where only those are drawn."""
    plain = "".join(char for char in unicodedata.normalize("NFKD", text) if not unicodedata.combining(char))
    return [_LIKE.get(char, char if char in GLYPHS else char.upper()) for char in plain.replace("...", "…")]
