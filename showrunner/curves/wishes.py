"""A table of wishes, travel across and targets down, as text; out come the rows of a curve."""

import csv
import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

_NUMBER = re.compile(r"[+-]?([0-9]{1,300}(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_COMMA_NUMBER = re.compile(r"[+-]?[0-9]+,[0-9]+")
_BLANKS = ("", "-", "–", "—")
_RULE = re.compile(r":?-{2,}:?")
_WORDS = re.compile(r'"([^"]*)"|(\S+)')
_LARGEST = 1e12
_LONGEST_NAME = 500


class WishProblem(NamedTuple):
    """What is wrong in a table of wishes, where (lines and columns of the table count from 1), and the mend."""

    line: int
    column: int | None
    what: str
    mend: str

    def __str__(self) -> str:
        place = f"line {self.line}" if self.column is None else f"line {self.line}, column {self.column}"
        return f"{place}: {self.what}; {self.mend}"


class WishesError(ValueError):
    """A table of wishes that can't be read, with every problem found in it."""

    def __init__(self, problems: Sequence[WishProblem]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = tuple(problems)


class Wish(NamedTuple):
    """One target's row: a value for each of its columns of travel, %, in the target's unit."""

    target: str
    line: int
    travel: tuple[float, ...]
    values: tuple[float, ...]


class Wishes(NamedTuple):
    """A whole table: the columns of travel, %, and a row for each target."""

    travel: tuple[float, ...]
    rows: tuple[Wish, ...]

    def moves(self) -> dict[str, list[float] | dict[str, list[float]]]:
        """The rows as a song's file has them; those with blanks get a travel of their own."""
        return {
            row.target: list(row.values)
            if row.travel == self.travel
            else {"travel": list(row.travel), "values": list(row.values)}
            for row in self.rows
        }


def read_wishes(text: str) -> Wishes:
    """The table in a text: commas, semicolons, tabs, bars or spaces between cells, blank or `-` for no value.

    The first row has the columns of travel in %, the first column the targets' names; lines that begin with # don't
    count. Between spaces a blank has to be `-`. Raises WishesError with everything that is wrong.
    """
    problems: list[WishProblem] = []
    header, *lines = list(_lines(text)) or [(1, "")]
    mark = next((mark for mark in "|\t;," if mark in header[1]), " ")
    travel = _travel(header[0], _split(header, mark, None, problems), problems)
    rows: dict[str, Wish] = {}
    for line in lines if travel else ():
        cells = _split(line, mark, len(travel), problems)
        if not cells or all(_RULE.fullmatch(cell) for cell in cells):
            continue
        row = _row(line[0], cells, travel, problems)
        if row is not None and row.target in rows:
            what = f'"{row.target}" has a row on line {rows[row.target].line} already'
            problems.append(WishProblem(line[0], 1, what, "keep one of them"))
        elif row is not None:
            rows[row.target] = row
    if not rows and not problems:
        problems.append(WishProblem(header[0], None, "no rows", "under the row of travel, write one for each target"))
    if problems:
        raise WishesError(problems)
    return Wishes(travel, tuple(rows.values()))


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """The lines that count, each with its number."""
    for number, line in enumerate(re.split(r"\r\n|\r|\n", text.removeprefix("\ufeff")), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            yield number, line


def _split(line: tuple[int, str], mark: str, count: int | None, problems: list[WishProblem]) -> list[str]:
    """A line's cells, the name first; `count` is how many values a row has, None for the first row."""
    number, text = line
    if mark == " ":
        return _split_at_spaces(number, text, count, problems)
    if mark == "|":
        text = text.strip().removeprefix("|").removesuffix("|")
    try:
        cells = [cell.strip() for cell in next(csv.reader([text], delimiter=mark), [])]
    except csv.Error as error:
        problems.append(WishProblem(number, None, f"this line can't be read: {error}", "write it anew"))
        return []
    if count is None and cells and _is_travel(cells[0]):
        return ["", *cells]
    return cells


def _split_at_spaces(number: int, text: str, count: int | None, problems: list[WishProblem]) -> list[str]:
    words = [quoted or plain for quoted, plain in _WORDS.findall(text)]
    if count is None:
        named = next((index for index, word in enumerate(words) if _is_travel(word)), len(words))
        return [" ".join(words[:named]), *(word for word in words[named:] if word != "%")]
    apart = re.split(r"\s{2,}", text.strip())
    if len(apart) == count + 1 and '"' not in text:
        return apart
    values = len(words) - 1 if text.lstrip().startswith('"') else min(count, len(words) - 1)
    if values < count:
        what = f"{_counted(values)} for {count} columns of travel"
        problems.append(WishProblem(number, None, what, "write - where the row has no value"))
        return []
    return [" ".join(words[: len(words) - values]), *words[len(words) - values :]]


def _travel(line: int, cells: Sequence[str], problems: list[WishProblem]) -> tuple[float, ...]:
    """The columns of travel in the first row; empty, and a problem, where one of them can't be used."""
    found: list[float] = []
    for column, text in enumerate(cells[1:], 2):
        travel = _number(text.removesuffix("%").rstrip())
        if travel is None or not 0 <= travel <= 100:
            what = f'"{text[:40]}" is not a travel'
            problems.append(WishProblem(line, column, what, "write a number from 0 to 100, in %"))
        elif found and travel <= found[-1]:
            what = f"travel {travel:g} comes after {found[-1]:g}"
            problems.append(WishProblem(line, column, what, "travel rises from column to column"))
        else:
            found.append(travel)
    if len(cells) < 2:
        problems.append(WishProblem(line, None, "no columns of travel", "begin with a row such as: travel, 0, 50, 100"))
    return () if problems else tuple(found)


def _row(line: int, cells: Sequence[str], travel: Sequence[float], problems: list[WishProblem]) -> Wish | None:
    """One target's row against the columns of travel; None, and problems, where it can't be used."""
    (name, *values), before = cells, len(problems)
    if not name or len(name) > _LONGEST_NAME or not name.isprintable():
        problems.append(WishProblem(line, 1, "no name of a target", "begin the row with the target's name"))
    if any(values[len(travel) :]):
        what = f"{_counted(len(values))} for {len(travel)} columns of travel"
        problems.append(WishProblem(line, len(travel) + 2, what, "take some away, or give each its travel"))
    wished: list[tuple[float, float]] = []
    for column, (at, text) in enumerate(zip(travel, values, strict=False), 2):
        value = None if text in _BLANKS else _number(text)
        if value is not None:
            wished.append((at, value))
        elif text not in _BLANKS:
            problems.append(WishProblem(line, column, f'"{text[:40]}" is not a number', _mend(text)))
    if len(problems) > before:
        return None
    if not wished:
        problems.append(WishProblem(line, None, f'"{name}" has no value', "give it one, or take the row away"))
        return None
    return Wish(name, line, tuple(at for at, _ in wished), tuple(value for _, value in wished))


def _is_travel(text: str) -> bool:
    return _number(text.removesuffix("%").rstrip()) is not None


def _number(text: str) -> float | None:
    """The number that a text is, a whole one as such; None where it is none."""
    plain = text.replace("−", "-")
    if not _NUMBER.fullmatch(plain) or abs(float(plain)) > _LARGEST:
        return None
    return int(plain) if plain.lstrip("+-").isdecimal() else float(plain)


def _counted(values: int) -> str:
    return "1 value" if values == 1 else f"{values} values"


def _mend(text: str) -> str:
    if _COMMA_NUMBER.fullmatch(text):
        return f"write {text.replace(',', '.')}, with a point"
    return "write a plain number without its unit, or leave the cell blank"
