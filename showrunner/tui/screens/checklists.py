"""Checklists: one item at a time, large; what the program can see for itself it answers itself."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input, Static

from showrunner.model.checklist import Checklist, Item
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.widgets.bigtype import BigType


class ChecklistsScreen(BookScreen):
    """The show's lists, or all of the book's where it names none; answers are kept, so that a crash loses none."""

    place = "lists"
    AUTO_FOCUS = ""
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "checklists.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,y", "answer", "Done", id="lists.done"),
        Binding("right,n", "step(1)", "Next", id="lists.next"),
        Binding("left,b", "step(-1)", "Back", id="lists.back"),
        Binding("l", "other", "Other list", id="lists.other"),
        Binding("escape", "stay", "Stay", id="lists.stay", show=False),
    ]

    def parts(self) -> ComposeResult:
        yield Static(id="list", markup=False)
        yield BigType(id="ask")
        yield Static(id="answer", markup=False)
        yield Static(id="verified", markup=False)
        yield Input(id="why", placeholder="critical: why is it left? Enter keeps the reason, Escape stays here")
        yield Static(id="items", markup=False)

    def on_mount(self) -> None:
        """The first item that is not answered."""
        self._list = 0
        self._item = self._first_open()
        self.query_one("#why").display = False
        super().on_mount()

    @property
    def lists(self) -> list[tuple[str, Checklist]]:
        """Slug and list, in the show's order."""
        book = self.shelf.book
        show = book.shows.get(self.shelf.show or "")
        named = [slug for slug in (show.checklists if show is not None else ()) if slug in book.checklists]
        return [(slug, book.checklists[slug]) for slug in named or book.checklists]

    @property
    def item(self) -> Item | None:
        """The item that is asked."""
        items = self._items()
        return items[self._item] if self._item < len(items) else None

    def fill(self) -> None:
        """The item at hand large, the others under it."""
        lists = self.lists
        if not lists:
            self.query_one("#list", Static).update("this book has no checklist yet: showrunner new checklist NAME")
            return
        slug, the_list = lists[self._list % len(lists)]
        answers = self.shelf.answers(slug)
        done = sum(answers.get(item.ask) == "done" for item in the_list.items)
        when = f" · {the_list.when}" if the_list.when else ""
        self.query_one("#list", Static).update(f"{the_list.title}{when} · {done} of {len(the_list.items)} done")
        item = self.item
        self.query_one("#ask", BigType).say([(word,) for word in item.ask.upper().split()] if item is not None else [])
        self.query_one("#answer", Static).update("" if item is None else item.answer or "done")
        self.query_one("#verified", Static).update("" if item is None else self._seen(item))
        lines = [self._line(index, each, answers.get(each.ask)) for index, each in enumerate(the_list.items)]
        self.query_one("#items", Static).update("\n".join(lines))

    def action_answer(self) -> None:
        """The item at hand is as it must be, or is not after all."""
        item = self.item
        if item is None:
            return
        done = self._answer(item) == "done"
        self.shelf.answer(self.slug, item.ask, None if done else "done")
        if not done:
            self._item = min(self._item + 1, max(0, len(self._items()) - 1))
        self.fill()

    def action_step(self, way: int) -> None:
        """To the next item, or the one before; leaving a critical one unanswered asks why."""
        item = self.item
        if way > 0 and item is not None and item.critical and self._answer(item) is None:
            why = self.query_one("#why", Input)
            why.value, why.display = "", True
            why.focus()
            return
        self._item = max(0, min(self._item + way, len(self._items()) - 1))
        self.fill()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """The reason why a critical item is left is kept with it."""
        if self.item is not None and event.value.strip():
            self.shelf.answer(self.slug, self.item.ask, f"left: {event.value.strip()}")
            self.action_stay()
            self.action_step(1)

    def action_stay(self) -> None:
        """Stay at the item."""
        self.query_one("#why").display = False
        self.set_focus(None)

    def action_other(self) -> None:
        """The next list."""
        self._list = (self._list + 1) % max(1, len(self.lists))
        self._item = self._first_open()
        self.fill()

    @property
    def slug(self) -> str:
        """The list at hand."""
        lists = self.lists
        return lists[self._list % len(lists)][0] if lists else ""

    def _first_open(self) -> int:
        answers = self.shelf.answers(self.slug)
        items = self._items()
        return next((at for at, item in enumerate(items) if item.ask not in answers), max(0, len(items) - 1))

    def _answer(self, item: Item) -> str | None:
        return self.shelf.answers(self.slug).get(item.ask)

    def _items(self) -> tuple[Item, ...]:
        lists = self.lists
        return tuple(lists[self._list % len(lists)][1].items) if lists else ()

    def _line(self, number: int, item: Item, answer: str | None) -> str:
        sign = "✓" if answer == "done" else "–" if answer is not None else "!" if item.critical else "·"
        here = "▸" if number == self._item else " "
        who = f" ({item.who})" if item.who else ""
        left = f"; {answer}" if answer not in (None, "done") else ""
        return f"{here} {sign} {item.ask}: {item.answer or 'done'}{who}{left}"

    def _seen(self, item: Item) -> str:
        """What the program sees itself of an item; what it can't see from here is said, too."""
        who = f"{item.who} · " if item.who else ""
        if item.verify == "findings" and self.shelf.show is not None:
            errors = [finding for finding in self.shelf.findings(self.shelf.show) if finding.level == "error"]
            return f"{who}seen: {len(errors)} findings of level error" + (f"; {errors[0].what}" if errors else "")
        return f"{who}to be seen with the show running: {item.verify}" if item.verify else f"{who}to be answered by you"
