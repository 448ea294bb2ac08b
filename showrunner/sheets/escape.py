"""Makes text safe for a format, so that what a book says is never read as layout."""

import html
import re

_MARKS = re.compile(r"([\\`*_{}\[\]<>#|&~$^])")
_AT_START = re.compile(r"[-+=:]|\d+[.)]")


def for_text(text: str) -> str:
    """The text as it is."""
    return text


def for_md(text: str) -> str:
    """Text in which nothing is Markdown (CommonMark 0.31 §2.4: a backslash before ASCII punctuation)."""
    escaped = _MARKS.sub(r"\\\1", text)
    start = _AT_START.match(escaped)
    if start is None:
        return escaped
    mark = start.end() - 1
    return f"{escaped[:mark]}\\{escaped[mark:]}"


def for_html(text: str) -> str:
    """Text in which nothing is markup, in an element or in a quoted attribute."""
    return html.escape(text, quote=True)


def for_csv(text: str) -> str:
    """A cell that a spreadsheet won't run: what begins like a formula and is no number gets an apostrophe before it."""
    formula = text[:1] in tuple("=+-@") and not re.fullmatch(r"[+-]?\d+(\.\d+)?( [^\W\d]+)?", text)
    return f"'{text}" if formula else text
