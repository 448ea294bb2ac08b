"""The takes of a song, a changeover or a show: when, how long, how clean; each to be looked at, played or deleted."""

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import Static

from showrunner.model.units import format_length
from showrunner.planning.practice_words import how_clean
from showrunner.takes.reviewing import Kept
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.widgets.foot import MORE, Foot
from showrunner.tui.widgets.table import Table

if TYPE_CHECKING:
    from showrunner.tui.screens.rehearse import RehearseScreen


class TakesScreen(Screen[None]):
    """A list of takes, newest first; `takes` gives them as they are now."""

    CSS_PATH = "rehearse.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "look", "How it went", id="takes.look", priority=True),
        Binding("p", "play", "Play it as the player", id="takes.play"),
        Binding("d", "delete", "Delete", id="takes.delete"),
        MORE,
        Binding("escape,q", "back", "Back", key_display="esc", id="takes.back"),
    ]

    def __init__(self, rehearse: "RehearseScreen", title: str, takes: Callable[[], list[Kept]]) -> None:
        super().__init__()
        self._rehearse, self._title, self._takes = rehearse, title, takes
        self._there: list[Kept] = []

    def compose(self) -> ComposeResult:
        yield Static(id="title", markup=False)
        yield Table(id="takes", cursor_type="row")
        yield Foot()

    def on_mount(self) -> None:
        """All of them."""
        self.query_one(Table).add_columns("take", "length", "how it went", "heard", "on")
        self.fill()
        self.query_one(Table).focus()

    def on_takes_read(self) -> None:
        """One may have been deleted meanwhile."""
        self.fill()

    def fill(self) -> None:
        """Show what there is."""
        table, found = self.query_one(Table), self._rehearse.found
        row = table.cursor_row
        self._there = [one for one in self._takes() if one.path.is_file()]
        table.clear()
        for one in self._there:
            heard = sum(event.direction == "in" for event in one.take.events)
            went = how_clean(found.reviews.get(one.name))
            table.add_row(one.name, format_length(one.length_s), went, f"{heard} in", one.take.rig or "")
        table.move_cursor(row=min(row, len(self._there) - 1))
        count = len(self._there)
        self.query_one("#title", Static).update(
            f"{self._title}: {count} take{'' if count == 1 else 's'}" if count else f"{self._title}: no takes yet"
        )

    @property
    def take(self) -> Kept | None:
        """The take that is chosen."""
        row = self.query_one(Table).cursor_row
        return self._there[row] if 0 <= row < len(self._there) else None

    def action_look(self) -> None:
        """How it went."""
        if self.take is not None:
            self._rehearse.review(self.take.path)

    def action_play(self) -> None:
        """Rehearse with it as the player."""
        one = self.take
        if one is not None and self._rehearse.choice is not None:
            self.dismiss()
            self._rehearse.play_take(one)

    def action_delete(self) -> None:
        """Ask, and delete it."""
        if self.take is not None:
            delete(self, self.take, self._gone)

    def _gone(self) -> None:
        self._rehearse.takes_changed()

    def action_back(self) -> None:
        """Back to what there is to rehearse."""
        self.dismiss()


def delete(screen: Screen[None], one: Kept, then: Callable[[], None]) -> None:
    """Ask whether a take is to be deleted, and delete it; `then` is called once it is gone."""

    def answered(taken: bool | None) -> None:
        if not taken:
            return
        try:
            one.path.unlink(missing_ok=True)
        except OSError as error:
            screen.notify(f"{one.name} can't be deleted: {error.strerror}", severity="error")
            return
        then()

    lines = f"{one.name}, {format_length(one.length_s)}\n\nIts file is deleted from the disk; there is no way back."
    screen.app.push_screen(ProposalScreen("Delete this take?", lines, "Delete it", "Keep it"), answered)
