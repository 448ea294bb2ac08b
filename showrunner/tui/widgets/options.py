"""A list of which one thing is chosen."""

from typing import Literal

from textual.widgets import OptionList


class Options(OptionList):
    """Textual's list, which knows no pages until it was laid out; on a terminal of a few cells it never is."""

    def _move_page(self, direction: Literal[-1, 1]) -> None:
        if self.content_size.height and self.content_size.width:
            super()._move_page(direction)
