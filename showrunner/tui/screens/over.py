"""A list over a screen on the book, which shows and undoes the changes that are made in it."""

from textual.screen import ScreenResultType

from showrunner.book.read import Reading
from showrunner.tui.screens.book import LOOKS_EVERY_S, BookScreen
from showrunner.tui.screens.leaving import AskingScreen


class OverScreen(AskingScreen[ScreenResultType]):
    """`fill` shows what the book says now, whoever read it anew; a list that has nothing to show any more is left."""

    def __init__(self, owner: BookScreen) -> None:
        super().__init__()
        self._owner = owner
        self._shown: Reading | None = None

    def on_mount(self) -> None:
        """Look for changes from outside from now on."""
        self.set_interval(LOOKS_EVERY_S, self._look_again)

    def fill(self) -> None:
        """Show what the book says now."""

    def catch_up(self) -> None:
        """Show the book if it was read anew, before anything is done with what is shown."""
        if self._shown not in (None, self._owner.shelf.reading):
            self.show_anew()

    def show_anew(self) -> None:
        """Show the book as it was read last."""
        self._shown = self._owner.shelf.reading
        self.fill()

    def action_undo(self) -> None:
        """Take the last change back."""
        self._owner.action_undo()
        self.show_anew()

    def action_redo(self) -> None:
        """Make it once more."""
        self._owner.action_redo()
        self.show_anew()

    def action_leave(self) -> None:
        """Back to the screen."""
        self.dismiss(None)

    def _look_again(self) -> None:
        if self.app.screen is self:
            self._owner.look_again()
            self.catch_up()
