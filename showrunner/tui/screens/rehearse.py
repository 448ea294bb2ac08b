"""Rehearsing a song or one changeover, looped, on a simulated or the real rig, kept as takes."""

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState, get_current_worker

from showrunner.live.holding import in_the_way, rehearsal_on
from showrunner.live.rehearsal_link import RemoteRehearsal
from showrunner.live.rehearsal_local import LocalRehearsal
from showrunner.live.rehearsal_picture import Ended, RehearsalClient
from showrunner.model.cautions import REAL_PORTS
from showrunner.model.cells import fit
from showrunner.planning.practice import to_practise
from showrunner.planning.practice_words import ALL_CLEAN, UNHEARD, drawn
from showrunner.planning.rehearsals import RehearsalError, plan_of
from showrunner.takes.reviewing import Kept
from showrunner.takes.shelved import Practised, Takes
from showrunner.takes.smf import TakeError, read_take
from showrunner.tui.about import filled
from showrunner.tui.rehearse_about import About
from showrunner.tui.rehearse_choices import (
    CHANGE_TIMES,
    DRAWN,
    ONLY_FOR_OTHERS,
    TIMES,
    Choice,
    How,
    TakesRead,
    after,
    choices,
    clocks,
    how_lines,
    next_words,
    of_spot,
    starts,
    stops,
    went_lines,
)
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.widgets.table import Table

SAYS_EVERY_S = 0.5
LOW_UNDER, NARROW_UNDER = 14, 60
"""Rows and columns under which only the list is shown."""


