"""What every screen on the book shares: the way to the others, undo, and looking again when a file changes."""

from asyncio import to_thread
from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar, TypeVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Static

from showrunner.book.data import same
from showrunner.book.files import FileChanges
from showrunner.book.problems import BookError
from showrunner.model.cells import cells
from showrunner.model.keys import KeyPath
from showrunner.tui.editor import edit_in
from showrunner.tui.going import PLACES, SHOWN_ON, Go, places_line
from showrunner.tui.made import NOT_SAID, NOTHING_CHOSEN, Choice, Chosen, ClashError, Made
from showrunner.tui.screens.leaving import LeavingScreen
from showrunner.tui.settings import Settings
from showrunner.tui.shelf import Shelf
from showrunner.tui.unread import OPENS, unread_of
from showrunner.tui.widgets.foot import MORE, Foot

LOOKS_EVERY_S = 0.5
UNTOLD = "with documents"
"""What a worker is described by that is given documents: without it Textual spells out every one of them."""
T = TypeVar("T")
R = TypeVar("R")


class BookScreen(LeavingScreen[None]):
    """A screen on the book: `place` is its name, `fill` shows what the book says now."""

    place: ClassVar[str] = ""
    OF_IT: ClassVar[frozenset[str]] = frozenset()
    """Actions that are offered only where what the screen is about is `ready`."""
    CSS_PATH = "book.tcss"
    VERTICAL_BREAKPOINTS = [(0, "-usual"), (44, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(str(number), f"go('{name}')", title, id=f"go.{name}", show=False)
            for number, (name, title) in enumerate(PLACES.items(), 1)
        ),
        Binding("u", "undo", "Undo", id="book.undo"),
        Binding("exclamation_mark", "mend", "To mend", id="book.mend", show=False, tooltip="All that is to be mended"),
        Binding("ctrl+e", "editor", "In the editor", id="book.editor", show=False),
        Binding("U,ctrl+y", "redo", "Redo", id="book.redo", show=False),
        Binding("q", "app.quit", "Quit", id="app.quit"),
        MORE,
    ]

    def __init__(self, shelf: Shelf, settings: Settings | None = None) -> None:
        super().__init__()
        self.shelf, self.settings = shelf, settings or Settings()
        self._shown, self._opened = shelf.reading, False

    def compose(self) -> ComposeResult:
        yield Static(id="where", markup=False)
        yield from self.parts()
        yield Foot()

    def parts(self) -> ComposeResult:
        """What the screen is made of."""
        yield from ()

    def fill(self) -> None:
        """Show what the book says now."""

    @property
    def stale(self) -> bool:
        """Whether the book was read anew and is still to be shown."""
        return self.shelf.reading is not self._shown

    def catch_up(self) -> None:
        """Show the book if it was read anew, before anything is done with what is shown."""
        if self._opened and self.stale and not self.leaving:
            self.done()

    async def _dispatch_message(self, message: Message) -> None:
        """Whatever comes finds the screen as the book is; whoever reads it anew has not to think of that."""
        self.catch_up()
        await super()._dispatch_message(message)

    def on_mount(self) -> None:
        """Show the book, and look for changes from outside from then on."""
        self.open_up()
        self.set_interval(LOOKS_EVERY_S, self._look_again)

    def open_up(self) -> None:
        """Show the book for the first time; a screen that has more to do then does it around this.

        Not in a handler of its own for `Mount`: Textual calls those of all classes, one after another.
        """
        self.shelf.here = lambda: (self.place, self.at_hand())
        self._show_anew()
        self._opened = True
        self._say_settled()

    def on_resize(self) -> None:
        """The book's name stands where there is room for all of it."""
        self._head()

    @work(group="played", exclusive=True)
    async def reckon_with_played(self) -> None:
        """Read runs and takes beside the screen, and show times that rest on them if it is still there."""
        played = await to_thread(self.shelf.read_played)
        if played is not None:
            self.shelf.reckon_with(played)
            if not self.leaving:
                self.reckoned()

    def reckoned(self) -> None:
        """Show the times anew."""
        self.fill()

    def done(self) -> None:
        """After a change or an undo: show it."""
        self._show_anew()

    def _show_anew(self) -> None:
        self._shown = self.shelf.reading
        self._head()
        self.fill()

    def edit(self, kind: str, slug: str, key: KeyPath, after: Any, *, seen: Any = NOT_SAID) -> bool:
        """Change the book and show it; whether it could be done, else why not is said.

        Where the file says something new by now both are shown, and `settled` is called once one is chosen; if none
        is, a line that was typed for it stays.
        """
        return self._edit(kind, slug, {key: after}, {} if seen is NOT_SAID else {key: seen})

    def edit_all(self, kind: str, slug: str, changes: Mapping[KeyPath, Any], *, seen: Any = NOT_SAID) -> bool:
        """The same for several keys of one file, in one step of undo; `seen` is what stood at the first of them."""
        return self._edit(kind, slug, changes, {} if seen is NOT_SAID else {next(iter(changes)): seen})

    def make_files(self, changes: FileChanges) -> bool:
        """Make changes of whole files and show them; whether it could be done, else why not is said."""
        try:
            self.shelf.change_files(changes)
        except BookError as error:
            self.say(error)
            return False
        self.done()
        return True

    def settled(self) -> None:
        """After one of two versions was chosen; a line that was typed for it is left."""
        self.call_later(self._leave_line)

    def _leave_line(self) -> None:
        from showrunner.tui.screens.asked import LineScreen

        if isinstance(self.app.screen, LineScreen):
            self.app.screen.dismiss(None)

    def _edit(self, kind: str, slug: str, changes: Mapping[KeyPath, Any], seen: Mapping[KeyPath, Any]) -> bool:
        try:
            self.shelf.change_all(kind, slug, changes, seen=seen)
        except ClashError as clash:
            self.done()
            self._choose(kind, slug, clash, changes)
            return False
        except BookError as error:
            self.say(error)
            return False
        self.done()
        return True

    def _choose(self, kind: str, slug: str, clash: ClashError, changes: Mapping[KeyPath, Any]) -> None:
        from showrunner.tui.screens.asked import ClashScreen

        def chosen(kept: tuple[Any] | None) -> None:
            if kept is None:
                return
            if same(kept[0], clash.theirs) or self._edit(kind, slug, {**changes, clash.key: kept[0]}, clash.seen):
                self.settled()

        self.app.push_screen(ClashScreen(clash), chosen)

    @property
    def ready(self) -> bool:
        """Whether what the screen is about is there."""
        return self.at_hand() is not None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """A key that could do nothing is not offered."""
        return self.at_hand() is not None if action == "editor" else action not in self.OF_IT or self.ready

    def another(self, what: str, names: Sequence[str], now: str | None, way: int = 1) -> str | None:
        """The next of several names, or the one before; None, and that is said, where there is no other."""
        if not set(names) - {now}:
            self.notify(f"there is no other {what}", timeout=2)
            return None
        return names[(names.index(now) + way) % len(names)] if now in names else names[0]

    def at_hand(self) -> tuple[str, str] | None:
        """Kind and slug of the file at hand, if there is one: the show's, where the screen has none of its own."""
        return ("show", self.shelf.show) if self.shelf.show is not None else None

    def action_editor(self) -> None:
        """Open the file at hand in the user's own editor; the screens come back when it is left."""
        at_hand = self.at_hand()
        if at_hand is not None:
            self.open_in_editor(self.shelf.reading.file(*at_hand))

    def open_in_editor(self, file: str) -> None:
        """Open a file of the book in the user's own editor, and show what it says then."""
        try:
            edit_in(self.app, self.shelf.root / file)
        except BookError as error:
            self.say(error)
        self.shelf.refresh()
        self.done()

    def action_mend(self) -> None:
        """All that is to be mended in the book, with the ways to it."""
        from showrunner.tui.screens.mending import MendingScreen

        if self.shelf.reading.problems:
            self.app.push_screen(MendingScreen(self), self._go_to)
        else:
            self.notify("nothing is to be mended: every file of the book can be read")

    def _go_to(self, name: tuple[str, str] | None) -> None:
        """To the screen that shows a document, that one at hand."""
        if name is None:
            return
        kind, slug = name
        if kind in ("show", "song"):
            setattr(self.shelf, kind, slug)
        listed, shown = SHOWN_ON[kind]
        self.shelf.chosen[shown] = slug
        place = listed if unread_of(self.shelf.reading, kind, slug) is not None else shown
        self.post_message(Go(place, self.shelf, self.settings, anew=True))

    def say(self, error: BookError) -> None:
        """An error in words, where it covers nothing for long."""
        self.notify(f"{error.what}; {error.mend}" if error.mend else error.what, severity="error")

    def can_read(self, kind: str, slug: str | None) -> bool:
        """Whether a document is good to be worked on; where it can't be read why not is said."""
        wrong = unread_of(self.shelf.reading, kind, slug)
        if wrong is not None:
            self.say(BookError(wrong.first, OPENS))
        return wrong is None

    def for_this(
        self, answer: Callable[[T], R], otherwise: R, there: Callable[[], bool] = lambda: True
    ) -> Callable[[T], R]:
        """An answer that counts only for what it was asked of: the document at hand, and what is `there` in it."""
        asked = self.at_hand()

        def answered(given: T) -> R:
            if self.at_hand() == asked and there():
                return answer(given)
            if given is not None:
                self.say(BookError("what this was asked of is not there any more", "nothing was changed"))
            return otherwise

        return answered

    def instead(self, head: str, otherwise: str, *wanted: tuple[str, str | None]) -> None:
        """Say what is wrong in the first that is wanted and can't be read, else what to do."""
        found = (unread_of(self.shelf.reading, kind, slug) for kind, slug in wanted)
        first, *rest = next((wrong.lines() for wrong in found if wrong is not None), [otherwise])
        self.query_one(head, Static).update(first)
        self.query_one(".detail", Static).update("\n".join(rest))

    def go(self, place: str) -> None:
        """To another screen on the book."""
        self.post_message(Go(place, self.shelf, self.settings))

    def action_go(self, place: str) -> None:
        """To another screen on the book."""
        self.go(place)

    def action_undo(self) -> None:
        """Take the last change back."""
        self.again(back=True)

    def action_redo(self) -> None:
        """Make it once more."""
        self.again(back=False)

    def again(self, *, back: bool) -> None:
        """Take the last change back, or make it once more: at once where it is seen here, else once it was asked."""
        made = self.shelf.next_step(back=back)
        if made is None or self.sees(made):
            self._again(back=back)
            return

        from showrunner.tui.screens.asked import ProposalScreen

        def answered(taken: bool | None) -> None:
            if taken:
                self._again(back=back)

        asks, does = ("Take back", "Take it back") if back else ("Make again", "Make it again")
        where = PLACES.get(made.place, "another screen")
        question = ProposalScreen(f"{asks} what was done on {where}?", made.words, does, "Leave it")
        self.app.push_screen(question, answered)

    def sees(self, made: Made) -> bool:
        """Whether a step was made on this screen, on what is at hand; one that no screen made is nowhere else."""
        return not made.place or (made.place == self.place and made.at_hand == self.at_hand())

    def _again(self, *, back: bool, chosen: Chosen = NOTHING_CHOSEN) -> None:
        words = "taken back" if back else "made again"
        try:
            file = self.shelf.undo(chosen) if back else self.shelf.redo(chosen)
        except ClashError as clash:
            self.done()
            self._choose_again(clash, back, chosen)
            return
        except BookError as error:
            self.say(error)
            return
        self.notify(f"{file}: {words}" if file is not None else f"nothing to be {words}", timeout=2)
        self.done()

    def _choose_again(self, clash: ClashError, back: bool, chosen: Chosen) -> None:
        """Show what taking a step back, or making it again, would put over the file's own version; Escape does none."""
        from showrunner.tui.screens.asked import ClashScreen

        def kept(stands: tuple[Any] | None) -> None:
            if stands is None:
                return
            if same(stands[0], clash.theirs):
                self.shelf.pass_over(back=back)
                self.notify(f"{clash.file}: left as it is", timeout=2)
            else:
                self._again(back=back, chosen={**chosen, clash.key: Choice(clash.theirs, stands[0])})

        mine, does = ("taken back", "Take it back") if back else ("made again", "Make it again")
        self.app.push_screen(ClashScreen(clash, "was changed outside since.", mine, does), kept)

    def _look_again(self) -> None:
        """Whoever read the book anew: a screen over this one may have."""
        if self.app.screen is self:
            self.look_again()

    def look_again(self) -> None:
        """Read the book if it has changed since, and show it."""
        self.shelf.refresh()
        self.catch_up()
        self._say_settled()

    def _say_settled(self) -> None:
        """Say which changes another program had left half done, and what became of them."""
        while self.shelf.half_done:
            self.notify(str(self.shelf.half_done.pop(0)), severity="warning", timeout=20)

    def _head(self) -> None:
        problems = self.shelf.reading.problems
        trouble = f"\n{len(problems)} to mend (!): {problems[0]}" if problems else ""
        places = places_line(self.place)
        named = f"{places}  {self.shelf.book.name or 'the book'}"
        where = named if cells(named) <= self.app.size.width else places
        self.query_one("#where", Static).update(f"{where}{trouble}")
