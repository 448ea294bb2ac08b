"""A zone of the screen in big letters."""

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget

from showrunner.live.seen import Wordings
from showrunner.tui.lettering import NOTHING, NOTHING_TO_READ, OWN_LETTER_ROWS, TURNED, Set, lowered, typeset


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
        self._set_as: Set | None = NOTHING
        self._lit = False

    @property
    def words(self) -> str:
        """What it says, as it is worded."""
        return " · ".join(self.told.said)

    @property
    def told(self) -> Set:
        """What it says as it is set."""
        if self._set_as is not None:
            return self._set_as
        return typeset(self._items, max(0, self.content_size.width - self._edge), self.content_size.height)

    @property
    def letter_rows(self) -> float:
        """Height of its letters in rows."""
        return self.told.letter_rows if self.display else NOTHING_TO_READ

    def say(self, items: Sequence[Wordings]) -> None:
        """Set these items in what room there is, and show them."""
        if self._set_as is not None or tuple(items) != self._items:
            self._items, self._set_as = tuple(items), None
            self.refresh()

    def show(self, told: Set) -> None:
        """Show what has been set already."""
        if told != self._set_as:
            self._set_as = told
            self.set_class(not told.lines, "-empty")
            self.refresh()

    def light(self, lit: bool) -> None:
        """Fill the whole zone and cut the letters out of it, or show them as they are: seen without any colour."""
        if lit != self._lit:
            self._lit = lit
            self.refresh()

    def render(self) -> Content:
        width, height = self.content_size
        told = self.told.lines
        set_down = lowered(told, height) if self._low and self.letter_rows > OWN_LETTER_ROWS else told
        lines = [(" " * self._edge + line)[:width] for line in set_down]
        if self._lit:
            lines += [""] * (height - len(lines))
            lines = [line.ljust(width).translate(TURNED) for line in lines[:height]]
        return Content("\n".join(lines))
