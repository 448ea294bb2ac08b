"""The player's own settings: how far away the screen is, its size, the theme, and keys."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from showrunner.plain_file import read_file

NO_KEYS: Mapping[str, str] = MappingProxyType({})


class Settings(NamedTuple):
    """`[screen]` and `[keys]` of the settings file; `keys` are names of actions and the keys they are on.

    `problems` says what in the file was not understood; the rest holds.
    """

    distance_m: float = 2.0
    diagonal_in: float = 14.0
    theme: str = "stage"
    keys: Mapping[str, str] = NO_KEYS
    problems: tuple[str, ...] = ()


MOST_DOTS = 8
"""In the name of an action."""
LARGEST_SETTINGS = 1 << 20
"""Bytes of a settings file."""


def read_settings(file: Path) -> Settings:
    """The settings in a file; the usual ones where there is none or it can't be understood."""
    if not file.is_file():
        return Settings()
    import tomllib

    try:
        data = tomllib.loads(read_file(file, LARGEST_SETTINGS).decode("utf-8-sig"))
    except RecursionError:
        return Settings(problems=(f"{file.name}: one inside another too often",))
    except (OSError, ValueError) as error:
        return Settings(problems=(f"{file.name}: {error}",))
    problems: list[str] = []
    screen, keys = _table(data, "screen", problems), _table(data, "keys", problems)
    usual = Settings()
    return Settings(
        _number(screen, "distance_m", usual.distance_m, problems),
        _number(screen, "diagonal_in", usual.diagonal_in, problems),
        _word(screen, "theme", usual.theme, problems),
        dict(_keys(keys, "", problems)),
        tuple(problems),
    )


def _keys(table: Mapping[str, Any], before: str, problems: list[str]) -> Iterator[tuple[str, str]]:
    """Actions and their keys; a name is as good without its quotes, which makes it a table."""
    for name, key in table.items():
        if isinstance(key, dict) and before.count(".") >= MOST_DOTS:
            problems.append(f"keys.{before}{name}: no action's name has so many dots")
        elif isinstance(key, dict):
            yield from _keys(key, f"{before}{name}.", problems)
        elif isinstance(key, str) and key.strip():
            yield f"{before}{name}", key
        else:
            problems.append(f'keys.{before}{name}: {key!r} is not a key, such as "f5" or "ctrl+n"')


def _table(data: Mapping[str, Any], name: str, problems: list[str]) -> Mapping[str, Any]:
    table = data.get(name, {})
    if isinstance(table, dict):
        return table
    problems.append(f"{name}: write it as a table, [{name}]")
    return {}


def _number(table: Mapping[str, Any], name: str, usual: float, problems: list[str]) -> float:
    value = table.get(name, usual)
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 < value < 1000:
        return float(value)
    problems.append(f"screen.{name}: {value!r} is not a length")
    return usual


def _word(table: Mapping[str, Any], name: str, usual: str, problems: list[str]) -> str:
    value = table.get(name, usual)
    if isinstance(value, str):
        return value
    problems.append(f"screen.{name}: {value!r} is not a name")
    return usual
