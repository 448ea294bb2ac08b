"""What commands print: JSON with exact numbers, and plain text that fits the terminal and needs no colour."""

import json
import math
import shutil
import sys
import textwrap
import threading
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

import click

from showrunner.model.cells import cells
from showrunner.model.visible import shown, visible_line

PIPED_WIDTH = 80
NARROWEST = 40
PATIENCE_S = 1.0


def width() -> int:
    """Columns to write in: the terminal's, 80 where there is none."""
    return max(NARROWEST, shutil.get_terminal_size((PIPED_WIDTH, 24)).columns)


def print_json(data: Mapping[str, Any]) -> None:
    """Writes one JSON document; infinities and not-a-numbers become null."""
    click.echo(json.dumps(_plain(data), indent=2, allow_nan=False))


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(name): _plain(inner) for name, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner) for inner in value]
    return value


def print_lines(lines: Iterable[str]) -> None:
    """Writes text, a line each."""
    for line in lines:
        click.echo(visible_line(line))


def steer(text: str) -> None:
    """Writes to standard error, if that is a terminal, what moves its cursor: a string of the program's own."""
    stream: Any = shown(sys.stderr)
    stream.steer(text)


def caution(text: str) -> None:
    """Writes a caution to standard error, so that it is read and JSON stays clean."""
    for line in paragraph(text):
        click.echo(line, err=True)


def paragraph(text: str, indent: int = 0, hang: int | None = None) -> Iterator[str]:
    """The text broken at the terminal's width; `hang` is the indent of the lines after the first."""
    later = " " * (indent if hang is None else hang)
    yield from textwrap.wrap(
        text, width(), initial_indent=" " * indent, subsequent_indent=later, break_on_hyphens=False
    ) or [""]


def columns(rows: Sequence[Sequence[str]], indent: int = 2, right: Iterable[int] = ()) -> Iterator[str]:
    """Rows of cells as aligned columns, those numbered in `right` flush right; the last is broken to fit."""
    if not rows:
        return
    count = max(len(row) for row in rows)
    wide = [max(cells(row[i]) if i < len(row) else 0 for row in rows) for i in range(count)]
    flush_right = frozenset(right)
    for row in rows:
        start = " " * indent
        for i, cell in enumerate(row[: count - 1]):
            pad = " " * (wide[i] - cells(cell))
            start += (pad + cell if i in flush_right else cell + pad) + "  "
        last = row[count - 1] if len(row) == count else ""
        if count - 1 in flush_right:
            yield start + " " * (wide[-1] - cells(last)) + last
            continue
        pieces = textwrap.wrap(last, max(width() - len(start), NARROWEST // 4), break_on_hyphens=False) or [""]
        yield (start + pieces[0]).rstrip()
        yield from (" " * len(start) + piece for piece in pieces[1:])


def plural(count: int, word: str, many: str | None = None) -> str:
    """`1 song`, `3 songs`."""
    return f"{count} {word if count == 1 else many or word + 's'}"


def number(value: float) -> str:
    """A value as a person writes it: at most four decimals, none that say nothing."""
    return f"{round(value, 4) + 0.0:g}" if abs(value) < 1e6 else f"{value:g}"


@contextmanager
def working(on: str) -> Iterator[None]:
    """Says on standard error, if that is a terminal, what is being worked on once it has taken a second."""
    if not sys.stderr.isatty():
        yield
        return
    said = threading.Event()

    def say() -> None:
        said.set()
        click.echo(f"{on} …", err=True, nl=False)

    timer = threading.Timer(PATIENCE_S, say)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        timer.join()
        if said.is_set():
            steer("\r" + " " * (len(on) + 2) + "\r")