class RehearseScreen(BookScreen):
    """Pick what to practise, and how; then play it, and see how it went."""

    place: ClassVar[str] = "rehearse"
    OF_IT = frozenset({"start", "start_at", "stop_at", "times", "count", "cues", "ports", "rig", "clock", "takes"})
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "rehearse.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,space", "start", "Start", id="rehearse.start", priority=True),
        Binding("p", "practise", "Practise", id="rehearse.practise"),
        Binding("f", "start_at", "From", id="rehearse.from", show=False),
        Binding("t", "stop_at", "To", id="rehearse.to", show=False),
        Binding("n", "times", "Times", id="rehearse.times"),
        Binding("i", "count", "Count-in", id="rehearse.count", show=False),
        Binding("c", "cues", "Foot/clock", id="rehearse.cues"),
        Binding("r", "ports", "Ports", id="rehearse.ports"),
        Binding("o", "rig", "Other rig", id="rehearse.rig", show=False),
        Binding("m", "clock", "MIDI clock", id="rehearse.clock", show=False),
        Binding("k", "takes", "Takes", id="rehearse.takes"),
        Binding("s", "other_show", "Other show", id="rehearse.show", show=False),
    ]

    def __init__(self, *given: object, **named: object) -> None:
        super().__init__(*given, **named)  # type: ignore[arg-type]
        self._found: Practised | None = None
        self._there: list[Choice] = []
        self._next, self._about = 0, About()
        self._how: How = self.shelf.chosen.setdefault(self.place, How())
        self._takes: Takes = self.shelf.chosen.setdefault("takes", Takes())
        self._done, self._reads = (0, 0), False
        self._scratch: TemporaryDirectory[str] | None = None

    def parts(self) -> ComposeResult:
        """The places to practise on top; what there is on the left, how and how it went on the right."""
        yield Static(id="next", markup=False)
        with Horizontal(id="halves"):
            yield Table(id="what", cursor_type="row")
            with VerticalScroll(id="side", can_focus=False):
                yield Static(id="how", markup=False)
                yield Static(id="went", markup=False)
                yield Static(id="about", markup=False)

    def open_up(self) -> None:
        """The list first; takes are read on a thread."""
        table = self.query_one(Table)
        table.add_column("to rehearse", key="what", width=26)
        table.add_column("clean", key="clean", width=8)
        table.add_column("lately", key="lately", width=DRAWN)
        super().open_up()
        self.set_interval(SAYS_EVERY_S, self._say_reading)
        table.focus()

    def fill(self) -> None:
        """Show what there is, and read the takes anew."""
        self._list()
        self._reads = True
        self.run_worker(self._read, thread=True, exclusive=True, group="takes", exit_on_error=False)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """The takes have been read."""
        if event.worker.group == "takes" and event.state is WorkerState.SUCCESS:
            self._found, self._reads = event.worker.result, False
            self._list()
            for screen in self.app.screen_stack:
                screen.post_message(TakesRead())
        elif event.worker.group == "takes" and event.state is WorkerState.ERROR:
            self._reads = False
            self.notify(f"the takes can't be read: {event.worker.error}", severity="error")

    def on_data_table_row_highlighted(self, _: DataTable.RowHighlighted) -> None:
        """Another thing to rehearse is looked at."""
        self._side()

    def on_resize(self) -> None:
        """As wide as the terminal is; on a small one only the list is left."""
        self.set_class(self.size.height < LOW_UNDER, "-low")
        self.set_class(self.size.width < NARROW_UNDER, "-narrow")
        self.call_after_refresh(self._side)

    @property
    def choice(self) -> Choice | None:
        """What is chosen, None where the book has it no longer, or has nothing to rehearse."""
        row = self.query_one(Table).cursor_row
        there = choices(self.shelf.book, self.shelf.show)
        return self._there[row] if 0 <= row < len(self._there) and self._there[row] in there else None

    @property
    def rig(self) -> str | None:
        """The rig it is rehearsed on."""
        book = self.shelf.book
        slug = self._how.rig or book.rig_of(book.shows.get(self.shelf.show or ""))
        return slug if slug in book.rigs else next(iter(book.rigs), None)

    @property
    def ready(self) -> bool:
        """Whether there is anything to rehearse."""
        return self.is_mounted and self.choice is not None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only a song is played from cue to cue, and a whole show once."""
        kind = self.choice.kind if self.is_mounted and self.choice is not None else "song"
        return super().check_action(action, parameters) and action not in ONLY_FOR_OTHERS[kind]

    def choose(self, choice: Choice) -> None:
        """Look at a thing to rehearse."""
        if choice in self._there:
            self.query_one(Table).move_cursor(row=self._there.index(choice))

    def action_practise(self) -> None:
        """The place that fails most, and from there the next."""
        if self._found is None:
            return
        hard = [choice for spot in to_practise(self._found.spots) if (choice := of_spot(spot, self._there)) is not None]
        if not hard:
            self.notify(ALL_CLEAN if self._found.spots else UNHEARD, timeout=4)
            return
        self.choose(hard[self._next % len(hard)])
        self._next += 1
        if self.choice is not None and self.choice.kind == "changeover" and self._how.times == 1:
            self._how.times = CHANGE_TIMES
            self._side()

    def action_start_at(self) -> None:
        """Start at the next cue."""
        if self.choice is not None and self.choice.kind == "song":
            self._how.start = after(starts(self.shelf.book, self.choice.slug), self._how.start)
            if self._how.stop not in stops(self.shelf.book, self.choice.slug, self._how.start):
                self._how.stop = None
            self._side()

    def action_stop_at(self) -> None:
        """Stop at the next cue."""
        if self.choice is not None and self.choice.kind == "song":
            self._how.stop = after(stops(self.shelf.book, self.choice.slug, self._how.start), self._how.stop)
            self._side()

    def action_times(self) -> None:
        """So many times through."""
        self._how.times = after(TIMES, self._how.times)
        self._side()

    def action_count(self) -> None:
        """With a count-in, or without."""
        self._how.counted = not self._how.counted
        self._side()

    def action_cues(self) -> None:
        """By foot or by the clock."""
        self._how.by_foot = not self._how.by_foot
        self._side()

    def action_ports(self) -> None:
        """On the real rig's ports, or simulated."""
        self._how.simulated = not self._how.simulated
        self._side()

    def action_rig(self) -> None:
        """On another rig."""
        slug = self.another("rig", list(self.shelf.book.rigs), self.rig)
        if slug is not None:
            self._how.rig, self._how.clock_to = slug, None
            self._side()

    def action_clock(self) -> None:
        """MIDI clock to another port, or to none."""
        if self._how.simulated:
            self.notify("MIDI clock goes out on the real ports: r first", timeout=3)
        elif self.rig is not None and len(ports := clocks(self.shelf.book.rigs[self.rig])) > 1:
            self._how.clock_to = after(ports, self._how.clock_to)
            self._side()
        else:
            self.notify("the rig has no port to send MIDI clock to", timeout=3)

    def action_other_show(self) -> None:
        """Another show's songs and changeovers."""
        slug = self.another("show", list(self.shelf.book.shows), self.shelf.show)
        if slug is not None:
            self.shelf.show = slug
            self._list()

    def action_takes(self) -> None:
        """The takes of what is chosen."""
        from showrunner.tui.screens.rehearse_takes import TakesScreen

        if self.choice is not None and self._found is not None:
            title = self.choice.title(self.shelf.book).strip()
            of = self.choice
            self.app.push_screen(TakesScreen(self, title, lambda: of.takes(self.found)))

    def action_start(self) -> None:
        """Play what is chosen."""
        if self.choice is not None:
            self.begin(self.choice)

    def begin(self, choice: Choice, player: Kept | None = None) -> None:
        """Play a thing as it is wanted, with a take as the player if one is given."""
        client = self._client(choice, player)
        if client is None:
            return
        from showrunner.tui.screens.rehearse_play import RehearsingScreen

        by_foot = self._how.by_foot
        self.app.push_screen(RehearsingScreen(client, by_foot=by_foot, settings=self.settings), self._ended)

    def review(self, path: Path, *, kept: bool = True) -> None:
        """See how a take went."""
        from showrunner.tui.screens.rehearse_review import ReviewScreen

        try:
            take = read_take(path)
        except TakeError as error:
            self.notify(f"{path.name}: {error.what}; {error.mend}", severity="error")
            return
        self.app.push_screen(ReviewScreen(self, Kept(path, f"{path.parent.name}/{path.stem}", take), kept=kept))

    @property
    def found(self) -> Practised:
        """The takes as they were read last."""
        return self._found or Practised()

    def play_take(self, one: Kept) -> None:
        """What is chosen, with a take as the player."""
        if self.choice is not None:
            self.begin(self.choice, one)

    @property
    def reads(self) -> bool:
        """Whether takes are being read now; every screen gets TakesRead once they are."""
        return self._reads

    def takes_changed(self) -> None:
        """Takes came or went: read them anew."""
        self.fill()

    def _client(self, choice: Choice, player: Kept | None) -> RehearsalClient | None:
        """A rehearsal begun, None where it can't be, and why is said."""
        book, rig = self.shelf.book, self.rig
        if rig is None:
            self.notify("the book has no rig that can be read; make or mend one first", severity="error")
            return None
        wanted = self._how.wanted(choice, self.shelf.show, rig)
        takes = self.shelf.root / "takes"
        if player is not None:
            self._clear()
            self._scratch = TemporaryDirectory(ignore_cleanup_errors=True)
            takes, wanted = Path(self._scratch.name), wanted._replace(times=1, start=None, stop=None)
        try:
            plan = plan_of(book, wanted)
            if self._how.simulated:
                return LocalRehearsal(plan, wanted, takes, player=None if player is None else player.take)
            held = in_the_way(rehearsal_on(book.rigs[rig], wanted.title(book), self.shelf.root))
            if held is not None:
                self.notify(f"{held.what}; {held.mend}, or rehearse simulated (r)", severity="error")
                return None
            return RemoteRehearsal(self.shelf.root, plan, wanted, takes, None if player is None else player.path)
        except RehearsalError as error:
            self.notify(str(error), severity="error")
        except OSError as error:
            self.notify(f"the take can't be written: {error.strerror}; look at {takes}", severity="error")
        return None

    def _ended(self, ended: Ended | None) -> None:
        if ended is None:
            return
        if ended.trouble:
            self.notify(ended.trouble, severity="error", timeout=10)
        self.fill()
        if ended.take is not None:
            self.review(ended.take, kept=self._scratch is None)
        self._clear()

    def on_unmount(self) -> None:
        """What was not to be kept goes."""
        self._clear()

    def _clear(self) -> None:
        if self._scratch is not None:
            self._scratch.cleanup()
            self._scratch = None

    def _read(self) -> Practised:
        """On a thread: all takes, those that are known already at once."""
        worker = get_current_worker()

        def going(done: int, of: int) -> bool:
            self._done = (done, of)
            return not worker.is_cancelled

        return self._takes.of(self.shelf.root, self.shelf.book, going)

    def _say_reading(self) -> None:
        if self._reads:
            self.query_one("#next", Static).update(f"reading takes … {self._done[0]} of {self._done[1]}")

    def _list(self) -> None:
        book, found, chosen = self.shelf.book, self._found, self.choice
        table = self.query_one(Table)
        self._there = choices(book, self.shelf.show)
        table.clear()
        for choice in self._there:
            goes = choice.goes(found) if found is not None else []
            clean = sum(go.all_clean for go in goes)
            lately = drawn((go.all_clean for go in goes), DRAWN)
            table.add_row(choice.title(book), f"{clean} of {len(goes)}" if goes else "", lately)
        if chosen is not None:
            self.choose(chosen)
        self._say_next()
        self._side()

    def _say_next(self) -> None:
        self.query_one("#next", Static).update(next_words(self.shelf.book, self._found))

    @property
    def _side_width(self) -> int:
        return max(20, self.query_one("#side").size.width - 3)

    def _side(self) -> None:
        choice = self.choice
        self.refresh_bindings()
        how, went, about = (self.query_one(f"#{name}", Static) for name in ("how", "went", "about"))
        if choice is None:
            how.update("nothing to rehearse: the book has no songs that can be read")
            went.update("")
            about.update("")
            return
        self._fit(choice)
        rows = how_lines(self.shelf.book, choice, self._how, self.rig, self.shelf.show)
        book, width = self.shelf.book, self._side_width
        lines = [choice.title(book).strip(), "enter starts it"]
        lines += [fit(f"{key}  {what:<6} {to}", width).rstrip() for key, what, to in rows]
        lines += [] if self._how.simulated else filled(REAL_PORTS, width)
        how.update("\n".join(lines))
        gone = went_lines(choice, self._found, book.songs, width) if self._found is not None else []
        went.update("\n".join(gone))
        left = self.query_one("#side").size.height - len(lines) - len(gone) - 2
        about.update("\n".join(self._about.lines(book, choice, self.shelf.show, self.rig, width, left)))

    def _fit(self, choice: Choice) -> None:
        """What was chosen for another song holds only if this one has it too."""
        if choice.kind != "song":
            return
        if self._how.start not in starts(self.shelf.book, choice.slug):
            self._how.start = None
        if self._how.stop not in stops(self.shelf.book, choice.slug, self._how.start):
            self._how.stop = None
