"""Turns what the documents' validation reports into a player's words: one table from sort of error to sentence."""

import datetime
import re
from collections.abc import Callable, Iterable, Mapping
from itertools import groupby, islice
from typing import Any, NamedTuple, TypeAlias

from pydantic_core import ErrorDetails

from showrunner.book.fields import field_at, fields_at
from showrunner.book.formats import FORMAT
from showrunner.book.problems import gathered, numberless
from showrunner.model.document import Document, PartError
from showrunner.model.keys import KeyPath, quoted
from showrunner.model.nearest import did_you_mean, nearest

Said: TypeAlias = tuple[str, str]
"""What is wrong, and the mend."""

_WANTED: Mapping[str, str] = {
    "string_type": "text in quotes",
    "float_type": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "tuple_type": "a list in square brackets",
    "model_type": "a table",
    "dict_type": "a table",
    "date_type": "a date, as in 2026-11-28",
}
_ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f]*$"
_MANY_LINES = r"^[^\x00-\x08\x0b-\x1f\x7f-\x9f]*$"
MOST_LOOKED_AT = 200
"""Unknown keys of which one may be what a missing key was meant to be."""

_NEWER = "open it with the version of Showrunner that wrote it, or a newer one; it is left as it is"


class Complaint(NamedTuple):
    """One thing wrong with a document, before its line is known."""

    key: KeyPath
    what: str
    mend: str


class _Case(NamedTuple):
    """One of the validator's errors, with what is needed to say it."""

    sort: str
    key: KeyPath
    value: Any
    context: Mapping[str, Any]
    model: type[Document]
    of_name: bool


def complaints(model: type[Document], data: Mapping[str, Any], errors: Iterable[ErrorDetails]) -> list[Complaint]:
    """The validator's errors on `data`, one a key, in words; a misspelt key is not also reported as missing."""
    cases = [_case(model, data, error) for error in errors]
    if any(case.key == ("format",) and case.sort != "missing" for case in cases):
        cases = [case for case in cases if case.key == ("format",)]
    if any(case.sort == "missing" for case in cases):
        unknown = (case for case in cases if case.sort == "extra_forbidden")
        meant = {(*case.key[:-1], _nearest_key(case)) for case in islice(unknown, MOST_LOOKED_AT)}
        cases = [case for case in cases if case.sort != "missing" or case.key not in meant]
    ordered = sorted(cases, key=lambda case: [str(step) for step in case.key])
    keys = [list(group) for _, group in groupby(ordered, key=lambda case: case.key)]
    said = []
    for group, more in gathered(keys, _alike):
        what, mend = _say(group)
        said.append(Complaint(group[0].key, what + more, mend))
    return said


def _alike(cases: list[_Case]) -> tuple[str, KeyPath]:
    """What one key's errors have in common with those of other keys: their sort, and the table they are in."""
    case = cases[0]
    own_name = case.sort == "extra_forbidden" or case.of_name
    return case.sort, numberless(case.key[:-1] if own_name else case.key)


def shown(value: Any) -> str:
    """A value as it may be quoted in a sentence: short, on one line, whatever it is."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value if len(value) <= 60 else value[:59] + "…")
    if isinstance(value, int):
        return str(value) if abs(value) < 10**20 else "this enormous number"
    if isinstance(value, float):
        return f"{value:.17g}" if len(repr(value)) > 20 else repr(value)
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return "this"


def _case(model: type[Document], data: Mapping[str, Any], error: ErrorDetails) -> _Case:
    """The error with its key as the file has it, without the steps that only the validator knows."""
    key: KeyPath = ()
    value: Any = data
    inner = error.get("ctx", {}).get("error")
    location = (*error["loc"], *(inner.part if isinstance(inner, PartError) else ()))
    for number, step in enumerate(location, 1):
        if _has(value, step):
            key, value = (*key, step), value[step]
        elif number == len(location) and error["type"] == "missing" and isinstance(step, str):
            key = (*key, step)
    return _Case(error["type"], key, value, error.get("ctx", {}), model, location[-1:] == ("[key]",))


def _has(value: Any, step: str | int) -> bool:
    """Whether a value as the file has it is a table with this key, or a list with this item."""
    if isinstance(value, list):
        return isinstance(step, int) and 0 <= step < len(value)
    return isinstance(value, dict) and step in value


def _say(cases: list[_Case]) -> Said:
    """What one key's errors come to; where several sorts of value are allowed, each has its own error."""
    for case in cases:
        if case.sort not in _WANTED:
            return _SENTENCES.get(case.sort, _unknown)(case)
    return _wrong_sort(cases)


