"""Writes values and tables as TOML 1.0, as a person would lay them out."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from showrunner.model.keys import bare_or_quoted

LINE_LENGTH = 100
INDENT = "    "


def inline(value: Any) -> str:
    """A value on one line; TypeError for what TOML can't hold."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(pair(key, item) for key, item in value.items()) + " }" if value else "{}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return f"[{', '.join(map(inline, value))}]"
    import tomlkit
    from tomlkit.exceptions import ConvertError

    try:
        return str(tomlkit.item(value).as_string())
    except ConvertError:
        raise TypeError(f"a file can't hold {value!r}") from None


def pair(key: str, value: Any) -> str:
    """`key = value` on one line."""
    return f"{bare_or_quoted(key)} = {inline(value)}"


def statement(key: str, value: Any) -> list[str]:
    """`key = value` as lines: a list of tables, or one too long for a line, with an item on each."""
    line = f"{key} = {inline(value)}"
    is_list = isinstance(value, Sequence) and not isinstance(value, str)
    if not is_list or not value or (len(line) <= LINE_LENGTH and not holds_tables(value)):
        return [line]
    return [f"{key} = [", *(f"{INDENT}{inline(item)}," for item in value), "]"]


def holds_tables(value: Any) -> bool:
    """Whether a table or list has tables inside."""
    items = value.values() if isinstance(value, Mapping) else value if isinstance(value, Sequence) else ()
    return not isinstance(value, str) and any(isinstance(item, Mapping) or holds_tables(item) for item in items)


def wants_header(value: Any) -> bool:
    """Whether a table reads better under a header of its own than in braces on one line."""
    return isinstance(value, Mapping) and (holds_tables(value) or len(inline(value)) > LINE_LENGTH - len(INDENT))


def section(names: Sequence[str], table: Mapping[str, Any], *, item: bool = False) -> list[str]:
    """A table as lines under `[names]`, or `[[names]]` for an item, and its larger tables under headers of theirs."""
    header = ".".join(map(bare_or_quoted, names))
    lines = [line for key, value in table.items() if not wants_header(value) for line in _statement(key, value)]
    deeper = [(key, value) for key, value in table.items() if wants_header(value)]
    if item or lines or not deeper:
        lines.insert(0, f"[[{header}]]" if item else f"[{header}]")
    for key, value in deeper:
        lines += ["", *section((*names, key), value)] if lines else section((*names, key), value)
    return lines


def items(name: str, tables: Sequence[Mapping[str, Any]]) -> Iterator[list[str]]:
    """The items of a list of tables, each as lines under `[[name]]`."""
    return (section((name,), table, item=True) for table in tables)


def _statement(key: str, value: Any) -> list[str]:
    return statement(bare_or_quoted(key), value)
