"""Which of the system's ports a pattern means."""

import re
from collections.abc import Iterable
from functools import lru_cache


def matching(pattern: str, names: Iterable[str]) -> tuple[str, ...]:
    """The names that a pattern fits, in their order, case aside; `*` is any text, `?` any one character.

    It may fit the whole name, the client's part before a colon or the port's behind it, and leave out the numbers
    that some systems put at the end of a name.
    """
    fits = _compiled(pattern).fullmatch
    return tuple(name for name in names if any(fits(part) is not None for part in _parts(name)))


def _parts(name: str) -> Iterable[str]:
    bare = re.sub(r" \d+(:\d+)?$", "", name)
    for whole in dict.fromkeys((name, bare)):
        client, colon, port = whole.partition(":")
        yield from (whole, port, client) if colon else (whole,)


@lru_cache(maxsize=256)
def _compiled(pattern: str) -> re.Pattern[str]:
    parts = (".*" if c == "*" else "." if c == "?" else re.escape(c) for c in pattern)
    return re.compile("".join(parts), re.DOTALL | re.IGNORECASE)


def may_be_one(one: str, other: str) -> bool:
    """Whether some name fits both patterns as a whole, case aside, so that both may open the same port."""
    others = other.lower()
    fits = [True, *(others[:end].strip("*") == "" for end in range(1, len(others) + 1))]
    for c in one.lower():
        longer = [fits[0] and c == "*"]
        for end, d in enumerate(others):
            if "*" in (c, d):
                longer.append(fits[end + 1] or longer[end])
            else:
                longer.append(fits[end] and (c == d or "?" in (c, d)))
        fits = longer
    return fits[-1]
