"""The language of text, Markdown and HTML templates, whole:

    $name  ${name}      what the data say under a name, a list with semicolons; $$ is a dollar
    ${name:24}          the same, filled up with spaces to 24 columns; ${name:>5} with the spaces in front
    %each songs         the lines up to %end for each item of a list; names of the item go before those around it,
                        and an item that is plain text is called $item
    %if capo            the lines up to %else or %end, if there is something; %if not capo, if there is nothing
    %? capo: $capo      a line that is left out if every name in it has nothing to say
    %include look.css   another file of the same folders as it is; one with the template's own ending is read as one
    %# remark           a remark; a line that is to begin with one % begins with two

A line of a text sheet that is too long goes on in the next, under the beginning of its last name.
What is put in is never read as template, and is escaped for the format it goes into.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from showrunner.sheets.errors import SheetError

_FIELD = re.compile(r"\$(?:(\$)|([A-Za-z_]\w*)|\{([A-Za-z_]\w*)(?::(>?)(\d{1,3}))?\})")
_WORD = re.compile(r"%([a-z]+|\?|#|%)(.*)")
_NAME = re.compile(r"(not\s+)?([A-Za-z_]\w*)")


DEEPEST = 30
"""How many %each, %if and %include may stand inside each other."""


class Field(NamedTuple):
    """A name to be put in, padded to `columns`."""

    name: str
    right: bool
    columns: int


class Line(NamedTuple):
    """A line of text and fields; one with `maybe` is left out where every field is empty."""

    number: int
    parts: tuple[str | Field, ...]
    maybe: bool


class Each(NamedTuple):
    """Lines for each item of a list."""

    number: int
    name: str
    body: "Body"


class If(NamedTuple):
    """Lines where a name says something, or others where not."""

    number: int
    name: str
    negated: bool
    body: "Body"
    otherwise: "Body"


class Template(NamedTuple):
    """A template read from a file; inside another, what that one includes."""

    path: Path
    body: "Body"


Node = Line | Each | If | Template
Body = tuple[Node, ...]
Source = tuple[Path, str]
"""A file of the templates' folders, and its text."""


def parse(path: Path, text: str, include: Callable[[str], Source], depth: int = 0) -> Template:
    """A template's tree; SheetError with file and line for what isn't one."""
    reader = _Reader(path, text.removesuffix("\n").split("\n"), include, depth)
    body, ended_by = reader.body(())
    if ended_by:
        raise reader.wrong(f"%{ended_by} without %each or %if before it", "take the line out")
    return Template(path, body)


class _Reader:
    def __init__(self, path: Path, lines: Sequence[str], include: Callable[[str], Source], depth: int) -> None:
        self.path, self.lines, self.include, self.depth = path, lines, include, depth
        self.number = 0

    def wrong(self, what: str, mend: str, number: int | None = None) -> SheetError:
        return SheetError(what, mend, self.path, self.number if number is None else number)

    def body(self, ends: tuple[str, ...]) -> tuple[Body, str]:
        """Nodes up to one of `ends` or the end of the file, and which it was."""
        nodes: list[Node] = []
        while self.number < len(self.lines):
            line = self.lines[self.number].rstrip("\r")
            self.number += 1
            match = _WORD.match(line)
            word, rest = (match[1], match[2].strip()) if match else ("", "")
            if word in ("end", "else"):
                if ends and word not in ends:
                    raise self.wrong("%else belongs to %if", "take it out, or write %if in place of %each")
                return tuple(nodes), word
            nodes.extend(self._node(word, rest, line))
        return tuple(nodes), ""

    def _node(self, word: str, rest: str, line: str) -> Iterator[Node]:
        number = self.number
        if word == "each":
            name, _ = self._name(rest, negated=False)
            yield Each(number, name, self._until_end("each", number, ("end",))[0])
        elif word == "if":
            name, negated = self._name(rest, negated=True)
            body, ended_by = self._until_end("if", number, ("else", "end"))
            otherwise = self._until_end("if", number, ("end",))[0] if ended_by == "else" else ()
            yield If(number, name, negated, body, otherwise)
        elif word == "include":
            yield self._included(number, rest)
        elif word == "?":
            yield Line(number, tuple(self._parts(line[2:].removeprefix(" "))), True)
        elif word == "%":
            yield Line(number, tuple(self._parts(line[1:])), False)
        elif word == "":
            yield Line(number, tuple(self._parts(line)), False)
        elif word != "#":
            raise self.wrong(f"%{word} is no word of a template", "write %each, %if, %else, %end, %include, %? or %#")

    def _included(self, number: int, name: str) -> Template:
        try:
            path, text = self.include(name)
        except SheetError as error:
            if error.file is not None:
                raise
            raise self.wrong(error.what, error.mend) from error
        if path.suffix == self.path.suffix:
            self._deeper(number)
            included = parse(path, text, self.include, self.depth)
            self.depth -= 1
            return included
        return Template(path, tuple(Line(number, (line,), False) for line in text.rstrip("\n").split("\n")))

    def _deeper(self, number: int) -> None:
        self.depth += 1
        if self.depth > DEEPEST:
            raise self.wrong(f"more than {DEEPEST} %each, %if and %include inside each other", "take some out", number)

    def _until_end(self, word: str, number: int, ends: tuple[str, ...]) -> tuple[Body, str]:
        self._deeper(number)
        body, ended_by = self.body(ends)
        self.depth -= 1
        if not ended_by:
            raise self.wrong(f"%{word} has no %end", "add a line %end where it ends", number)
        return body, ended_by

    def _name(self, rest: str, *, negated: bool) -> tuple[str, bool]:
        match = _NAME.fullmatch(rest)
        if match is None or (match[1] and not negated):
            raise self.wrong(f'"{rest}" is not a name', "name one thing of the data, as in %each songs or %if capo")
        return match[2], bool(match[1])

    def _parts(self, text: str) -> Iterator[str | Field]:
        at = 0
        while (dollar := text.find("$", at)) >= 0:
            yield text[at:dollar]
            match = _FIELD.match(text, dollar)
            if match is None:
                raise self.wrong(f'"{text[dollar : dollar + 12]}" is not a field', "write $name, ${name:20} or $$")
            dollars, bare, braced, right, columns = match.groups()
            yield "$" if dollars else Field(bare or braced, bool(right), int(columns or 0))
            at = match.end()
        yield text[at:]
