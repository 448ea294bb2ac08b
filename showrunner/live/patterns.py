"""Which of the system's ports a rig means: by pattern, and by what it was last time."""

import re
from collections.abc import Sequence

from showrunner.model.ports import matching

__all__ = ["choose", "matching"]


def choose(pattern: str, names: Sequence[str], *, last: str | None = None) -> str | None:
    """The one port to open: what it was last time if that is there, else the first that fits; None if none does."""
    found = matching(pattern, names)
    same = [name for name in found if last is not None and _bare(name) == _bare(last)]
    return last if last in found else next(iter([*same, *found]), None)


def _bare(name: str) -> str:
    """The name without the numbers that some systems put behind it and deal anew at each start."""
    return re.sub(r" \d+(:\d+)?$", "", name)
