"""Which of the system's ports a rig means: by pattern, and by what it was last time."""

from collections.abc import Sequence
from fnmatch import fnmatchcase


def matching(pattern: str, names: Sequence[str]) -> tuple[str, ...]:
    """The system's port names that a pattern fits, whole or behind the client's name and a colon, case aside."""
    wanted = pattern.casefold()
    return tuple(name for name in names if any(fnmatchcase(part, wanted) for part in _parts(name.casefold())))


def choose(pattern: str, names: Sequence[str], *, last: str | None = None) -> str | None:
    """The one port to open: what it was last time if that is there, else the first that fits; None if none does."""
    found = matching(pattern, names)
    return last if last is not None and last in found else next(iter(found), None)


def _parts(name: str) -> tuple[str, ...]:
    client, colon, port = name.partition(":")
    return (name, port, client) if colon else (name,)
