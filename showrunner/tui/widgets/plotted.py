"""A plot of a curve that the mouse moves the pedal on."""

from collections.abc import Mapping

from textual.events import MouseDown, MouseMove, MouseUp
from textual.message import Message
from textual.widgets import Static

from showrunner.curves.plot import plot, travel_at
from showrunner.model.rig import Target
from showrunner.model.song import Curve

NARROWEST, LOWEST, TALLEST = 40, 2, 36


class Plotted(Static):
    """All rows of a curve over the travel; a press of the mouse puts the pedal there, and takes it along."""

    class Moved(Message):
        """The pedal was put to a travel, %."""

        def __init__(self, travel: float) -> None:
            super().__init__()
            self.travel = travel

    def __init__(self, *, id: str) -> None:  # noqa: A002
        super().__init__(id=id, markup=False)
        self._curve: Curve | None = None
        self._targets: Mapping[str, Target] = {}
        self._pressed = False

    def draw(self, curve: Curve | None, targets: Mapping[str, Target], travel: float, nothing: str = "") -> None:
        """Show a curve with its control at a travel, %; `nothing` where there is no curve."""
        self._curve, self._targets = curve, targets
        if curve is None or not curve.moves:
            self.update(nothing if curve is None else "this curve moves nothing yet: a adds a row")
            return
        width, height = self.content_size
        room = max(LOWEST, height - len(curve.moves) - 2)
        self.update("\n".join(plot(curve, targets, max(NARROWEST, width), min(room, TALLEST), travel)))

    def on_mouse_down(self, event: MouseDown) -> None:
        """The pedal goes where the mouse is."""
        self._pressed = True
        self.capture_mouse()
        self._put(event)

    def on_mouse_move(self, event: MouseMove) -> None:
        """And along with it."""
        if self._pressed:
            self._put(event)

    def on_mouse_up(self, _: MouseUp) -> None:
        """Until it is let go."""
        self._pressed = False
        self.release_mouse()

    def _put(self, event: MouseDown | MouseMove) -> None:
        if self._curve is not None and self._curve.moves:
            width = max(NARROWEST, self.content_size.width)
            cell = event.x - self.gutter.left
            self.post_message(self.Moved(round(travel_at(self._curve, self._targets, width, cell), 1)))
