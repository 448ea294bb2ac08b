"""Where in a TOML 1.0 text each key path stands: a scanner for places only, run when there is one to find."""

import re
import tomllib
from bisect import bisect_left
from dataclasses import dataclass
from typing import Literal

from showrunner.model.keys import KeyPath

_BLANK = re.compile(r"[ \t]*")
_BETWEEN = re.compile(r"(?:[ \t\r\n\ufeff]|#[^\n]*)*")
_SEPARATORS = re.compile(r"(?:[ \t\r\n,]|#[^\n]*)*")
_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
_SCALAR = re.compile(
    r'''"""(?:[^"\\]|\\.|"(?!""))*"{3,5}'''
    r"""|'''(?:[^']|'(?!''))*'{3,5}"""
    r'''|"(?:[^"\\\n]|\\.)*"'''
    r"""|'[^'\n]*'"""
    r"""|[^,\]}#\r\n]+""",
    re.DOTALL,
)

_PIECE = re.compile(
    r"""#[^\n]*"""
    r"""|\"""(?:[^"\\]|\\.|"(?!""))*"{3,5}|\""".*"""
    r"""|'''(?:[^']|'(?!''))*'{3,5}|'''.*"""
    rf"""|((?:{_KEY.pattern})(?:[ \t]*\.[ \t]*(?:{_KEY.pattern}))*)"""
    r"""|["'][^\n]*""",
    re.DOTALL,
)
"""What is apart from all around it: a comment, a text of several lines, a dotted key or a plain value.

What does not close is one piece to the end, so that no text is gone through twice.
"""


@dataclass(slots=True)
class Mark:
    """One header, statement or element of a list or inline table; offsets count characters from the text's start.

    `start` is where its key or header begins, `value` to `end` its value (for a header: its brackets).
    `outer` is the path of the header it stands under, or of the list or inline table it stands in.
    """

    path: KeyPath
    kind: Literal["table", "item", "key", "element"]
    start: int
    value: int
    end: int
    outer: KeyPath
    inline: bool = False

    @property
    def is_header(self) -> bool:
        """Whether it is `[table]` or an item `[[of a list]]`."""
        return self.kind in ("table", "item")


class Scan:
    """The marks of a text in order; where the text is not TOML it ends early, it never raises."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.marks: list[Mark] = []
        self.counts: dict[KeyPath, int] = {}
        self._at = 0
        self._section: KeyPath = ()
        self._run()

    def _run(self) -> None:
        text = self.text
        while True:
            self._skip(_BETWEEN)
            before = self._at
            if self._peek() == "[":
                self._header(is_item=text.startswith("[[", self._at))
            elif self._peek():
                self._pair(self._section, inline=False)
            if self._at == before:
                return

    def _header(self, *, is_item: bool) -> None:
        start = self._at
        self._at += 2 if is_item else 1
        keys = self._keys()
        path: KeyPath = ()
        for number, key in enumerate(keys, 1):
            path = (*path, key)
            if is_item and number == len(keys):
                self.counts[path] = self.counts.get(path, 0) + 1
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        self._skip(_BLANK)
        while self._peek() == "]":
            self._at += 1
        self._section = path
        self.marks.append(Mark(path, "item" if is_item else "table", start, start, self._at, ()))

    def _pair(self, outer: KeyPath, *, inline: bool) -> Mark:
        start = self._at
        path = (*outer, *self._keys())
        self._skip(_BLANK)
        if self._peek() == "=":
            self._at += 1
        self._skip(_BLANK)
        mark = Mark(path, "key", start, self._at, self._at, outer, inline)
        self.marks.append(mark)
        if not inline:
            self._value(mark)
        return mark

    def _value(self, mark: Mark) -> None:
        """Marks what a value holds, and where it and everything in it ends; no recursion, however deep it nests."""
        open_marks: list[tuple[Mark, int | None]] = []
        while True:
            opening = self._peek()
            if opening in ("[", "{"):
                self._at += 1
                open_marks.append((mark, 0 if opening == "[" else None))
            else:
                scalar = _SCALAR.match(self.text, self._at)
                self._at = self._at if scalar is None else scalar.end()
                mark.end = self._at - (len(scalar[0]) - len(scalar[0].rstrip(" \t")) if scalar else 0)
            while open_marks:
                self._skip(_SEPARATORS)
                if self._peek() not in ("]", "}"):
                    break
                self._at += 1
                open_marks.pop()[0].end = self._at
            if not open_marks or not self._peek():
                return
            holder, number = open_marks[-1]
            before = self._at
            if number is None:
                mark = self._pair(holder.path, inline=True)
            else:
                open_marks[-1] = (holder, number + 1)
                mark = Mark((*holder.path, number), "element", before, before, before, holder.path, True)
                self.marks.append(mark)
            if mark.value == before and number is None:
                return

    def _keys(self) -> list[str]:
        keys: list[str] = []
        while True:
            self._skip(_BLANK)
            match = _KEY.match(self.text, self._at)
            if match is None:
                return keys
            keys.append(_plain(match[0]))
            self._at = match.end()
            self._skip(_BLANK)
            if self._peek() != ".":
                return keys
            self._at += 1

    def _peek(self) -> str:
        return self.text[self._at : self._at + 1]

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self._at)
        self._at = self._at if match is None else match.end()


def deep_key(text: str, most: int) -> int | None:
    """Line of the first dotted key with more than so many parts; None without one."""
    for piece in _PIECE.finditer(text):
        key = piece[1]
        if key is not None and key.count(".") >= most and len(_KEY.findall(key)) > most:
            return text.count("\n", 0, piece.start()) + 1
    return None


class Lines:
    """Line numbers of key paths, counted from 1."""

    def __init__(self, text: str) -> None:
        ends = [match.start() for match in re.finditer("\n", text)]
        self._lines: dict[KeyPath, int] = {}
        for mark in Scan(text).marks:
            line = bisect_left(ends, mark.start) + 1
            for length in range(len(mark.outer) + 1 if not mark.is_header else 1, len(mark.path)):
                self._lines.setdefault(mark.path[:length], line)
            if mark.kind == "table":
                self._lines[mark.path] = line
            else:
                self._lines.setdefault(mark.path, line)

    def of(self, key: KeyPath) -> int:
        """The line a key is written on; of the nearest table around it where it is left out; 1 for the document."""
        for length in range(len(key), 0, -1):
            line = self._lines.get(key[:length])
            if line is not None:
                return line
        return 1


def _plain(key: str) -> str:
    if key[0] == "'":
        return key[1:-1]
    if key[0] != '"':
        return key
    if "\\" not in key:
        return key[1:-1]
    try:
        return str(tomllib.loads(f"k = {key}")["k"])
    except tomllib.TOMLDecodeError:
        return key
