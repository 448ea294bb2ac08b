"""All rows of one control over its travel, drawn in braille dots, with the ruler of what moves where under them."""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from showrunner.curves.ruler import Span, cell_of, ruler, scale, spans
from showrunner.curves.shapes import Row, columns, row_in
from showrunner.model.cells import cells, fit
from showrunner.model.rig import Target
from showrunner.model.song import Curve

DASHES = ("1", "1110", "10", "111010", "1100", "100")
"""Which dots of a line are there, over and over along the travel, so that rows differ without colour."""

_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
_BLANK = 0x2800


class _Line(NamedTuple):
    """One row as it is drawn: height 0 is its target's range's low end, 1 its high end."""

    figure: str
    dashes: str
    name: str
    unit: str
    row: Row
    low: float
    high: float
    log: bool
    columns: tuple[float, ...]
    spans: tuple[Span, ...]
    holds: bool

    def height(self, travel: float) -> float:
        value, low, high = min(max(self.row(travel), self.low), self.high), self.low, self.high
        if self.log:
            value, low, high = (math.copysign(math.log(abs(end)), end) for end in (value, low, high))
        return (value - low) / (high - low) if high > low else 0.5


def plot(
    curve: Curve, targets: Mapping[str, Target], width: int = 80, height: int = 12, stands: float | None = None
) -> list[str]:
    """Lines of text, `width` characters at the most: `height` of plot, then the ruler, a line for each target.

    Each row is drawn in its target's range, or its own where the rig lacks the target; a log target's in octaves.
    A figure, its row counted from 1, marks it at heel, toe and columns. `stands` is the control's travel, %, if known.
    """
    lines = [_line(index, name, curve, targets.get(name)) for index, name in enumerate(curve.moves)]
    at = sorted({column for line in lines for column in line.columns})
    left, heels, toes = _labels(lines, width)
    before, after, room = _margins(left, heels, toes, width)
    drawn = _draw(lines, room, height, before, after)
    edge = " " * (before - 5) + "heel " + scale(at, room, stands) + " toe"
    strip = [
        f"{label}{heel:>{before - cells(label) - 1}} {_with_values(line, room, stands)}{toe}"
        for label, heel, line, toe in zip(left, heels, lines, toes, strict=True)
    ]
    return [text.rstrip() for text in (*drawn, edge, _numbers(at, room, before), *strip)]


def travel_at(curve: Curve, targets: Mapping[str, Target], width: int, cell: int) -> float:
    """The travel, %, that a character of the plot's lines stands for, counted from 0; heel and toe beyond the ends."""
    lines = [_line(index, name, curve, targets.get(name)) for index, name in enumerate(curve.moves)]
    before, _, room = _margins(*_labels(lines, width), width)
    return min(100.0, max(0.0, (cell - before) / (room - 1) * 100))


def _labels(lines: Sequence["_Line"], width: int) -> tuple[list[str], list[str], list[str]]:
    """What stands left of each row, and its values at heel and toe."""
    figures = len(str(len(lines)))
    left = [f"{line.figure:<{figures}} {fit(line.name, _name_room(lines, width))} " for line in lines]
    return left, [f"{line.row(0):g}" for line in lines], [f" {line.row(100):g} {line.unit}".rstrip() for line in lines]


def _margins(left: Sequence[str], heels: Sequence[str], toes: Sequence[str], width: int) -> tuple[int, int, int]:
    """Characters before the rows, after them, and between."""
    before, after = cells(left[0]) + max(map(len, heels)) + 1 if left else 6, max([6, *map(cells, toes)])
    return before, after, max(width - before - after, 10)


def _line(index: int, name: str, curve: Curve, target: Target | None) -> _Line:
    values = curve.moves[name].values
    ends = (min(values), max(values)) if target is None else (min(target.range), max(target.range))
    return _Line(
        figure=str(index + 1),
        dashes=DASHES[index % len(DASHES)],
        name=name,
        unit="" if target is None else target.unit,
        row=row_in(curve, name),
        low=ends[0],
        high=ends[1],
        log=target is not None and target.law == "log",
        columns=columns(curve, name),
        spans=spans(curve, name),
        holds=curve.moves[name].shape == "step",
    )


def _name_room(lines: Sequence[_Line], width: int) -> int:
    return min(max(cells(line.name) for line in lines), max(6, width // 4))


def _draw(lines: Sequence[_Line], room: int, height: int, before: int, after: int) -> list[str]:
    """The plot: `height` lines of `room` characters, with figures in the margins."""
    dots = [[0] * room for _ in range(height)]
    figures: dict[tuple[int, int], str] = {}
    for line in lines:
        ys = [_dot(line.height(x / (2 * room - 1) * 100), height) for x in range(2 * room)]
        for x, (y, next_y) in enumerate(zip(ys, [*ys[1:], ys[-1]], strict=True)):
            if line.dashes[x % len(line.dashes)] == "1":
                for between in range(min(y, next_y + (next_y < y)), max(y, next_y - (next_y > y)) + 1):
                    dots[between // 4][x // 2] |= _DOTS[between % 4][x % 2]
        for column in line.columns:
            if 0 < column < 100:
                y, x = _dot(line.height(column), height) // 4, cell_of(column, room)
                at = [(y, x + place) for place in range(len(line.figure))]
                if not any(place in figures for place in at):
                    figures.update(zip(at, line.figure, strict=True))
    text = []
    for y, bits in enumerate(dots):
        middle = "".join(figures.get((y, x)) or (chr(_BLANK + bit) if bit else " ") for x, bit in enumerate(bits))
        heel, toe = ([line.figure for line in lines if _dot(line.height(end), height) // 4 == y] for end in (0, 100))
        side = "high" if y == 0 else "low" if y == height - 1 else ""
        at_heel = _joined(heel, before - 1)
        if len(side) + len(at_heel) >= before:
            side = ""
        text.append(f"{side:<{before - 1 - len(at_heel)}}{at_heel} {middle} {_joined(toe, after - 1)}")
    return text


def _joined(figures: Sequence[str], room: int) -> str:
    """Figures with commas between, as many as there is room for; … stands for the rest."""
    text = ",".join(figures)
    while len(text) > room:
        figures = figures[:-1]
        text = ",".join([*figures, "…"])
    return text


def _dot(height: float, lines: int) -> int:
    return round((1 - height) * (4 * lines - 1))


def _with_values(line: _Line, room: int, stands: float | None) -> str:
    """The ruler with the values at its columns written in, where there is room beside the signs."""
    text = ruler(line.spans, room, stands)
    free = 1
    for column, after in zip(line.columns, [*line.columns[1:], 100.0], strict=True):
        value = f"{line.row(column):g}"
        start = cell_of(column, room) + 1 if line.holds else cell_of(column, room) - len(value) // 2
        end = start + len(value)
        kept = stands is None or not start <= cell_of(stands, room) < end
        if 0 < column < 100 and start > free and end < cell_of(after, room) and kept:
            text, free = text[:start] + value + text[end:], end + 1
    return text


def _numbers(at: Sequence[float], room: int, before: int) -> str:
    """The travel of each column under its tick, left out where two would touch."""
    text = ""
    for travel in sorted({0.0, 100.0, *at}, key=lambda travel: (travel not in (0, 100), travel)):
        number = f"{travel:g}"
        start = before + cell_of(travel, room) - (len(number) - 1) // 2
        if not text[max(0, start - 1) : start + len(number) + 1].strip():
            text = text.ljust(start + len(number))
            text = text[:start] + number + text[start + len(number) :]
    return text
