"""The machine's state and notices to JSON and back, by their type hints."""

import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import lru_cache
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")


def to_json(value: Any) -> Any:
    """Named tuples and dataclasses as lists of their fields, mappings as lists of pairs, sets as sorted lists."""
    if value is None or isinstance(value, str | int | float):
        return value
    if is_dataclass(value):
        return [to_json(getattr(value, part.name)) for part in fields(value)]
    if isinstance(value, Mapping):
        return [[to_json(key), to_json(of)] for key, of in value.items()]
    if isinstance(value, frozenset | set):
        return sorted(to_json(item) for item in value)
    return [to_json(item) for item in value]


def from_json(kind: type[T], data: Any) -> T:
    """The value of a type that `to_json` wrote; ValueError if the data do not fit it."""
    try:
        made: T = _read(kind, data)
    except (TypeError, KeyError, IndexError) as error:
        raise ValueError(f"not a {getattr(kind, '__name__', kind)}: {error}") from error
    return made


def _read(kind: Any, data: Any) -> Any:
    origin, of = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return None if data is None else _read(next(part for part in of if part is not type(None)), data)
    if origin is Literal:
        if data not in of:
            raise ValueError(f"{data!r} is none of {of}")
        return data
    if origin is tuple:
        if len(of) == 2 and of[1] is Ellipsis:
            return tuple(_read(of[0], item) for item in data)
        return tuple(_read(part, item) for part, item in zip(of, data, strict=True))
    if origin is frozenset:
        return frozenset(_read(of[0], item) for item in data)
    if origin is not None and issubclass(origin, Mapping):
        return {_read(of[0], key): _read(of[1], value) for key, value in data}
    if hasattr(kind, "_fields") or is_dataclass(kind):
        return kind(*(_read(part, item) for part, item in zip(_hints(kind), data, strict=True)))
    if kind is float and isinstance(data, int) and not isinstance(data, bool):
        return float(data)
    if not isinstance(data, kind):
        raise ValueError(f"{data!r} is no {kind.__name__}")
    return data


@lru_cache(maxsize=64)
def _hints(kind: Any) -> tuple[Any, ...]:
    hints = get_type_hints(kind)
    names = kind._fields if hasattr(kind, "_fields") else [part.name for part in fields(kind)]
    return tuple(hints[name] for name in names)
