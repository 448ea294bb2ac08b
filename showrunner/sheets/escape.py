"""Makes text safe for a format, so that what a book says is never read as layout."""

import html
import re
import unicodedata

_MARKS = re.compile(r"([\\`*_{}\[\]<>#|&~$^])")
_AT_START = re.compile(r"[-+=:]|\d+[.)]")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?", re.ASCII)
_STARTS = frozenset("=+-@")
_UNSEEN = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Mn", "Me", "Zl", "Zp", "Zs"})
"""Kinds of characters that show nothing of their own in front of a sign: controls, formats, marks and spaces."""
_BLANKS = frozenset("\u115f\u1160\u2800\u3164\uffa0")
"""Letters and signs that are blank: Hangul fillers, and the braille cell without dots."""


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
    """A cell that a spreadsheet won't run: what begins like a formula gets an apostrophe before it; a number does not.

    Signs of full width count as well, and what takes no room before a sign is looked through.
    """
    if _NUMBER.fullmatch(text):
        return text
    start = next((char for char in text if unicodedata.category(char) not in _UNSEEN and char not in _BLANKS), "")
    return f"'{text}" if unicodedata.normalize("NFKC", start) in _STARTS else text
