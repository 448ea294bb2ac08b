"""A song's curves as its file has them, and what a row, a column, a shape or a set of curves more or less makes of it.

Every function gives the keys of the file that change and what they hold then, for one step of undo.
"""

from collections.abc import Mapping
from typing import Any

from showrunner.book.data import ABSENT
from showrunner.curves.shapes import columns, row_in
from showrunner.model.keys import KeyPath
from showrunner.model.song import Curve

Changes = dict[KeyPath, Any]
SIGNIFICANT = 4
"""Digits of a value that a new column takes from the curve as it is."""


def with_value(raw: Mapping[str, Any], at: KeyPath, curve: Curve, name: str, travel: float, value: float) -> Changes:
    """Another value of a row; where the row has no column at that travel it gets columns of its own with one there."""
    key, written, own = (*at, "moves", name), raw["moves"][name], columns(curve, name)
    inside: KeyPath = ("values",) if isinstance(written, dict) else ()
    if travel in own:
        return {(*key, *inside, own.index(travel)): value}
    values = _values(written)
    place = sum(column < travel for column in own)
    table = written if isinstance(written, dict) else {}
    new_values = [*values[:place], value, *values[place:]]
    new_travel = [plain(column) for column in (*own[:place], travel, *own[place:])]
    return {key: table | {"travel": new_travel, "values": new_values}}


def with_row(raw: Mapping[str, Any], at: KeyPath, name: str, value: float) -> Changes:
    """A row for a target that has none, at rest all the way."""
    return {(*at, "moves", name): [plain(value)] * len(raw["travel"])}


def without_row(at: KeyPath, name: str) -> Changes:
    """The curve without a target's row."""
    return {(*at, "moves", name): ABSENT}


def with_column(raw: Mapping[str, Any], at: KeyPath, curve: Curve, travel: float) -> Changes:
    """A column more, with the values that the rows have there now; rows with columns of their own stay as they are."""
    if travel in curve.travel:
        return {}
    place = sum(column < travel for column in curve.travel)
    changes: Changes = {(*at, "travel"): [*raw["travel"][:place], plain(travel), *raw["travel"][place:]]}
    for name, move in curve.moves.items():
        if move.travel is None:
            values = _values(raw["moves"][name])
            new = plain(float(f"{row_in(curve, name)(travel):.{SIGNIFICANT}g}"))
            changes[_values_key(raw, at, name)] = [*values[:place], new, *values[place:]]
    return changes


def without_column(raw: Mapping[str, Any], at: KeyPath, curve: Curve, travel: float) -> Changes:
    """The curve without a column, in every row that has it; the last one of a row or of the curve stays."""
    changes: Changes = {}
    if travel in curve.travel and len(curve.travel) > 1:
        changes[*at, "travel"] = _less(raw["travel"], curve.travel.index(travel))
    for name, move in curve.moves.items():
        own = columns(curve, name)
        if travel not in own or len(own) == 1 or (move.travel is None and len(curve.travel) == 1):
            continue
        number = own.index(travel)
        changes[_values_key(raw, at, name)] = _less(_values(raw["moves"][name]), number)
        if move.travel is not None:
            changes[*at, "moves", name, "travel"] = _less(raw["moves"][name]["travel"], number)
    return changes


def with_shape(raw: Mapping[str, Any], at: KeyPath, name: str, shape: str) -> Changes:
    """Another shape of a row; a straight row without columns of its own is written as its bare values."""
    key, written = (*at, "moves", name), raw["moves"][name]
    if not isinstance(written, dict):
        return {} if shape == "straight" else {key: {"values": written, "shape": shape}}
    if shape != "straight":
        return {(*key, "shape"): shape}
    left = {each: value for each, value in written.items() if each != "shape"}
    return {key: left["values"]} if left.keys() == {"values"} else {(*key, "shape"): ABSENT}


def with_curve(set_: str, control: str) -> Changes:
    """A curve from heel to toe that moves nothing yet, in a set that need not be there."""
    return {("curves", set_, control): {"travel": [0, 100], "moves": {}}}


def without_curve(raw_song: Mapping[str, Any], set_: str, control: str | None = None) -> Changes:
    """The song without a curve, or a whole set of them; tables that held nothing else go with it."""
    curves = raw_song["curves"]
    if control is not None and len(curves[set_]) > 1:
        return {("curves", set_, control): ABSENT}
    return {("curves", set_) if len(curves) > 1 else ("curves",): ABSENT}


def takes(raw_song: Mapping[str, Any], set_: str) -> dict[KeyPath, str]:
    """Where the song takes a set of curves: the key, and the moment's name."""
    found: dict[KeyPath, str] = {}
    if raw_song.get("start", {}).get("curves") == set_:
        found["start", "curves"] = "the start"
    for number, cue in enumerate(raw_song.get("cues", [])):
        if cue.get("curves") == set_:
            found["cues", number, "curves"] = str(cue.get("name"))
    return found


def plain(value: float) -> int | float:
    """A number as one writes it: whole without a point."""
    return int(value) if float(value).is_integer() else value


def _values(written: Any) -> list[Any]:
    return list(written["values"] if isinstance(written, dict) else written)


def _values_key(raw: Mapping[str, Any], at: KeyPath, name: str) -> KeyPath:
    inside: KeyPath = ("values",) if isinstance(raw["moves"][name], dict) else ()
    return (*at, "moves", name, *inside)


def _less(items: list[Any], number: int) -> list[Any]:
    return [*items[:number], *items[number + 1 :]]
