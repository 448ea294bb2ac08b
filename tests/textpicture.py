"""A screen as text that a person can review: its characters as they stand, and under them how each is drawn."""

from collections.abc import Mapping, Sequence
from itertools import groupby
from string import ascii_letters
from typing import NamedTuple

from rich.cells import cell_len
from rich.color import ANSI_COLOR_NAMES, Color, ColorSystem
from rich.style import Style
from textual.app import App

SIXTEEN = {number: name for name, number in reversed(ANSI_COLOR_NAMES.items()) if number < 16}
MARKS = ("bold", "dim", "italic", "underline", "reverse", "strike")


class Drawn(NamedTuple):
    """How a cell is drawn: letters and ground as `#rrggbb`, None for the terminal's own, and marks such as `bold`."""

    ink: str | None
    ground: str | None
    marks: tuple[str, ...] = ()

    def __str__(self) -> str:
        colours = f"{self.ink or 'own'} on {self.ground or 'own'}" if self.ink or self.ground else ""
        return " ".join(part for part in (colours, *self.marks) if part) or "plain"


class Cell(NamedTuple):
    """One place on the screen; the right half of a wide character has no text."""

    text: str
    drawn: Drawn


Grid = tuple[tuple[Cell, ...], ...]


def grid_of(app: App[None]) -> Grid:
    """Every cell of the screen that is up, as it goes to the terminal."""
    screen = app.screen
    update = screen._compositor.render_update(full=True, screen_stack=app._background_screens)
    return tuple(_row(strip for strip in strips) for strips in update.strips)  # type: ignore[union-attr]


def text_of(app: App[None]) -> str:
    """All text that goes to the terminal, characters that take no room among it; without what styles it."""
    update = app.screen._compositor.render_update(full=True, screen_stack=app._background_screens)
    return "".join(text for strips in update.strips for strip in strips for text, _, control in strip if not control)  # type: ignore[union-attr]


def _row(strips) -> tuple[Cell, ...]:
    cells = []
    for strip in strips:
        for text, style, control in strip:
            if control:
                continue
            drawn = drawn_by(style)
            for character in text:
                width = cell_len(character)
                cells += [Cell(character, drawn), Cell("", drawn)][:width]
    return tuple(cells)


def drawn_by(style: Style | None) -> Drawn:
    """What a style does to a cell."""
    if style is None:
        return Drawn(None, None)
    marks = tuple(mark for mark in MARKS if getattr(style, mark))
    return Drawn(_hex(style.color), _hex(style.bgcolor), marks)


def _hex(color: Color | None) -> str | None:
    return None if color is None or color.is_default else color.get_truecolor().hex


def in_sixteen(colour: str) -> int:
    """The number of the colour that a terminal of sixteen draws it in."""
    number = Color.parse(colour).downgrade(ColorSystem.STANDARD).number
    assert number is not None
    return number


def lines_of(grid: Grid) -> list[str]:
    """The characters alone."""
    return ["".join(cell.text for cell in row).rstrip() for row in grid]


def text_picture(looks: Mapping[str, Grid]) -> str:
    """The picture of a screen: the first look's characters, what others have instead, and how each look draws them."""
    names, grids = list(looks), list(looks.values())
    plain = [lines_of(grid) for grid in grids]
    lines = [f"{number:>2} {line}".rstrip() for number, line in enumerate(plain[0], 1)]
    for name, others in zip(names, plain, strict=True):
        pairs = enumerate(zip(plain[0], others, strict=True), 1)
        instead = [f"{number:>2} {other}".rstrip() for number, (line, other) in pairs if other != line]
        lines += ["", f"{name} instead:", *instead] if instead else []
    styles: dict[tuple[Drawn, ...], str] = {}
    runs = []
    for rows in zip(*grids, strict=True):
        drawn = [tuple(cell.drawn for cell in cells) for cells in zip(*rows, strict=True)]
        letters = [styles.setdefault(each, _letter(len(styles))) for each in drawn]
        runs.append(" ".join(f"{letter}{sum(1 for _ in same)}" for letter, same in groupby(letters)))
    return "\n".join([*lines, "", *_numbered(runs), "", *_legend(names, styles), ""])


def _letter(number: int) -> str:
    return ascii_letters[number] if number < len(ascii_letters) else _letter(number // 52 - 1) + _letter(number % 52)


def _numbered(runs: Sequence[str]) -> list[str]:
    """Rows that are drawn alike stand together."""
    lines = []
    for run, same in groupby(enumerate(runs, 1), key=lambda each: each[1]):
        rows = [number for number, _ in same]
        lines.append(f"{rows[0] if len(rows) == 1 else f'{rows[0]}–{rows[-1]}':>5}  {run}")
    return lines


def _legend(looks: Sequence[str], styles: Mapping[tuple[Drawn, ...], str]) -> list[str]:
    """A line for each way of drawing, a column for each look."""
    rows = [[" ", *looks], *([name, *map(_said, looks, drawn)] for drawn, name in styles.items())]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]


def _said(look: str, drawn: Drawn) -> str:
    if not look.endswith("16"):
        return str(drawn)
    ink, ground = (None if colour is None else SIXTEEN[in_sixteen(colour)] for colour in drawn[:2])
    return str(Drawn(ink, ground, drawn.marks))
