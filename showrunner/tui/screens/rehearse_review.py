"""How a take went: every moment against the plan; over all takes; and what the book as it is now would do otherwise."""

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import Worker, WorkerState

from showrunner.model.units import format_length
from showrunner.takes.replaying import UnknownTakeError
from showrunner.takes.reviewing import Kept
from showrunner.tui.rehearse_words import over_takes, replay_lines, review_lines
from showrunner.tui.widgets.foot import MORE, Foot

if TYPE_CHECKING:
    from showrunner.tui.screens.rehearse import RehearseScreen


class ReviewScreen(Screen[None]):
    """One take; it is read through on a thread. `kept` is whether it is in the book."""

    CSS_PATH = "rehearse.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("v", "replay", "Against the book now", id="review.replay"),
        Binding("a", "again", "Rehearse it again", id="review.again"),
        Binding("d", "delete", "Delete the take", id="review.delete"),
        MORE,
        Binding("escape,q,enter", "back", "Back", key_display="esc", id="review.back"),
    ]

    def __init__(self, rehearse: "RehearseScreen", one: Kept, *, kept: bool = True) -> None:
        super().__init__()
        self._rehearse, self._one, self._kept = rehearse, one, kept
        self._asked = False

    def compose(self) -> ComposeResult:
        yield Static(id="title", markup=False)
        with VerticalScroll(id="body"):
            yield Static("looking at it …", id="review", markup=False)
            yield Static(id="over", markup=False)
            yield Static(id="replayed", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Read it through."""
        name = f"kept as {self._one.name}" if self._kept else "not kept: a take was the player"
        self.query_one("#title", Static).update(f"{name}, {format_length(self._one.length_s)}")
        width = self._width
        self.run_worker(lambda: self._reviewed(width), thread=True, group="review", exit_on_error=False)
        if not self._rehearse.reads:
            self.on_takes_read()
        body = self.query_one("#body")
        self.watch(body, "virtual_size", self._has_room, init=False)
        body.focus()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What a thread has found is shown."""
        if event.state is WorkerState.SUCCESS and event.worker.group in ("review", "replayed"):
            self.query_one(f"#{event.worker.group}", Static).update("\n".join(event.worker.result or ()))
            if event.worker.group == "replayed":
                self._asked = True
                self.call_after_refresh(self._to_replayed)
        elif event.state is WorkerState.ERROR:
            words = f"it can't be looked at: {event.worker.error}"
            self.query_one(f"#{event.worker.group}", Static).update(words)

    def _has_room(self) -> None:
        """There is room now for the lines of what was asked for."""
        if self._asked:
            self._asked = False
            self.call_after_refresh(self._to_replayed)

    def _to_replayed(self) -> None:
        self.query_one("#body").scroll_to_widget(self.query_one("#replayed"), top=True, animate=False)

    def on_takes_read(self) -> None:
        """What all takes show of these songs."""
        songs = {*self._one.songs, self._one.path.parent.name}
        lines = over_takes(self._rehearse.shelf.book, self._rehearse.found.spots, songs, self._width)
        self.query_one("#over", Static).update("\n".join(["", *lines]))

    def action_replay(self) -> None:
        """What the book as it is now makes of what was played."""
        self._rehearse.shelf.refresh()
        width = self._width
        self.run_worker(lambda: self._replayed(width), thread=True, group="replayed", exit_on_error=False)

    def action_again(self) -> None:
        """The same once more."""
        self.dismiss()
        self._rehearse.call_after_refresh(self._rehearse.action_start)

    def action_delete(self) -> None:
        """Ask, and delete it."""
        from showrunner.tui.screens.rehearse_takes import delete

        if self._kept:
            delete(self, self._one, self._gone)

    def action_back(self) -> None:
        """Back to where it was come from."""
        self.dismiss()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Only what is in the book can be deleted."""
        return self._kept or action != "delete"

    def _gone(self) -> None:
        self._rehearse.takes_changed()
        self.dismiss()

    @property
    def _width(self) -> int:
        return max(40, self.size.width - 4)

    def _reviewed(self, width: int) -> list[str]:
        try:
            return list(review_lines(self._rehearse.shelf.book, self._one, width))
        except UnknownTakeError as error:
            return [str(error)]

    def _replayed(self, width: int) -> list[str]:
        try:
            return ["", *replay_lines(self._rehearse.shelf.book, self._one, width)]
        except UnknownTakeError as error:
            return ["", str(error)]
