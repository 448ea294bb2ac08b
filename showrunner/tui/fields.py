"""Keys of a file as fields that are typed or chosen one by one, and what a typed one makes of the file."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from showrunner.book import render
from showrunner.book.data import ABSENT, value_at
from showrunner.model.keys import KeyPath, quoted
from showrunner.model.units import format_length, parse_length, parse_spoken_length

Changes = Mapping[KeyPath, Any]


class Field(NamedTuple):
    """One key: how it is called, what the text typed for it means, and what it is chosen from if it is.

    `usual` is shown where the file says nothing; as many tables around it as `prunes` says go with the last of
    their keys; `follows` are other keys that change with it, given what stood there and what is to.
    """

    label: str
    key: KeyPath
    parse: Callable[[str], Any] = str
    hint: str = ""
    choices: Mapping[str, str] | None = None
    usual: str = ""
    prunes: int = 0
    follows: Callable[[Any, Any], Changes] | None = None

    def shown(self, raw: Mapping[str, Any]) -> str:
        """What stands there, as it would be typed."""
        value = value_at(raw, self.key)
        if isinstance(value, bool):
            return "yes" if value else "no"
        return "" if value is ABSENT else value if isinstance(value, str) else render.inline(value)

    def changes(self, raw: Mapping[str, Any], typed: str) -> dict[KeyPath, Any]:
        """What typing this makes of the file; nothing typed takes the key out. ValueError where it won't do."""
        before = value_at(raw, self.key)
        after = self.parse(typed) if typed else ABSENT
        if after is ABSENT and before is ABSENT:
            return {}
        more = dict(self.follows(before, after)) if self.follows is not None else {}
        key = self.key
        for _ in range(self.prunes if after is ABSENT else 0):
            if len(value_at(raw, key[:-1])) > 1:
                break
            key = key[:-1]
        return {**more, key: after} if self.follows is not None and after is not ABSENT else {key: after, **more}


def length(typed: str) -> str:
    """A length as files write it, from one typed as `90s`, `47m`, `1h24m` or `6:40`; ValueError for anything else."""
    written = format_length(parse_spoken_length(typed))
    parse_length(written)
    return written


def number(typed: str) -> int | float:
    """A number, with a point or a comma; ValueError for anything else."""
    try:
        value = float(typed.replace(",", "."))
    except ValueError:
        raise ValueError(f"{quoted(typed)} is not a number") from None
    if value != value or abs(value) == float("inf"):
        raise ValueError(f"{quoted(typed)} is not a number a file can hold")
    return int(value) if value.is_integer() else value


def whole(typed: str) -> int:
    """A whole number; ValueError for anything else."""
    try:
        return int(typed)
    except ValueError:
        raise ValueError(f"{quoted(typed)} is not a whole number") from None


def yes(typed: str) -> Any:
    """True for yes; no is what stands where nothing is written."""
    return True if typed == "yes" else ABSENT


YES_NO = {"no": "no", "yes": "yes"}
NOTHING = {"": "(nothing written)"}
