"""Plain data as TOML gives it: looking up a key path, setting one, and telling whether two are the same."""

import math
from collections.abc import Mapping, Sequence
from enum import Enum
from typing import Any, Final

from showrunner.model.keys import KeyPath


class _Absent(Enum):
    ABSENT = "nothing stands there"


ABSENT: Final = _Absent.ABSENT
"""What stands at a key that is not there."""


def value_at(data: Any, path: KeyPath) -> Any:
    """What stands at a path, ABSENT if nothing does."""
    for step in path:
        steps = data.keys() if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ()
        if step not in steps:
            return ABSENT
        data = data[step]
    return data


def same(a: Any, b: Any) -> bool:
    """Whether two values are written alike: 1, 1.0 and true differ, nan is itself, tables may be in any order."""
    if isinstance(a, Mapping) and isinstance(b, Mapping):
        return a.keys() == b.keys() and all(same(a[key], b[key]) for key in a)
    if _is_list(a) and _is_list(b):
        return len(a) == len(b) and all(map(same, a, b))
    if type(a) is not type(b):
        return False
    if isinstance(a, float):
        return (a == b and math.copysign(1, a) == math.copysign(1, b)) or (math.isnan(a) and math.isnan(b))
    return bool(a == b)


def _is_list(value: Any) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, str)
