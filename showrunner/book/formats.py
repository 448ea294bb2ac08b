"""Formats of documents: which there have been, and how one of an earlier format says the same in the next.

A document of an earlier format is read as one of today's and its file left as it is; one of a newer format is refused.
Keys that may be left out come without a new format, so that there has been one so far. Whoever changes what a key means
or is called adds a format, its step here and a small book of the format before to `tests/shows`.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

FORMAT = 1
"""Today's."""

Step = Callable[[str, dict[str, Any]], dict[str, Any]]
"""What a document of a kind says in the next format."""

STEPS: Mapping[int, Step] = MappingProxyType({})
"""By the format that a step begins with."""


def is_earlier(data: Mapping[str, Any]) -> bool:
    """Whether a document says that it is of an earlier format which can be read."""
    number = data.get("format")
    return type(number) is int and number in STEPS


def in_todays(kind: str, data: dict[str, Any]) -> dict[str, Any]:
    """The document in today's format, where it is of an earlier one; else as it is."""
    while is_earlier(data):
        number = data["format"]
        data = STEPS[number](kind, data) | {"format": number + 1}
    return data
