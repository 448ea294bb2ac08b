"""Puts the items of a list in another order, with new ones among them; those that stay keep their text and comments."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from showrunner.book import render
from showrunner.book.layout import Layout
from showrunner.book.locate import Mark
from showrunner.model.keys import KeyPath

_COMMA = re.compile(r"(?:[ \t\r\n]|#[^\n]*\n)*,")
_COMMENT = re.compile(r"[ \t]*#[^\r\n]*")


class _Chunk(NamedTuple):
    """An item of a list in brackets: what leads up to it, the item, and the comment after it."""

    lead: str
    item: str
    comment: str


def rearranged(text: str, key: KeyPath, after: Sequence[Any], places: Sequence[int | None]) -> str:
    """The text with the list at `key` made of old items, by number in `places`, and new ones where that is None.

    ValueError where the list's layout doesn't allow it.
    """
    layout = Layout(text)
    headers = layout.items(key)
    if headers:
        return _blocks_rearranged(layout, key, headers, after, places)
    mark = layout.value(key)
    if mark is None:
        raise ValueError("there is no list to change")
    return text[: mark.value] + _brackets(layout, mark, after, places) + text[mark.end :]


def _brackets(layout: Layout, mark: Mark, after: Sequence[Any], places: Sequence[int | None]) -> str:
    chunks, tail, trailing = _chunks(layout, mark)
    many_lines = "\n" in layout.text[mark.value : mark.end]
    indent = next((c.lead[c.lead.rindex("\n") + 1 :] for c in chunks if "\n" in c.lead), render.INDENT)
    written = ""
    for number, place in enumerate(places):
        new_lead = layout.line_end + indent if many_lines else " "
        chunk = _Chunk(new_lead, render.inline(after[number]), "") if place is None else chunks[place]
        if not many_lines:
            chunk = chunk._replace(lead=(chunks[0].lead if chunks else "") if number == 0 else " ")
        if written.rpartition("\n")[2].lstrip().startswith("#") or _ends_in_comment(written, chunks):
            written += "" if chunk.lead.lstrip(" \t").startswith(("\r", "\n")) else layout.line_end
        comma = "," if number < len(places) - 1 or trailing else ""
        written += chunk.lead + chunk.item + comma + chunk.comment
    if _ends_in_comment(written, chunks) and not tail.lstrip(" \t").startswith(("\r", "\n")):
        tail = layout.line_end + tail
    return f"[{written}{tail}]"


def _ends_in_comment(written: str, chunks: Sequence[_Chunk]) -> bool:
    return any(chunk.comment and written.endswith(chunk.comment) for chunk in chunks)


def _chunks(layout: Layout, mark: Mark) -> tuple[list[_Chunk], str, bool]:
    """The items of a list in brackets, what follows the last, and whether it has a comma."""
    text, at, trailing = layout.text, mark.value + 1, False
    chunks = []
    for element in layout.inside(mark):
        comma = _COMMA.match(text, element.end)
        trailing = comma is not None
        end = element.end if comma is None else comma.end()
        comment = _COMMENT.match(text, end)
        item = text[element.start : end - trailing].rstrip(" \t")
        chunks.append(_Chunk(text[at : element.start], item, comment[0] if comment else ""))
        at = comment.end() if comment else end
    return chunks, text[at : mark.end - 1], trailing


def _blocks_rearranged(
    layout: Layout, key: KeyPath, headers: list[Mark], after: Sequence[Any], places: Sequence[int | None]
) -> str:
    if not all(isinstance(item, Mapping) for item in after):
        raise ValueError("under headers there are tables only")
    runs = layout.run(layout.headers_under(key))
    if len(runs) != 1:
        raise ValueError("the items of this list do not stand together")
    start, end = runs[0]
    starts = [start, *(layout.block(header)[0] for header in headers[1:])]
    blocks = [layout.text[a:b] for a, b in zip(starts, [*starts[1:], end], strict=True)]
    bodies = [block.rstrip() for block in blocks]
    gaps = [block[len(body) :] for block, body in zip(blocks, bodies, strict=True)]
    usual = gaps[0] if len(gaps) > 1 else layout.line_end * 2
    names = [step for step in key if isinstance(step, str)]
    written = ""
    for number, place in enumerate(places):
        is_last = number == len(places) - 1
        new = layout.line_end.join(render.section(names, after[number], item=True)) if place is None else bodies[place]
        written += new + (gaps[-1] if is_last else gaps[number] if number < len(gaps) - 1 else usual)
        if is_last and not written.endswith("\n"):
            written += layout.line_end
    return layout.text[:start] + written + layout.text[end:]
