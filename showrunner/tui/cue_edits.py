"""A song's cues as its file has them, and what one more, one less or one elsewhere makes of it."""

from collections.abc import Mapping
from typing import Any

from showrunner.book.data import ABSENT
from showrunner.model.keys import KeyPath

Changes = dict[KeyPath, Any]


def with_cue(raw: Mapping[str, Any], number: int, name: str) -> Changes:
    """A new cue of that number, counted from 0, wherever the band is."""
    cues = _cues(raw)
    return {("cues",): [*cues[:number], {"name": name}, *cues[number:]]}


def without_cue(raw: Mapping[str, Any], number: int) -> Changes:
    """The song without a cue, and without ways back to it."""
    cues = _cues(raw)
    gone = cues.pop(number).get("name")
    left = [{key: value for key, value in cue.items() if (key, value) != ("back_to", gone)} for cue in cues]
    return {("cues",): left or ABSENT}


def moved(raw: Mapping[str, Any], number: int, way: int) -> Changes:
    """A cue one place earlier or later; nothing at the ends."""
    cues, to = _cues(raw), number + way
    if not 0 <= to < len(cues):
        return {}
    cues[number], cues[to] = cues[to], cues[number]
    return {("cues",): cues}


def renamed(raw: Mapping[str, Any], number: int, name: Any) -> Changes:
    """The ways back that follow a cue to its new name."""
    cues = _cues(raw)
    old = cues[number].get("name")
    return {
        ("cues", each, "back_to"): name
        for each, cue in enumerate(cues)
        if cue.get("back_to") == old and name is not ABSENT
    }


def _cues(raw: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [dict(cue) for cue in raw.get("cues", [])]
