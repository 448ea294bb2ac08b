"""Checklists: one item at a time, large; what the program can see for itself it answers itself."""

import time
from collections.abc import Callable, Mapping
from textwrap import wrap
from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from showrunner.book.problems import BookError
from showrunner.live.doubling import HOST_HEARS, Trial, judged
from showrunner.live.kept import real_system
from showrunner.live.picture import Client
from showrunner.live.ports import System
from showrunner.live.ticked import DONE, SEEN
from showrunner.live.verifying import Verdict, needs_ports, to_try
from showrunner.model.checklist import Checklist, Item
from showrunner.tui.following import playing_now
from showrunner.tui.looked import Looking
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.unread import CANT, slugs_of, unread_of
from showrunner.tui.widgets.bigtype import BigType

LOOKS_EVERY_S = 0.1
SIGNS = "✓ done   · open   ! critical and open   – left, and why   ✗ seen not to be so any more"
"""What the signs beside the items mean."""
HANGING = " " * 4
"""Before the second line of an item, so that signs stand alone."""
ANEW_EVERY_S = 5.0
"""How often what needs no port is looked at again."""


class ChecklistsScreen(BookScreen):
    """The show's lists, or all of the book's where it names none; answers are kept, so that a crash loses none.

    What verifies itself is ticked as soon as it is seen, and has a cross while it is seen not to be so.
    """

    place = "lists"
    OF_IT = frozenset({"answer", "step", "other"})
    AUTO_FOCUS = ""
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "checklists.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,y", "answer", "Done", id="lists.done"),
        Binding("right,n", "step(1)", "Next", id="lists.next"),
        Binding("left,b", "step(-1)", "Back", id="lists.back"),
        Binding("t", "try", "Try it", id="lists.try"),
        Binding("y", "heard(True)", "The sound moved", id="lists.moved"),
        Binding("n", "heard(False)", "It stayed", id="lists.stayed"),
        Binding("l", "other", "Other list", id="lists.other"),
        Binding("e", "editor", "Editor", id="lists.editor"),
        Binding("escape", "stay", "Stay", id="lists.stay", show=False),
    ]
    system_of: Callable[[], System] = staticmethod(real_system)

    def parts(self) -> ComposeResult:
        yield Static(id="list", markup=False)
        yield BigType(id="ask")
        yield Static(id="answer", markup=False)
        yield Static(id="verified", markup=False)
        yield Input(id="why", placeholder="critical: why is it left? Enter keeps the reason, Escape stays here")
        yield Static(id="items", markup=False)

    def open_up(self) -> None:
        """The first item that is not answered."""
        self._slug = self.shelf.chosen.pop(self.place, None) or next(iter(self.slugs), "")
        self._item = self._first_open()
        self._ask = ""
        self._trial: Trial | None = None
        self._listens = False
        self._asked = ""
        self._verdicts: dict[str, Verdict] = {}
        self._anew: dict[str, Verdict] = {}
        book, show = self.shelf.book, self.shelf.book.shows.get(self.shelf.show or "")
        self._looking = Looking(self.shelf.root, book, self.shelf.show, book.rigs.get(book.rig_of(show) or ""))
        self.query_one("#why").display = False
        super().open_up()
        self.set_interval(LOOKS_EVERY_S, self.look)
        self.set_interval(ANEW_EVERY_S, self._look_anew)

    def _listen(self) -> None:
        """Open ports, or look at the show that plays, as soon as a list asks for it."""
        lists = [self.shelf.book.checklists[slug] for slug in self.slugs if slug in self.shelf.book.checklists]
        if not self._listens and any(needs_ports(item.verify or "") for each in lists for item in each.items):
            self._listens = True
            self._look_for_show()

    def on_unmount(self) -> None:
        """Let go of ports and show."""
        self._looking.close()

    @property
    def slugs(self) -> list[str]:
        """The show's lists in its order, those that can't be read among them, or all of the book's."""
        return slugs_of(self.shelf.reading, self.shelf.show)

    @property
    def the_list(self) -> Checklist | None:
        """The list at hand, if it can be read."""
        return self.shelf.book.checklists.get(self.slug)

    @property
    def ready(self) -> bool:
        """Whether the list can be read and has items, or there is another."""
        return bool(self._items()) or len(self.slugs) > 1

    @property
    def item(self) -> Item | None:
        """The item that is asked."""
        items = self._items()
        return items[self._item] if self._item < len(items) else None

    def fill(self) -> None:
        """The item at hand large, the others under it; an item that the file has elsewhere by now stays at hand."""
        asks = [item.ask for item in self._items()]
        if self._ask in asks and self._ask not in asks[self._item : self._item + 1]:
            self._item = asks.index(self._ask)
        self._item = max(0, min(self._item, len(asks) - 1))
        self._looking.take(self.shelf.book)
        self._listen()
        self._look_anew()
        self._draw()

    def look(self) -> None:
        """Take what was seen, tick what is as it must be, and show what is different."""
        verdicts = self._anew | self._looking.at_once(self._wanted())
        if verdicts != self._verdicts:
            self._verdicts = verdicts
            self._tick()
            self._draw()
        if self._trial is not None:
            self._trial = self._looking.tried(self._trial)
            self._show_trial(self._trial)

    def _draw(self) -> None:
        the_list = self.the_list
        self.refresh_bindings()
        if the_list is None:
            self._draw_none()
            return
        answers = self.shelf.answers(self.slug)
        self.query_one("#list", Static).update(self._how_far(self.slug, the_list))
        item = self.item
        self._ask = item.ask if item is not None else ""
        self.query_one("#ask", BigType).say([(word,) for word in item.ask.upper().split()] if item is not None else [])
        self.query_one("#answer", Static).update("" if item is None else item.answer or "done")
        if self._trial is None:
            self.query_one("#verified", Static).update("" if item is None else self._seen(item))
        lines = [self._line(index, each, answers.get(each.ask)) for index, each in enumerate(the_list.items)]
        items = self.query_one("#items", Static)
        room = items.content_size.width or self.app.size.width
        said = [part for line in lines for part in wrap(line, room, subsequent_indent=HANGING)]
        rows = items.content_size.height
        for more in (self._others(room, rows - len(said) - 2), ["", SIGNS]):
            said += more if len(said) + len(more) <= rows else []
        items.update("\n".join(said))

    def _how_far(self, slug: str, the_list: Checklist) -> str:
        """A list's name, when it is gone through, and how much of it is done."""
        answers = self.shelf.answers(slug)
        done = sum(answers.get(item.ask) in (DONE, SEEN) for item in the_list.items)
        when = f" · {the_list.when}" if the_list.when else ""
        return f"{the_list.title}{when} · {done} of {len(the_list.items)} done"

    def _others(self, room: int, rows: int) -> list[str]:
        """The other lists and how far each is, with their items if all that takes no more than so many rows."""
        lists, brief, full = self.shelf.book.checklists, list[str](), list[str]()
        for slug in (each for each in self.slugs if each != self.slug):
            head = HANGING + (self._how_far(slug, lists[slug]) if slug in lists else f"{slug} {CANT}")
            brief.append(head)
            answers = self.shelf.answers(slug)
            items = lists[slug].items if slug in lists else ()
            told = (
                f"{HANGING}  {_sign(each, answer := answers.get(each.ask))} {_said(each, answer)}" for each in items
            )
            full += ["", head, *(part for line in told for part in wrap(line, room, subsequent_indent=HANGING * 2))]
        first = ["", "the other lists: l goes to the next"]
        return first + (full if len(full) + 2 <= rows else brief) if brief else []

    def _draw_none(self) -> None:
        """What stands where there is no list to show: why it can't be read, else how to make one."""
        wrong = unread_of(self.shelf.reading, "checklist", self.slug)
        nothing = "this book has no checklist yet; the command showrunner new checklist NAME makes one"
        first, *rest = [nothing] if wrong is None else wrong.lines()
        self.query_one("#ask", BigType).say([])
        for part, words in (("#list", first), ("#answer", ""), ("#verified", ""), ("#items", "\n".join(rest))):
            self.query_one(part, Static).update(words)

    def on_resize(self) -> None:
        """Break the items' lines anew."""
        self.call_after_refresh(self._draw)

    def action_answer(self) -> None:
        """The item at hand is as it must be, or is not after all."""
        item = self.item
        if item is None:
            return
        answer = self._answer(item)
        if answer != SEEN:
            self._keep(item.ask, None if answer == DONE else DONE)
        if answer != DONE:
            self._go_on()
        self._draw()

    def action_try(self) -> None:
        """Have nothing passed on from the item's control, so that the ear can tell whether the host hears it itself."""
        control = to_try(self.item.verify, self._looking.rig) if self.item is not None else None
        if control is not None:
            self._trial = self._looking.withhold(control)
            self._show_trial(self._trial)

    def action_heard(self, moved: bool) -> None:
        """Whether the sound moved; the item is answered by that."""
        trial, item = self._trial, self.item
        if trial is None or item is None:
            return
        self._trial = None
        self.notify(judged(trial.control, moved=moved), severity="warning" if moved else "information")
        self._keep(item.ask, HOST_HEARS if moved else DONE)
        if not moved:
            self._go_on()
        self._draw()

    @property
    def asks_ear(self) -> bool:
        """Whether a control was moved and not passed on, and the player is to say what sounded."""
        return self._trial is not None and self._trial.phase(time.monotonic()) == "listen"

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Keys that answer an ear's question are there while it is asked, and the try where there is one."""
        if action == "heard":
            return self.asks_ear
        if action == "try":
            item = self.item
            return not self.asks_ear and item is not None and to_try(item.verify, self._looking.rig) is not None
        if action == "stay":
            return self._trial is not None or any(why.display for why in self.query("#why"))
        moves = action == "answer" or (action == "step" and parameters == (1,))
        return not (moves and self.asks_ear) and super().check_action(action, parameters)

    def _show_trial(self, trial: Trial) -> None:
        said = trial.words(time.monotonic())
        self.query_one("#verified", Static).update(said)
        if said != self._asked:
            self._asked = said
            self.refresh_bindings()
        if trial.phase(time.monotonic()) in ("no answer", "not heard"):
            self._trial = None
            self.notify(said, severity="warning")

    def _go_on(self) -> None:
        """To the next item that is still open."""
        answers, items = self.shelf.answers(self.slug), self._items()
        later = range(self._item + 1, len(items))
        self._item = next((at for at in later if items[at].ask not in answers), min(self._item + 1, len(items) - 1))

    def action_step(self, way: int) -> None:
        """To the next item, or the one before; leaving a critical one unanswered asks why."""
        item = self.item
        if way > 0 and item is not None and item.critical and self._answer(item) is None:
            why = self.query_one("#why", Input)
            why.value, why.display = "", True
            why.focus()
            return
        self._item, self._trial = max(0, min(self._item + way, len(self._items()) - 1)), None
        self._draw()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """The reason why a critical item is left is kept with it."""
        if self.item is not None and event.value.strip():
            self._keep(self.item.ask, f"left: {event.value.strip()}")
            self.action_stay()
            self.action_step(1)

    def action_stay(self) -> None:
        """Stay at the item, whatever was begun on it."""
        self._trial = None
        self.query_one("#why").display = False
        self.set_focus(None)
        self._draw()

    def action_other(self) -> None:
        """The next list."""
        slug = self.another("list", self.slugs, self.slug)
        if slug is None:
            return
        self._slug = slug
        self._ask = ""
        self._item = self._first_open()
        self.fill()
        self.look()

    def at_hand(self) -> tuple[str, str] | None:
        """The list's file."""
        return ("checklist", self.slug) if self.slug else None

    @property
    def slug(self) -> str:
        """The list at hand: the one chosen, else the first there is."""
        slugs = self.slugs
        return self._slug if self._slug in slugs else next(iter(slugs), "")

    def _first_open(self) -> int:
        answers = self.shelf.answers(self.slug)
        items = self._items()
        return next((at for at, item in enumerate(items) if item.ask not in answers), max(0, len(items) - 1))

    def _answer(self, item: Item) -> str | None:
        return self.shelf.answers(self.slug).get(item.ask)

    def _items(self) -> tuple[Item, ...]:
        the_list = self.the_list
        return tuple(the_list.items) if the_list is not None else ()

    def _line(self, number: int, item: Item, answer: str | None) -> str:
        verdict, sign = self._verdicts.get(item.verify or ""), _sign(item, answer)
        if verdict is not None and verdict.good is False and answer in (DONE, SEEN):
            sign = "✗"
        here = "▸" if number == self._item else " "
        by = f" · {verdict.said}" if verdict is not None and (verdict.good is not None or sign == "✗") else ""
        return f"{here} {sign} {_said(item, answer)}{by}"

    def _seen(self, item: Item) -> str:
        """What the program sees itself of an item; what it can't see from here is said, too."""
        who = f"{item.who} · " if item.who else ""
        if item.verify is None:
            return f"{who}to be answered by you"
        verdict = self._verdicts.get(item.verify)
        if verdict is None:
            return f"{who}being looked at: {item.verify}"
        return f"{who}{verdict}"

    def _keep(self, ask: str, answer: str | None) -> None:
        try:
            self.shelf.answer(self.slug, ask, answer)
        except BookError as error:
            self.say(error)

    def _wanted(self) -> list[str]:
        """What the list at hand asks to be looked at."""
        return [item.verify for item in self._items() if item.verify is not None]

    def _tick(self) -> None:
        """Keep what was seen to be as it must be; a person's own answer stays."""
        answers = self.shelf.answers(self.slug)
        for item in self._items():
            verdict = self._verdicts.get(item.verify or "")
            if verdict is not None and verdict.good and item.ask not in answers:
                self._keep(item.ask, SEEN)

    @work(thread=True, group="looked", exclusive=True)
    def _look_anew(self) -> Mapping[str, Verdict]:
        return self._looking.in_time(self._wanted())

    @work(thread=True, group="under way")
    def _look_for_show(self) -> Client | None:
        shows = [self.shelf.show] if self.shelf.show is not None else []
        return playing_now(self.shelf.root, shows, on_ports=True)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What a worker found is shown here, on the screen's own thread."""
        if event.state is not WorkerState.SUCCESS:
            return
        result: Any = event.worker.result
        if event.worker.group == "looked":
            self._anew.update(result)
            self.look()
        elif event.worker.group == "under way":
            if not self.is_mounted:
                if result is not None:
                    result.close()
            elif result is not None:
                self._looking.follow(result)
            else:
                self._looking.listen(self.system_of)


def _sign(item: Item, answer: str | None) -> str:
    return "✓" if answer in (DONE, SEEN) else "–" if answer is not None else "!" if item.critical else "·"


def _said(item: Item, answer: str | None) -> str:
    """An item, who does it, and why it was left."""
    who = f" ({item.who})" if item.who else ""
    left = f"; {answer}" if answer not in (None, DONE, SEEN) else ""
    return f"{item.ask}: {item.answer or 'done'}{who}{left}"
