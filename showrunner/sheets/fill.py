"""Fills a template with a sheet's data."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from showrunner.model.cells import cells
from showrunner.model.nearest import did_you_mean
from showrunner.sheets import words
from showrunner.sheets.errors import SheetError
from showrunner.sheets.language import Body, Each, If, Line, Template
from showrunner.sheets.width import pad

Escape = Callable[[str], str]
Scope = tuple[Mapping[str, Any], ...]


class Filled(NamedTuple):
    """A line with its data; `hang` is the column at which its last field begins, None without fields."""

    text: str
    hang: int | None


def fill(template: Template, data: Mapping[str, Any], escape: Escape) -> list[Filled]:
    """The template's lines with the data put in; SheetError for a name that the data don't have."""
    return list(_lines(template, template.body, (data,), escape))


def _lines(template: Template, body: Body, scope: Scope, escape: Escape) -> Iterator[Filled]:
    for node in body:
        if isinstance(node, Each):
            items = _look_up(template, node.number, node.name, scope)
            if not isinstance(items, list):
                raise SheetError(f'"{node.name}" is not a list', "use %if for it", template.path, node.number)
            for item in items:
                inner = item if isinstance(item, Mapping) else {"item": item}
                yield from _lines(template, node.body, (inner, *scope), escape)
        elif isinstance(node, If):
            says = bool(_look_up(template, node.number, node.name, scope)) is not node.negated
            yield from _lines(template, node.body if says else node.otherwise, scope, escape)
        elif isinstance(node, Template):
            yield from _lines(node, node.body, scope, escape)
        else:
            yield from _filled(template, node, scope, escape)


def _filled(template: Template, line: Line, scope: Scope, escape: Escape) -> Iterator[Filled]:
    said, anything, hang = "", False, None
    for part in line.parts:
        if isinstance(part, str):
            said += part
            continue
        value = escape(_text(template, line.number, part.name, scope))
        anything, hang = anything or bool(value), cells(said)
        said += pad(value, part.columns, right=part.right)
    if anything or not line.maybe:
        yield Filled(said, hang)


def _text(template: Template, number: int, name: str, scope: Scope) -> str:
    value = _look_up(template, number, name, scope)
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return "; ".join(value)
    if isinstance(value, list | Mapping):
        raise SheetError(f'"{name}" has parts of its own', f"go through them with %each {name}", template.path, number)
    if isinstance(value, bool) or value is None:
        return "yes" if value else ""
    return value if isinstance(value, str) else words.number(value)


def _look_up(template: Template, number: int, name: str, scope: Scope) -> Any:
    for names in scope:
        if name in names:
            return names[name]
    known = sorted({known for names in scope for known in names})
    mend = did_you_mean(name, known, f"there are {', '.join(known)}")
    raise SheetError(f'the sheet has nothing called "{name}" here', mend, template.path, number)