def _wrong_sort(cases: list[_Case]) -> Said:
    value, key = cases[0].value, cases[0].key
    types = {case.sort for case in cases}
    header = ".".join(str(step) for step in key if isinstance(step, str))
    if isinstance(value, dict) and "tuple_type" in types:
        return "this is one table where a list of them belongs", f"write [[{header}]] with double brackets"
    if isinstance(value, list) and types & {"model_type", "dict_type"} and value and isinstance(value[0], dict):
        return "this is a list of tables where one table belongs", f"write [{header}] once, with single brackets"
    if types == {"int_type"} and isinstance(value, float):
        return f"{shown(value)} is not a whole number", "write it without a decimal point"
    if types == {"float_type"} and isinstance(value, int) and not isinstance(value, bool):
        return f"{shown(value)} is out of all measure", "write an ordinary number"
    wanted = " or ".join(dict.fromkeys(_WANTED[case.sort] for case in cases))
    without = " without quotes" if isinstance(value, str) and not types & {"model_type", "dict_type"} else ""
    return f"{shown(value)} is {_sort(value)}", f"write {wanted}{without}"


def _sort(value: Any) -> str:
    sorts = (
        (bool, "a yes or no"),
        (str, "text"),
        (int | float, "a number"),
        (list, "a list"),
        (dict, "a table"),
        (datetime.date, "a date"),
        (datetime.time, "a time of day"),
    )
    return next(words for sort, words in sorts if isinstance(value, sort))


def _missing(case: _Case) -> Said:
    field = field_at(case.model, case.key)
    meaning = f": {field.description}" if field is not None and field.description else ""
    return f"{case.key[-1]} is missing", f"add {case.key[-1]}{meaning}"


def _nearest_key(case: _Case) -> str | None:
    return nearest(str(case.key[-1]), fields_at(case.model, case.key[:-1]))


def _unknown_key(case: _Case) -> Said:
    known = fields_at(case.model, case.key[:-1])
    mend = did_you_mean(str(case.key[-1]), known, f"known here are {', '.join(known)}")
    return f"there is no key {quoted(str(case.key[-1])[:60])} here", mend


def _one_of(case: _Case) -> Said:
    if case.key == ("format",):
        if isinstance(case.value, int) and case.value > FORMAT:
            return f"format {shown(case.value)} is newer than this version knows", _NEWER
        return f"format {shown(case.value)} is not a layout that there is", f"write format = {FORMAT}"
    words = re.findall(r"'([^']*)'", case.context["expected"])
    choice = f"write one of {', '.join(map(quoted, words))}" if words else f"write {case.context['expected']}"
    mend = did_you_mean(case.value, words, choice) if isinstance(case.value, str) and words else choice
    return f"{shown(case.value)} can't be used here", mend


def _pattern(case: _Case) -> Said:
    if case.context["pattern"] in (_ONE_LINE, _MANY_LINES):
        lines = "one line" if case.context["pattern"] == _ONE_LINE else "text"
        what = "a name here" if case.of_name else "the text"
        return f"{what} holds a line break or another control character", f"write {lines} without them"
    field = field_at(case.model, case.key)
    return f"{shown(case.value)} can't be used here", f"write {field.description if field else 'it another way'}"


def _too_few(case: _Case) -> Said:
    least = f"give it {case.context['min_length']} at least"
    if not case.value:
        return "this is empty", least + _or_leave_out(case)
    return f"there are only {len(case.value)} items here", least


def _empty(case: _Case) -> Said:
    if case.of_name:
        return "a name here is empty", "give it a name"
    return "the text is empty", "write something" + _or_leave_out(case)


def _or_leave_out(case: _Case) -> str:
    field = field_at(case.model, case.key)
    return "" if field is None or field.is_required() else ", or leave the key out"


def _value_error(case: _Case) -> Said:
    what, _, mend = str(case.context["error"]).partition("; ")
    return what, mend


def _unknown(case: _Case) -> Said:
    return f"{shown(case.value)} can't be used here", case.sort.replace("_", " ")


def _bound(word: str, limit: str, name: str) -> Callable[[_Case], Said]:
    return lambda case: (f"{shown(case.value)} is too {word}", f"write {limit} {case.context[name]:g}")


_SENTENCES: Mapping[str, Callable[[_Case], Said]] = {
    "missing": lambda case: (
        _missing(case)
        if not isinstance(case.value, list)
        else ("a pair needs two values", "write two in square brackets")
    ),
    "extra_forbidden": _unknown_key,
    "literal_error": _one_of,
    "greater_than_equal": _bound("small", "at least", "ge"),
    "greater_than": _bound("small", "more than", "gt"),
    "less_than_equal": _bound("large", "at most", "le"),
    "less_than": _bound("large", "less than", "lt"),
    "finite_number": lambda case: (f"{shown(case.value)} is no number to count with", "write an ordinary number"),
    "string_too_short": _empty,
    "string_too_long": lambda case: (
        f"{'a name here' if case.of_name else 'the text'} is too long",
        f"write at most {case.context['max_length']} characters",
    ),
    "string_pattern_mismatch": _pattern,
    "too_short": _too_few,
    "too_long": lambda case: (
        f"there are {case.context['actual_length']} values here",
        f"write {case.context['max_length']} at most",
    ),
    "value_error": _value_error,
}
