"""Where the parts of a TOML text begin and end, for changing one of them and leaving the others alone."""

import re
from itertools import pairwise

from showrunner.book.locate import Mark, Scan
from showrunner.model.keys import KeyPath

_COMMENT_LINE = re.compile(r"[ \t]*#")


class Layout:
    """A text with its marks; offsets count characters from its start."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.marks = Scan(text).marks
        self.headers = [mark for mark in self.marks if mark.is_header]
        self.line_end = "\r\n" if "\r\n" in text else "\n"

    def value(self, path: KeyPath) -> Mark | None:
        """What writes the value at a path in one piece; None for tables with headers or dotted keys."""
        return next((mark for mark in self.marks if mark.path == path and not mark.is_header), None)

    def header(self, path: KeyPath) -> Mark | None:
        """The header of exactly this table or item."""
        return next((mark for mark in self.headers if mark.path == path), None)

    def headers_under(self, path: KeyPath) -> list[Mark]:
        """The headers of a table or list and of everything in it."""
        return [mark for mark in self.headers if mark.path[: len(path)] == path]

    def items(self, path: KeyPath) -> list[Mark]:
        """The `[[headers]]` of a list of tables."""
        return [mark for mark in self.headers if mark.kind == "item" and mark.path[:-1] == path]

    def inside(self, holder: Mark) -> list[Mark]:
        """The elements of a list or the pairs of a table in braces."""
        return [
            mark
            for mark in self.marks
            if mark.inline and mark.outer == holder.path and holder.value < mark.start < holder.end
        ]

    def statements_under(self, path: KeyPath) -> list[Mark]:
        """Lines `key = value` that write something at or below a path."""
        plain = (mark for mark in self.marks if not mark.is_header and not mark.inline)
        return [mark for mark in plain if mark.path[: len(path)] == path]

    def line(self, mark: Mark) -> tuple[int, int]:
        """Start and end of the whole lines that a statement or header takes."""
        end = self.text.find("\n", mark.end)
        return self.text.rfind("\n", 0, mark.start) + 1, len(self.text) if end < 0 else end + 1

    def block(self, header: Mark) -> tuple[int, int]:
        """Start and end of a header with all that stands under it, and the comment lines right above it."""
        later = [mark for mark in self.headers if mark.start > header.start]
        return self._block_start(header), self._block_start(later[0]) if later else len(self.text)

    def run(self, headers: list[Mark]) -> list[tuple[int, int]]:
        """Start and end of each of these headers' blocks, neighbours joined."""
        spans: list[tuple[int, int]] = []
        for start, end in map(self.block, headers):
            if spans and spans[-1][1] == start:
                spans[-1] = (spans[-1][0], end)
            else:
                spans.append((start, end))
        return spans

    def _block_start(self, header: Mark) -> int:
        start = at = self.line(header)[0]
        while at > 0:
            above = self.text.rfind("\n", 0, at - 1) + 1
            if not _COMMENT_LINE.match(self.text, above):
                return start if any(self.line(mark)[0] == above for mark in self.headers) else at
            at = above
        return 0


def spans_between(spans: list[tuple[int, int]], length: int) -> list[tuple[int, int]]:
    """What is left of a text of this length without the spans, which are in order and don't overlap."""
    edges = [(0, 0), *spans, (length, length)]
    return [(end, start) for (_, end), (start, _) in pairwise(edges)]
