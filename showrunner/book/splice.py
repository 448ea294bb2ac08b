"""Changes one place of a TOML text and leaves every other character as it was.

Whoever calls compares what the new text means with what was meant: some layouts can't be changed in place.
"""

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from showrunner.book import render
from showrunner.book.data import ABSENT, same, value_at
from showrunner.book.layout import Layout, spans_between
from showrunner.book.locate import Mark
from showrunner.book.relist import rearranged
from showrunner.model.keys import KeyPath, bare_or_quoted

_COMMENT_AHEAD = re.compile(r"(?P<code>[^#\"'\n\t]*[^ #\"'\n\t]|)(?P<spaces> {2,})(?=#)")
_BLANK_LINE = re.compile(r"\n[ \t\r]*\n\Z")


def replaced(text: str, key: KeyPath, before: Any, after: Any) -> str:
    """The text with another value at a key that has one; of tables and lists only what differs is touched."""
    if same(before, after):
        return text
    if isinstance(before, dict) and isinstance(after, Mapping):
        for name in before.keys() - after.keys():
            text = removed(text, (*key, name))
        for name, value in after.items():
            here = (*key, name)
            text = replaced(text, here, before[name], value) if name in before else added(text, here, value)
        return text
    if isinstance(before, list) and before and isinstance(after, Sequence) and after and not isinstance(after, str):
        return _relisted(text, key, before, after)
    mark = Layout(text).value(key)
    if mark is None or (before == [] and render.holds_tables(after)):
        return added(removed(text, key), key, after)
    return _in_place(text, mark, render.inline(after))


def removed(text: str, key: KeyPath) -> str:
    """The text without the key and all below it."""
    if isinstance(key[-1], int):
        items = value_at(tomllib.loads(text), key[:-1])
        left = [item for number, item in enumerate(items) if number != key[-1]]
        return _relisted(text, key[:-1], items, left) if left else replaced(text, key[:-1], items, [])
    layout = Layout(text)
    holder = _holder(layout, key[:-1])
    if holder is not None:
        return _without_pair(layout, holder, key)
    spans = [layout.line(mark) for mark in layout.statements_under(key)]
    blocks = layout.run(layout.headers_under(key))
    spans = sorted([span for span in spans if not any(a <= span[0] < b for a, b in blocks)] + blocks)
    kept = "".join(text[start:end] for start, end in spans_between(spans, len(text)))
    if blocks and blocks[-1][1] == len(text) and kept.strip():
        kept = kept.rstrip() + layout.line_end
    return added(kept, key[:-1], {}) if key[1:] and value_at(tomllib.loads(kept), key[:-1]) is ABSENT else kept


def added(text: str, key: KeyPath, value: Any) -> str:
    """The text with a value at a key that has none, and the tables around it where they are missing."""
    data = tomllib.loads(text)
    if isinstance(key[-1], int):
        items = value_at(data, key[:-1])
        if not items:
            return replaced(text, key[:-1], items, [value])
        return _relisted(text, key[:-1], items, [*items[: key[-1]], value, *items[key[-1] :]], at=key[-1])
    while value_at(data, key[:-1]) is ABSENT:
        key, value = key[:-1], {key[-1]: value}
    layout, parent, name = Layout(text), key[:-1], str(key[-1])
    holder = _holder(layout, parent)
    if holder is not None:
        return _with_pair(layout, holder, _dotted(key[len(holder.path) :]), value)
    dotted = [mark for mark in layout.statements_under(parent) if len(mark.outer) < len(parent) < len(mark.path)]
    if dotted and layout.header(parent) is None:
        last = dotted[-1]
        lines = render.statement(_dotted(key[len(last.outer) :]), value)
        return _with_line(layout, layout.line(last)[1], lines, last)
    if not parent and isinstance(value, Sequence) and value and all(isinstance(item, Mapping) for item in value):
        return _with_blocks(layout, len(text), list(render.items(name, value)))
    if render.wants_header(value):
        under = layout.headers_under(parent)
        at = layout.block(under[-1])[1] if under else len(text)
        return _with_blocks(layout, at, [render.section([s for s in key if isinstance(s, str)], value)])
    return _with_statement(layout, parent, name, value)


