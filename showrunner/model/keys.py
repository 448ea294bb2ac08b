"""Key paths: where something stands inside a document."""

import re
from typing import TypeAlias

KeyPath: TypeAlias = tuple[str | int, ...]
"""Keys from the document's root down; list items by number from 0."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t", "\b": "\\b", "\f": "\\f"}
_UNSAFE = re.compile('[\\\\"\x00-\x1f\x7f-\x9f\ud800-\udfff]')


def quoted(text: str) -> str:
    """Text as a basic string of TOML 1.0: in quotes, on one line, control characters escaped."""
    return '"' + _UNSAFE.sub(lambda m: _ESCAPES.get(m[0]) or f"\\u{ord(m[0]):04X}", text) + '"'


def bare_or_quoted(key: str) -> str:
    """One key as TOML writes it: bare where it may be, else quoted."""
    return key if _BARE.fullmatch(key) else quoted(key)


def dotted(path: KeyPath) -> str:
    """A path as text, `cues[0].targets."delay mix"`; list items in brackets, from 0."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step}]"
        else:
            text += ("." if text else "") + bare_or_quoted(step)
    return text
