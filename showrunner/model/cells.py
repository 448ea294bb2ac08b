"""How many characters' room a text takes on a screen with letters of one width, and making it fit."""

import unicodedata


def cells(text: str) -> int:
    """Room the text takes: two for a wide character, none for one that joins the one before."""
    return sum(_cells(char) for char in text)


def fit(text: str, room: int) -> str:
    """The text in exactly `room`: spaces after it, or cut off with an ellipsis."""
    if cells(text) > room:
        while text and cells(text) >= room:
            text = text[:-1]
        text += "…"
    return text + " " * (room - cells(text))


def cut(text: str, room: int) -> str:
    """The text as it is, or cut off with an ellipsis where it takes more than `room`."""
    return fit(text, room) if cells(text) > room else text


def whole_parts(text: str, room: int) -> str:
    """As many of the parts between `·` as there is room for, none of them cut; the first is always there."""
    parts = text.split(" · ")
    while len(parts) > 1 and cells(" · ".join(parts)) > room:
        parts.pop()
    return " · ".join(parts)


def _cells(char: str) -> int:
    if unicodedata.category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1
