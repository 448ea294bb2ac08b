"""A sheet's content as plain data for templates: mappings, lists, numbers and one-line text."""

import unicodedata
from collections.abc import Mapping
from typing import Any

_TURNS_TEXT_ROUND = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_SPREAD = frozenset({"head", "top"})


def plain(value: Any) -> Any:
    """Named tuples as mappings, tuples as lists, text cleaned; the fields of a head stand beside those around it."""
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        made: dict[str, Any] = {}
        for name, inner in value._asdict().items():
            made.update(plain(inner) if name in _SPREAD else {name: plain(inner)})
        return made
    if isinstance(value, Mapping):
        return {str(name): plain(inner) for name, inner in value.items()}
    return [plain(inner) for inner in value] if isinstance(value, tuple | list) else value


def clean(text: str) -> str:
    """Text on one line, without marks that turn text round; a code point that is no character becomes U+FFFD."""
    kept = (_shown(c) for c in text if c not in _TURNS_TEXT_ROUND)
    return " ".join("".join(kept).split())


def _shown(c: str) -> str:
    if c.isspace():
        return " "
    no_character = unicodedata.category(c) in ("Cc", "Cs") or ord(c) & 0xFFFE == 0xFFFE or "\ufdd0" <= c <= "\ufdef"
    return "\ufffd" if no_character else c
