"""A zone of the screen in big letters."""

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget

from showrunner.live.seen import Wordings
from showrunner.tui.lettering import NOTHING_TO_READ, OWN_LETTER_ROWS, Set, lowered, typeset

_TURNED = str.maketrans(" █▀▄", "█ ▄▀")
"""Each block with its other half."""


class BigType(Widget):
    """Items in the largest letters that its room allows, `edge` cells from its left; repainted only for other words.

    A `low` one has them at the bottom of its room.
    """

    def __init__(
        self,
        *,
        id: str | None = None,  # noqa: A002
        classes: str | None = None,
        edge: int = 0,
        low: bool = False,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._edge, self._low = edge, low
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

    def rows_for(self, items: Sequence[Wordings], heights: Sequence[int], roomy: int, least: float) -> int:
        """Of these heights the one up to `roomy` rows in which all items stand in the largest letters.

        Where those have not `least` rows, the first height in which they do; the last if none does.
        """
        told = [(height, typeset(items, self._room, height)) for height in heights]
        whole = [(height, each.letter_rows) for height, each in told if each.whole and each.letter_rows >= least]
        within = [(-rows, height) for height, rows in whole if height <= roomy]
        return min(within)[1] if within else whole[0][0] if whole else heights[-1]

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
        told = self._set().lines
        set_down = lowered(told, height) if self._low and self.letter_rows > OWN_LETTER_ROWS else told
        lines = [(" " * self._edge + line)[:width] for line in set_down]
        if self._lit:
            lines += [""] * (height - len(lines))
            lines = [line.ljust(width).translate(_TURNED) for line in lines[:height]]
        return Content("\n".join(lines))

    @property
    def _room(self) -> int:
        return max(0, self.content_size.width - self._edge)

    def _set(self) -> Set:
        return typeset(self._items, self._room, self.content_size.height)
