"""The keys at the foot of a screen: as many as there is room for, each whole; the palette has the others."""

from textual.app import ComposeResult
from textual.events import Resize
from textual.widgets import Footer
from textual.widgets._footer import FooterKey

from showrunner.model.cells import cells


class Foot(Footer):
    """Textual's footer, which would cut a key off at the right edge."""

    def __init__(self) -> None:
        super().__init__(compact=True, show_command_palette=False)
        self._width = 0

    def on_mount(self) -> None:
        """The keys at once: a foot that comes later than its screen is told of none until something changes."""
        self.bindings_changed(self.screen)

    def compose(self) -> ComposeResult:
        left = self.app.size.width
        for part in super().compose():
            if isinstance(part, FooterKey):
                left -= cells(f"{part.key_display} {part.description}")
                if left < 0:
                    return
                left -= 1
            yield part

    async def on_resize(self, event: Resize) -> None:
        """More keys, or fewer."""
        if event.size.width != self._width:
            self._width = event.size.width
            await self.recompose()
