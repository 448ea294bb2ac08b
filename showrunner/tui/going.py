"""The ways between the screens on the book: their places, and the messages that the program routes."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.events import Key
from textual.message import Message

if TYPE_CHECKING:
    from showrunner.tui.screens.book import BookScreen
    from showrunner.tui.settings import Settings
    from showrunner.tui.shelf import Shelf

PLACES = {
    "shows": "Shows",
    "set": "Set",
    "songs": "Songs",
    "song": "Song",
    "lists": "Lists",
    "rig": "Rig",
    "soundcheck": "Soundcheck",
    "rehearse": "Rehearse",
    "after": "After",
}
"""The screens on the book by name, in the order of their keys, 1 and up."""

SHOWN_ON = {"show": ("shows", "set"), "song": ("songs", "song"), "rig": ("rig", "rig"), "checklist": ("lists", "lists")}
"""Where a document of a kind is listed, and where it is shown; venues and the book's own file have no screen."""


def places_line(at: str) -> str:
    """All places with their keys, the one at hand in brackets."""
    return " ".join(
        f"[{number} {title}]" if name == at else f"{number} {title}"
        for number, (name, title) in enumerate(PLACES.items(), 1)
    )


class Go(Message):
    """Another screen on the same book is wanted, by its name; `anew` where the one that is up begins again, too."""

    def __init__(self, place: str, shelf: "Shelf", settings: "Settings", *, anew: bool = False) -> None:
        super().__init__()
        self.place, self.shelf, self.settings, self.anew = place, shelf, settings, anew


class Opened(Message):
    """A screen on the book is ready to be shown, and was typed for before it was."""

    def __init__(self, screen: "BookScreen", keys: Sequence[Key]) -> None:
        super().__init__()
        self.screen, self.keys = screen, keys
