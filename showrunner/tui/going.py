"""The way from one screen on the book to another: a message that the program routes."""

from typing import TYPE_CHECKING

from textual.message import Message

if TYPE_CHECKING:
    from showrunner.tui.settings import Settings
    from showrunner.tui.shelf import Shelf


class Go(Message):
    """Another screen on the same book is wanted, by its name."""

    def __init__(self, place: str, shelf: "Shelf", settings: "Settings") -> None:
        super().__init__()
        self.place, self.shelf, self.settings = place, shelf, settings
