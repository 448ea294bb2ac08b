"""Which of the system's ports a pattern means."""

import re
from collections.abc import Iterable
from functools import lru_cache


def matching(pattern: str, names: Iterable[str]) -> tuple[str, ...]:
    """The names that a pattern fits whole, in their order; `*` is any text, `?` any one character."""
    fits = _compiled(pattern).fullmatch
    return tuple(name for name in names if fits(name) is not None)


@lru_cache(maxsize=256)
def _compiled(pattern: str) -> re.Pattern[str]:
    parts = (".*" if c == "*" else "." if c == "?" else re.escape(c) for c in pattern)
    return re.compile("".join(parts), re.DOTALL)
