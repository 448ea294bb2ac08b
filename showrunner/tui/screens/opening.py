"""The frame of the book's screens, there before anything is read: it reads the book on a thread and keeps the keys."""

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.events import Key
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import Worker, WorkerState

from showrunner.tui.going import Opened, places_line
from showrunner.tui.settings import Settings
from showrunner.tui.widgets.foot import Foot

if TYPE_CHECKING:
    from showrunner.tui.screens.book import BookScreen

OWN = frozenset({"q", "ctrl+q", "ctrl+c", "ctrl+z"})
"""Keys that leave at once; every other one is kept for the screen that comes."""
WAITS_S = 0.05


class OpeningScreen(Screen[None]):
    """Opens one of the book's screens by its name; what is typed meanwhile is given to it in order."""

    CSS_PATH = "book.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("q", "app.quit", "Quit", id="app.quit"),
    ]

    def __init__(
        self,
        root: Path,
        place: str,
        settings: Settings | None = None,
        *,
        show: str | None = None,
        song: str | None = None,
    ) -> None:
        super().__init__()
        self._root, self._place, self._settings = root, place, settings or Settings()
        self._show, self._song = show, song
        self._keys: list[Key] = []
        self._opened: BookScreen | None = None

    def compose(self) -> ComposeResult:
        yield Static(places_line(self._place), id="where", markup=False)
        yield Static(f"reading BOOK {self._root} …", id="reading", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Read once the frame is painted."""
        self.call_after_refresh(self._read)

    def on_key(self, event: Key) -> None:
        """Keep what is typed for the screen that comes."""
        if event.key not in OWN:
            self._keys.append(event)
            event.stop()

    def _read(self) -> None:
        self.run_worker(self._made, thread=True, group="opening", exit_on_error=False)

    def _made(self) -> "BookScreen":
        """Load what the screen needs, and read the book."""
        from showrunner.tui.app import place
        from showrunner.tui.shelf import Shelf

        shelf = Shelf(self._root)
        shelf.show, shelf.song = self._show or shelf.show, self._song or shelf.song
        return place(self._place)(shelf, self._settings)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Go on to the screen, or say why it can't be."""
        if event.worker.group != "opening":
            return
        if event.state is WorkerState.SUCCESS:
            self._opened = event.worker.result
            self._go_on()
        elif event.state is WorkerState.ERROR:
            error = event.worker.error
            mend = getattr(error, "mend", "") or "mend it and open it again"
            words = f"the book {self._root} can't be read: {getattr(error, 'what', error)}; {mend}"
            self.query_one("#reading", Static).update(words)
            if not isinstance(error, OSError) and not hasattr(error, "what"):
                raise error or RuntimeError(words)

    def _go_on(self) -> None:
        if self._opened is None:
            return
        if self.app.screen is not self:
            self.set_timer(WAITS_S, self._go_on)
            return
        self.post_message(Opened(self._opened, self._keys))
