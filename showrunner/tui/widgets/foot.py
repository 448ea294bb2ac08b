"""The keys at the foot of a screen: as many as there is room for, each whole; the palette has the others."""

from itertools import accumulate
from typing import ClassVar, NamedTuple

from rich.segment import Segment
from rich.style import Style
from textual.binding import Binding
from textual.events import Leave, MouseDown, MouseMove
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

from showrunner.model.cells import cells

MORE = Binding("question_mark", "app.command_palette", "More", id="app.more", tooltip="Every key of this screen")
"""For the keys of a screen that has more of them than there is room for."""


class Offer(NamedTuple):
    """A key with what it does, and whether that can be done now."""

    key: str
    shown: str
    words: str
    tooltip: str
    enabled: bool

    @property
    def width(self) -> int:
        """The room it takes, with the space after it."""
        return cells(f"{self.shown} {self.words} ")


class Foot(Widget):
    """One line. Textual's footer cuts a key off at the right edge, and makes a widget of each whenever one changes."""

    ALLOW_SELECT = False
    COMPONENT_CLASSES: ClassVar[set[str]] = {"foot--key", "foot--words"}
    DEFAULT_CSS = """
    Foot {
        dock: bottom;
        height: 1;
        color: $footer-foreground;
        background: $footer-background;
        & > .foot--key {
            color: $footer-key-foreground;
            background: $footer-key-background;
            text-style: bold;
        }
        & > .foot--words {
            color: $footer-description-foreground;
            background: $footer-description-background;
        }
    }
    """

    def __init__(self) -> None:
        super().__init__()
        self._offers: tuple[Offer, ...] = ()

    @property
    def offers(self) -> tuple[Offer, ...]:
        """The keys that are shown, from the left."""
        ends = accumulate(offer.width for offer in self._offers)
        return tuple(offer for offer, end in zip(self._offers, ends, strict=True) if end - 1 <= self.size.width)

    def on_mount(self) -> None:
        """Show the keys once the screen has begun, and whenever others can be pressed."""
        self.screen.call_later(self._begin)

    def on_unmount(self) -> None:
        """Hear of no more."""
        self.screen.bindings_updated_signal.unsubscribe(self)

    def _begin(self) -> None:
        if self.is_attached:
            self.screen.bindings_updated_signal.subscribe(self, self._look)
            self._look(self.screen)

    def _look(self, screen: Screen[object]) -> None:
        if self.is_attached and screen is self.screen and self.app.app_focus:
            self.call_after_refresh(self._show)

    def _show(self) -> None:
        """The keys of all actions that have one to be shown, the first of each; drawn only where others are."""
        if not self.is_attached:
            return
        found: dict[str, Offer] = {}
        for _, binding, enabled, tooltip in self.screen.active_bindings.values():
            if binding.show and binding.action not in found:
                shown = self.app.get_key_display(binding)
                found[binding.action] = Offer(binding.key, shown, binding.description, tooltip, enabled)
        if self._offers != (offers := tuple(found.values())):
            self._offers = offers
            self.refresh()

    def render_line(self, y: int) -> Strip:  # noqa: ARG002
        key, words = (self.get_component_rich_style(name) for name in ("foot--key", "foot--words"))
        dim, ground = Style(dim=True), Style(bgcolor=self.rich_style.bgcolor)
        segments: list[Segment] = []
        for offer in self.offers:
            for text, style in ((offer.shown, key), (f" {offer.words}", words)):
                segments.append(Segment(text, style if offer.enabled else style + dim))
            segments.append(Segment(" ", ground))
        return Strip(segments).adjust_cell_length(self.size.width, ground)

    def _at(self, x: int) -> Offer | None:
        ends = accumulate(offer.width for offer in self.offers)
        return next((offer for offer, end in zip(self.offers, ends, strict=True) if x < end - 1), None)

    def on_mouse_down(self, event: MouseDown) -> None:
        """Press the key under the mouse."""
        offer = self._at(event.x)
        if offer is not None and offer.enabled:
            self.app.simulate_key(offer.key)
        elif offer is not None:
            self.app.bell()

    def on_mouse_move(self, event: MouseMove) -> None:
        """Say more of the key under the mouse."""
        offer = self._at(event.x)
        self.tooltip = offer.tooltip or None if offer is not None else None
        self.styles.pointer = "pointer" if offer is not None and offer.enabled else "default"

    def on_leave(self, _: Leave) -> None:
        """Say nothing more."""
        self.tooltip = None