def _in_place(text: str, mark: Mark, written: str) -> str:
    """The text with another value in a mark's place; a comment further on in the line keeps its column if it can."""
    rest = text[mark.end :]
    comment = _COMMENT_AHEAD.match(rest)
    if comment is not None:
        spaces = max(1, len(comment["spaces"]) + mark.end - mark.value - len(written))
        rest = comment["code"] + " " * spaces + rest[comment.end() :]
    return text[: mark.value] + written + rest


def _with_statement(layout: Layout, parent: KeyPath, name: str, value: Any) -> str:
    lines = render.statement(bare_or_quoted(name), value)
    header = layout.header(parent)
    own = [mark for mark in layout.statements_under(parent) if mark.outer == parent]
    if own:
        return _with_line(layout, layout.line(own[-1])[1], lines, own[-1])
    if header is not None:
        return _with_line(layout, layout.line(header)[1], lines, header)
    under = layout.headers_under(parent)
    at = layout.block(under[0])[0] if under else len(layout.text)
    if parent:
        lines.insert(0, f"[{_dotted(parent)}]")
    return _with_blocks(layout, at, [lines])


def _with_line(layout: Layout, at: int, lines: list[str], like: Mark) -> str:
    """The text with lines put in at the start of a line, indented like a neighbour."""
    text, end = layout.text, layout.line_end
    start = layout.line(like)[0]
    indent = text[start : like.start] if text[start : like.start].isspace() else ""
    before = text[:at] if text[:at].endswith("\n") or not at else text[:at] + end
    return before + "".join(indent + line + end for line in lines) + text[at:]


def _with_blocks(layout: Layout, at: int, blocks: list[list[str]]) -> str:
    """The text with blocks of lines put in at the start of a line, an empty line between them and their neighbours."""
    before, after, end = layout.text[:at], layout.text[at:], layout.line_end
    if before and not before.endswith("\n"):
        before += end
    if before and not _BLANK_LINE.search(before):
        before += end
    body = end.join(end.join(lines) + end for lines in blocks)
    return before + body + (end if after and not after.startswith(("\n", "\r")) else "") + after


def _with_pair(layout: Layout, holder: Mark, name: str, value: Any) -> str:
    pairs, text = layout.inside(holder), layout.text
    written = f"{name} = {render.inline(value)}"
    if not pairs:
        return text[: holder.value] + "{ " + written + " }" + text[holder.end :]
    at = pairs[-1].end
    return f"{text[:at]}, {written}{text[at:]}"


def _without_pair(layout: Layout, holder: Mark, key: KeyPath) -> str:
    pairs, text = layout.inside(holder), layout.text
    kept = [text[mark.start : mark.end] for mark in pairs if mark.path[: len(key)] != key]
    if not kept:
        return text[: holder.value] + "{}" + text[holder.end :]
    first, last = text[holder.value : pairs[0].start], text[pairs[-1].end : holder.end]
    return text[: holder.value] + first + ", ".join(kept) + last + text[holder.end :]


def _relisted(text: str, key: KeyPath, before: list[Any], after: Sequence[Any], at: int | None = None) -> str:
    """The text with other items in a list; items that stay keep their text and comments, wherever they go."""
    places = _reused(before, after, at)
    if len(before) == len(after) and all(place in (None, number) for number, place in enumerate(places)):
        for number, item in enumerate(after):
            text = replaced(text, (*key, number), before[number], item)
        return text
    return rearranged(text, key, after, places)


def _reused(before: list[Any], after: Sequence[Any], at: int | None) -> list[int | None]:
    """For each new item the old one that it is, if it is one; the item put in at `at` is none."""
    if at is not None:
        return [None if number == at else number - (number > at) for number in range(len(after))]
    free = dict.fromkeys(range(len(before)))
    places: list[int | None] = [None] * len(after)
    for number, item in enumerate(after):
        if number in free and same(before[number], item):
            places[number] = number
            del free[number]
    for number, item in enumerate(after):
        if places[number] is None:
            place = next((old for old in free if same(before[old], item)), None)
            if place is not None:
                places[number] = place
                del free[place]
    return places


def _holder(layout: Layout, path: KeyPath) -> Mark | None:
    """The innermost value in brackets or braces that the path leads through, None where it has headers all the way."""
    marks = (layout.value(path[:length]) for length in range(len(path), 0, -1))
    return next((mark for mark in marks if mark is not None), None)


def _dotted(path: KeyPath) -> str:
    """A path as a header or a key has it, without the numbers of list items."""
    return ".".join(bare_or_quoted(step) for step in path if isinstance(step, str))
