"""What a night really took, planned against played, and closing it."""

from typing import ClassVar

from showrunner.tui.screens.book import BookScreen


class AfterScreen(BookScreen):
    """What a night really took, planned against played, and closing it."""

    place: ClassVar[str] = "after"
