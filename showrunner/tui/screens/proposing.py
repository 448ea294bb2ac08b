"""What the set's screen looks for on request: a better order, the best swap, stand-ins; shown first, then taken."""

from typing import Any, ClassVar, NamedTuple

from textual import work
from textual.binding import Binding, BindingType
from textual.widgets import Static
from textual.worker import Worker, WorkerState

from showrunner.book.files import FileChange, FileChanges
from showrunner.book.problems import BookError
from showrunner.book.read import Reading
from showrunner.book.standins import with_stand_ins
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.tui import running_order
from showrunner.tui.running_order import Changes
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.book import UNTOLD, BookScreen
from showrunner.tui.set_words import exchange_words, order_words, stand_in_words

LOOKS_FOR_S = 5.0
"""How long a better order is looked for."""


class Proposed(NamedTuple):
    """Another order of the show, None where none is better, and what it would bring in words."""

    show: Show | None
    words: str


class Found(NamedTuple):
    """Stand-ins that were found: the show's file with them, and what they would lose in words."""

    file: FileChange
    words: str


class ProposingScreen(BookScreen):
    """A screen on the show at hand that can propose changes of it; `tell` says again what is at its cursor."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "take", "Take it", id="set.take"),
        Binding("x", "refuse", "Leave it", id="set.refuse"),
        Binding("r", "better(False)", "Order", id="set.better", tooltip="A better order"),
        Binding("R", "better(True)", "Across", id="set.better_across", tooltip="A better order across sets"),
        Binding("w", "exchange", "Best swap", id="set.exchange", show=False),
        Binding("i", "stand_ins", "Stand-ins", id="set.stand_ins", show=False, tooltip="Stand-ins (⇄)"),
    ]
    OF_IT = frozenset(
        {"add", "better", "break", "exchange", "follows", "new_set", "open", "optional", "pin", "remove_set", "shift"}
        | {"stand_ins", "take_out", "this_set", "to", "tonight"}
    )
    _proposed: Proposed | None = None
    _looks_for: str = ""
    _row_at: str | None = None

    @property
    def the_show(self) -> Show | None:
        """The show at hand, if it is in the book."""
        return self.shelf.book.shows.get(self.shelf.show or "")

    @property
    def ready(self) -> bool:
        """Whether the show can be read."""
        return self.the_show is not None

    @property
    def rig(self) -> Rig | None:
        """The show's rig."""
        book = self.shelf.book
        return book.rigs.get(book.rig_of(self.the_show) or "")

    def tell(self) -> None:
        """Say what is proposed or looked for, else what is at the cursor."""
        said = self._proposed.words if self._proposed is not None else self._looks_for
        self.query_one(".detail", Static).update(said or self.at_cursor())

    def moved_to(self, row: str | None) -> None:
        """The cursor is on a row; on another than before, words of which nothing is to be taken go."""
        if row != self._row_at and self._proposed is not None and self._proposed.show is None:
            self._proposed = None
        self._row_at = row

    def at_cursor(self) -> str:
        """What is found at the cursor."""
        return ""

    def make(self, changes: Changes) -> bool:
        """Change keys of the show's file, in one step of undo; whether that could be done."""
        if not changes:
            self.notify("nothing would change by that here", timeout=2)
        return bool(changes) and self.shelf.show is not None and self.edit_all("show", self.shelf.show, changes)

    def raw(self) -> dict[str, Any]:
        """What the show's file says."""
        return self.shelf.raw("show", self.shelf.show or "")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Taking and leaving are there while an order is proposed, and sets are crossed where there are several."""
        if action in ("take", "refuse"):
            return self._proposed is not None and self._proposed.show is not None
        if action == "better" and parameters == (True,):
            return self.the_show is not None and len(self.the_show.sets) > 1
        return super().check_action(action, parameters)

    def action_better(self, across_sets: bool) -> None:
        """Look for the order that costs least in changeovers; shown first, taken only on request."""
        self._look("order", "looking for a better order …", across_sets)

    def action_exchange(self) -> None:
        """Look for the one exchange of two songs that helps most."""
        self._look("exchange", "looking for the swap that helps most …")

    def action_stand_ins(self) -> None:
        """Look for what can do the work of the controls that the show's rig lacks."""
        self._look("stand-ins", "looking for stand-ins …")

    def action_take(self) -> None:
        """Put the sets into the proposed order, in one step of undo."""
        proposed, show = self._proposed, self.the_show
        self.action_refuse()
        if proposed is None or proposed.show is None or show is None:
            return
        if sorted(show.set_songs) != sorted(proposed.show.set_songs) or len(show.sets) != len(proposed.show.sets):
            self.notify("the set has changed since; look again", severity="warning")
            return
        self.make(running_order.in_order(self.raw(), proposed.show))

    def action_refuse(self) -> None:
        """Leave the order as it is."""
        self._proposed = None
        self.refresh_bindings()
        self.tell()

    def _look(self, what: str, words: str, across_sets: bool = False) -> None:
        show, rig = self.the_show, self.rig
        if show is None or rig is None:
            self.notify("this needs a show and its rig", severity="warning")
            return
        self._proposed, self._looks_for = None, words
        self.refresh_bindings()
        self.query_one(".detail", Static).update(words)
        self._look_for(self.shelf.reading, self.shelf.show or "", what, rig, across_sets)

    @work(thread=True, group="proposal", exclusive=True, exit_on_error=False, description=UNTOLD)
    def _look_for(self, reading: Reading, slug: str, what: str, rig: Rig, across_sets: bool) -> Proposed | Found:
        book, show = reading.book, reading.book.shows[slug]
        if what == "stand-ins":
            from showrunner.planning.standins import stand_ins

            found = stand_ins(book, show, rig)
            by_song = {song.song: song.stand_ins for song in found}
            return Found(with_stand_ins(reading, slug, by_song), stand_in_words(found))
        from showrunner.planning.setorder import better_order, total_s

        if what == "exchange":
            from showrunner.planning.exchange import best_exchanges

            one = best_exchanges(book, show, rig)[:1]
            return Proposed(one[0].show if one else None, exchange_words(book, one, total_s(book, show, rig)))
        played = self.shelf.played(slug)
        better = better_order(book, show, rig, across_sets=across_sets, played=played, seconds=LOOKS_FOR_S)
        words = order_words(book, better)
        if len(show.sets) > 1 and not across_sets:
            words += "\nEach song stayed in its set; R looks for an order across sets, too."
        return Proposed(better.show if better.after_s < better.before_s else None, words)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What was found is shown here, on the screen's own thread."""
        if event.worker.group != "proposal" or event.state not in (WorkerState.SUCCESS, WorkerState.ERROR):
            return
        error, result = event.worker.error, event.worker.result
        self._looks_for = ""
        if event.state is WorkerState.ERROR:
            if not isinstance(error, ValueError | BookError):
                raise error or RuntimeError("nothing was found")
            self.query_one(".detail", Static).update(str(error))
        elif isinstance(result, Found):
            self._propose_stand_ins(result)
        elif isinstance(result, Proposed):
            self._proposed = result
            self.query_one(".detail", Static).update(result.words)
            self.refresh_bindings()

    def _propose_stand_ins(self, found: Found) -> None:
        self.tell()
        if found.file.after == found.file.before:
            words = f"the show has these already\n{found.words}" if found.words else ""
            self.notify(words or "no stand-in is needed: the rig lacks nothing that these songs want")
            return

        def answered(taken: bool | None) -> None:
            if taken:
                self.make_files(FileChanges((found.file,)))

        asks = "Stand-ins that lose least; take them?"
        self.app.push_screen(ProposalScreen(asks, found.words, "Take them", "Leave the show as it is"), answered)
