"""Checklists: one item at a time, large; what the program can see for itself it answers itself."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from showrunner.model.checklist import Checklist, Item
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.widgets.bigtype import BigType


class ChecklistsScreen(BookScreen):
    """The show's lists, or all of the book's where it names none; answers are kept while the program runs."""

    place = "lists"
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "checklists.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,y", "answer", "Done", id="lists.done"),
        Binding("right,n", "step(1)", "Next", id="lists.next"),
        Binding("left,b", "step(-1)", "Back", id="lists.back"),
        Binding("l", "other", "Other list", id="lists.other"),
    ]

    def parts(self) -> ComposeResult:
        yield Static(id="list", markup=False)
        yield BigType(id="ask")
        yield Static(id="answer", markup=False)
        yield Static(id="verified", markup=False)
        yield Static(id="items", markup=False)

    def on_mount(self) -> None:
        """The first item that is not done."""
        self._list = 0
        self._item = 0
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
        done = sum(self._is_done(slug, index) for index in range(len(the_list.items)))
        when = f" · {the_list.when}" if the_list.when else ""
        self.query_one("#list", Static).update(f"{the_list.title}{when} · {done} of {len(the_list.items)} done")
        item = self.item
        self.query_one("#ask", BigType).say([(word,) for word in item.ask.upper().split()] if item is not None else [])
        self.query_one("#answer", Static).update("" if item is None else item.answer or "done")
        self.query_one("#verified", Static).update("" if item is None else self._seen(item))
        lines = [self._line(slug, index, each) for index, each in enumerate(the_list.items)]
        self.query_one("#items", Static).update("\n".join(lines))

    def action_answer(self) -> None:
        """The item at hand is as it must be."""
        if self.item is None:
            return
        slug = self.lists[self._list % len(self.lists)][0]
        self.shelf.answered ^= {(slug, self._item)}
        if (slug, self._item) in self.shelf.answered:
            self._item = min(self._item + 1, max(0, len(self._items()) - 1))
        self.fill()

    def action_step(self, way: int) -> None:
        """To the next item, or the one before, without answering; a critical one left undone is said."""
        item = self.item
        slug = self.lists[self._list % len(self.lists)][0] if self.lists else ""
        if way > 0 and item is not None and item.critical and not self._is_done(slug, self._item):
            self.notify(f"critical and not done: {item.ask}", severity="warning")
        self._item = max(0, min(self._item + way, len(self._items()) - 1))
        self.fill()

    def action_other(self) -> None:
        """The next list."""
        self._list, self._item = (self._list + 1) % max(1, len(self.lists)), 0
        self.fill()

    def _items(self) -> tuple[Item, ...]:
        lists = self.lists
        return tuple(lists[self._list % len(lists)][1].items) if lists else ()

    def _is_done(self, slug: str, index: int) -> bool:
        return (slug, index) in self.shelf.answered

    def _line(self, slug: str, index: int, item: Item) -> str:
        sign = "✓" if self._is_done(slug, index) else "!" if item.critical else "·"
        here = "▸" if index == self._item else " "
        who = f" ({item.who})" if item.who else ""
        return f"{here} {sign} {item.ask}: {item.answer or 'done'}{who}"

    def _seen(self, item: Item) -> str:
        """What the program sees itself of an item; what it can't see from here is said, too."""
        who = f"{item.who} · " if item.who else ""
        if item.verify == "findings" and self.shelf.show is not None:
            errors = [finding for finding in self.shelf.findings(self.shelf.show) if finding.level == "error"]
            return f"{who}seen: {len(errors)} findings of level error" + (f"; {errors[0].what}" if errors else "")
        return f"{who}to be seen with the show running: {item.verify}" if item.verify else f"{who}to be answered by you"
