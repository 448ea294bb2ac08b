"""What a row does along a control's travel, with values: for a ruler on paper, and in words."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from showrunner.curves.ruler import Way, ruler, spans
from showrunner.curves.shapes import Row, row_in
from showrunner.model.song import Curve
from showrunner.sheets.words import number, with_unit

RULER_WIDTH = 40
"""Characters of a ruler in a text sheet."""

STEPS = 80
"""Steps of travel in which a row is drawn."""


class Stretch(NamedTuple):
    """A stretch of travel, %, over which a target goes one way, with its values at both ends; a jump has no length."""

    way: Way
    start: float
    end: float
    start_value: float
    end_value: float


def stretches(curve: Curve, target: str) -> tuple[Stretch, ...]:
    """A row's stretches from heel to toe."""
    return tuple(_stretches(curve, target))


def strip(curve: Curve, target: str) -> str:
    """The row's ruler as characters."""
    return ruler(spans(curve, target), RULER_WIDTH)


def line(row: Row) -> str:
    """The row as points `x,y` for a drawing 100 wide and 10 high: x is travel, y 0 its highest value, 10 its lowest."""
    values = [row(100 * step / STEPS) for step in range(STEPS + 1)]
    low, high = min(values), max(values)
    heights = [10 * (high - value) / (high - low) if high > low else 5.0 for value in values]
    return " ".join(f"{number(100 * step / STEPS)},{number(height)}" for step, height in enumerate(heights))


def said(along: Sequence[Stretch], unit: str) -> str:
    """A row's stretches in words, `rests at 3 dB up to 50 %, rises to 12 dB`."""
    return ", ".join(_in_words(stretch, unit, first=stretch is along[0]) for stretch in along)


def _stretches(curve: Curve, target: str) -> Iterator[Stretch]:
    row = row_in(curve, target)
    value = row(0)
    for span in spans(curve, target):
        end_value = value if span.way == "rests" else row(span.end)
        yield Stretch(span.way, span.start, span.end, value, end_value)
        value = end_value


def _in_words(stretch: Stretch, unit: str, *, first: bool) -> str:
    to, end = with_unit(stretch.end_value, unit), stretch.end
    if stretch.way == "rests":
        return f"rests at {to}" + (f" up to {number(end)} %" if end < 100 else "")
    if stretch.start == stretch.end:
        return f"jumps {'up' if stretch.way == 'rises' else 'down'} to {to} at {number(end)} %"
    began = f" from {with_unit(stretch.start_value, unit)}" if first else ""
    return f"{stretch.way}{began} to {to}" + (f" at {number(end)} %" if end < 100 else "")
