"""A zone of the screen in big letters."""

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget

from showrunner.live.seen import Wordings
from showrunner.tui.lettering import NOTHING_TO_READ, Set, typeset

_TURNED = str.maketrans(" █▀▄", "█ ▄▀")
"""Each block with its other half."""


class BigType(Widget):
    """Items in the largest letters that its room allows, `edge` cells from its left; repainted only for other words."""

    def __init__(self, *, id: str | None = None, classes: str | None = None, edge: int = 0) -> None:  # noqa: A002
        super().__init__(id=id, classes=classes)
        self._edge = edge
        self._items: tuple[Wordings, ...] = ()
        self._lit = False

    @property
    def words(self) -> str:
        """What it says, in the fullest wordings."""
        return " · ".join(item[0] for item in self._items if item[0])

    @property
    def letter_rows(self) -> float:
        """Height of its letters in rows."""
        return self._set().letter_rows if self.display else NOTHING_TO_READ

    def rows_for(self, items: Sequence[Wordings], rows: Sequence[int], least: float) -> int:
        """The first of these heights in which all items stand in letters of `least` rows; the last if none does."""
        for height in rows:
            told = typeset(items, self._room, height)
            if told.whole and told.letter_rows >= least:
                return height
        return rows[-1]

    def say(self, items: Sequence[Wordings]) -> None:
        """Show these items."""
        if tuple(items) != self._items:
            self._items = tuple(items)
            self.set_class(not self.words, "-empty")
            self.refresh()

    def light(self, lit: bool) -> None:
        """Fill the whole zone and cut the letters out of it, or show them as they are: seen without any colour."""
        if lit != self._lit:
            self._lit = lit
            self.refresh()

    def render(self) -> Content:
        width, height = self.content_size
        lines = [(" " * self._edge + line)[:width] for line in self._set().lines]
        if self._lit:
            lines += [""] * (height - len(lines))
            lines = [line.ljust(width).translate(_TURNED) for line in lines[:height]]
        return Content("\n".join(lines))

    @property
    def _room(self) -> int:
        return max(0, self.content_size.width - self._edge)

    def _set(self) -> Set:
        return typeset(self._items, self._room, self.content_size.height)
