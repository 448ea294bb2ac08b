"""The first screen: the book's shows with their time and findings, and the way to play one."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.timer import Timer
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState

from showrunner.checks.finding import LEVELS, Finding
from showrunner.live.seen import SIMULATED
from showrunner.model.cells import cells, cut
from showrunner.model.library import Book
from showrunner.model.units import format_clock, format_length, format_over
from showrunner.tui.about import BAR_CELLS, TITLE_CELLS, clipped, filled, fitting, show_lines
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.book import UNTOLD
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.screens.starting import StartingScreen
from showrunner.tui.shelf import summary
from showrunner.tui.show_fields import of_show
from showrunner.tui.unread import CANT, Unread, unread, unread_of
from showrunner.tui.widgets.table import Table

if TYPE_CHECKING:
    from showrunner.live.launch import Way
    from showrunner.planning.timing import RunningTime

COLUMNS = ("Show", "Date", "Starts", "Ends", "To spare", "Findings", "Songs", "Planned", "Venue")
FIRST_TO_GO = ("Planned", "Songs", "Venue", "To spare", "Ends", "Starts", "Date")
"""Columns that narrow terminals do without; what they say stands below the table."""
FOUND_CELLS = {"Starts": 5, "Ends": 5, "To spare": 7, "Findings": 16, "Planned": 7}
"""What columns take that are filled as it is worked out."""
PLAYING = {"real": "playing", "simulated": SIMULATED}
"""What stands for the date of a show that is being played, by how it is."""
IS_PLAYING = {
    "real": "being played now: p joins it, x ends it",
    "simulated": f"being played {SIMULATED}, without hardware: t joins it, x ends it",
}
LOOKS_AGAIN_AFTER_S = 2.0
"""How soon it is looked again which shows are played."""
MOST_TOLD = 8
"""So many findings are told in full."""


def times(timed: "RunningTime") -> dict[str, str]:
    """A show's times in their columns; one without a start has only its length."""
    return {
        "Starts": "" if timed.starts is None else format_clock(timed.starts),
        "Ends": "" if timed.finish is None else format_clock(timed.finish),
        "To spare": "" if timed.over_s is None else left_over(timed.over_s),
        "Planned": format_length(timed.planned_s),
    }


def worst(found: Sequence[Finding]) -> str:
    """How many of the gravest level are found, and how many others."""
    level = next(level for level in LEVELS if any(one.level == level for one in found))
    gravest = [one for one in found if one.level == level]
    more = len(found) - len(gravest)
    return summary(tuple(gravest)) + (f", {more} more" if more else "")


def left_over(over_s: float) -> str:
    """What is left to slot or curfew, in the column that says so; or how far over it is."""
    return f"{format_over(over_s)} over" if over_s > 0 else format_length(-over_s)


class ShowsScreen(StartingScreen):
    """Shows at a glance; the one under the cursor can be opened or played, `n` makes a new one."""

    place, kind = "shows", "show"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("w", "night", "When, where", id="shows.night"),
        Binding("x", "end", "End show", id="shows.end", tooltip="End the show that is being played"),
    ]

    def parts(self) -> ComposeResult:
        yield Table(cursor_type="row", zebra_stripes=False)
        yield Static(classes="detail", markup=False)

    def open_up(self) -> None:
        """Nothing is worked out yet; which shows are being played is looked for beside the screen."""
        self._names: list[str] = []
        self._cells: dict[str, dict[str, str]] = {}
        self._times: dict[str, RunningTime] = {}
        self._played: Mapping[str, Way] = {}
        self._next_look: Timer | None = None
        super().open_up()

    def on_mount(self) -> None:
        """Times rest on what was played as soon as that is read."""
        self.reckon_with_played()

    def fill(self) -> None:
        """What the files say at once, times and findings as they are worked out."""
        book, slugs, wrong = self.shelf.book, self.shelf.reading.slugs("show"), unread(self.shelf.reading, "show")
        self._cells = {slug: self._row(slug, wrong.get(slug)) for slug in slugs}
        self._times.clear()
        self._list()
        self.refresh_bindings()
        for slug in book.shows:
            self._time(book, slug)
            self._find(slug)
        if not slugs:
            self.tell("this book has no show yet: n makes one")

    def on_screen_resume(self) -> None:
        """What is played may be another show by now; that is looked for once the screen is painted."""
        self.call_after_refresh(self._look_for_played)

    def _look_on(self) -> None:
        """Look again while this screen is up: under another one nobody sees what is played."""
        if self.is_active:
            self._look_for_played()

    def _row(self, slug: str, wrong: Unread | None) -> dict[str, str]:
        """What stands in a show's row as soon as its file is read."""
        if wrong is not None:
            return {"Show": wrong.title, "Date": CANT, "Findings": wrong.where}
        show = self.shelf.book.shows[slug]
        venue = self.shelf.book.venues.get(show.venue or "")
        return {
            "Show": show.title,
            "Date": self._date(slug),
            **dict.fromkeys(FOUND_CELLS, "…"),
            "Songs": str(len(show.set_songs) + len(show.encore)),
            "Venue": venue.title if venue is not None else show.venue or "",
        }

    def _date(self, slug: str) -> str:
        """A show's date, or how it is being played."""
        way = self._played.get(slug)
        return str(self.shelf.book.shows[slug].date or "") if way is None else PLAYING[way]

    def _list(self) -> None:
        """The rows, in as many columns as there is room for."""
        table, slugs, self._names = self.query_one(DataTable), list(self._cells), self._fitting()
        table.clear(columns=True)
        widths = self._widths()
        for name in self._names:
            table.add_column(name, key=name, width=widths[name])
        for slug, row in self._cells.items():
            table.add_row(*(cut(row.get(name, ""), widths[name]) for name in self._names), key=slug)
        if self.shelf.show in slugs:
            table.move_cursor(row=slugs.index(self.shelf.show))

    def _widths(self) -> dict[str, int]:
        rows = [dict(zip(COLUMNS, COLUMNS, strict=True)), *self._cells.values()]
        widths = {name: max(cells(row.get(name, "")) for row in rows) for name in COLUMNS}
        widths["Show"] = min(widths["Show"], TITLE_CELLS)
        return {name: max(width, FOUND_CELLS.get(name, 0)) for name, width in widths.items()}

    def _fitting(self) -> list[str]:
        """The columns that there is room for."""
        return fitting(self._widths(), self.app.size.width - BAR_CELLS, FIRST_TO_GO)

    def on_resize(self) -> None:
        """Other columns, where there is room for others."""
        if self._fitting() != self._names:
            self._list()
        self.call_after_refresh(self._tell_show)

    @work(thread=True, group="times", description=UNTOLD)
    def _time(self, book: Book, slug: str) -> "tuple[str, RunningTime]":
        return slug, self.shelf.timed(book, slug)

    @work(thread=True, group="being played", exit_on_error=False)
    def _look_for_played(self) -> "dict[str, Way]":
        ways = ((slug, self.shelf.plays(slug)) for slug in self.shelf.book.shows)
        return {slug: way for slug, way in ways if way is not None}

    @work(thread=True, group="findings")
    def _find(self, slug: str) -> tuple[str, tuple[Finding, ...]]:
        return slug, self.shelf.findings(slug)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What a worker found is shown here, on the screen's own thread."""
        worker = event.worker
        result: Any = worker.result
        if event.state is WorkerState.SUCCESS and worker.group == "findings":
            slug, found = result
            self._put(slug, {"Findings": worst(found) if found else "none"})
        elif event.state is WorkerState.SUCCESS and worker.group == "times":
            slug, timed = result
            self._times[slug] = timed
            self._put(slug, times(timed))
        elif event.state is WorkerState.SUCCESS and worker.group == "being played":
            self._mark(result)
            if self._next_look is not None:
                self._next_look.stop()
            self._next_look = self.set_timer(LOOKS_AGAIN_AFTER_S, self._look_on)
        elif event.state is WorkerState.SUCCESS and worker.group == "ending":
            self.notify(result)  # what is told of the show is told anew as soon as its row is
            self._look_for_played()

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """The show under the cursor is the one at hand."""
        if event.row_key is None or event.cursor_row != event.data_table.cursor_row:
            return
        slug = event.row_key.value
        if slug is not None and self.shelf.reading.has("show", slug):
            self.shelf.show = slug
            self._tell_show()

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """A click opens the show under it."""
        self.action_open()

    def action_open(self) -> None:
        """The show's set, if it can be read."""
        if self.can_read("show", self.shelf.show):
            self.go("set")

    def go_to(self, slug: str) -> None:
        """Put the cursor on a show."""
        self.shelf.show = slug
        self.query_one(DataTable).move_cursor(row=self.shelf.reading.slugs("show").index(slug))

    def made(self, slug: str) -> None:
        """A new show is filled on the screen of its set."""
        self.go_to(slug)
        self.go("set")

    def action_night(self) -> None:
        """Date, venue, rig, start and slot of the show under the cursor."""
        slug, title = self.shelf.show, self._title()
        if slug is not None and title is not None:
            self.app.push_screen(FieldsScreen(self, "show", slug, title, lambda: of_show(self.shelf.reading)))

    def action_end(self) -> None:
        """End the show under the cursor if it is being played, once that is confirmed."""
        slug, title = self.shelf.show, self._title()
        if slug is None or title is None:
            return
        way = self.shelf.plays(slug)
        if way is None:
            self.notify(f"{title} is not being played")
            return

        def answered(ends: bool | None) -> None:
            if ends:
                self.tell(f"ending {title} …")
                self._end(slug, "9 shows how it went" if way == "real" else "it was simulated, and is no night")

        asks = f"End {title}?"
        lines = "Pedals and footswitches do nothing from then on. Its log stays, and After shows the night."
        if way == "simulated":
            lines = f"It is played {SIMULATED}, without hardware: it is no night, and nothing of it is filed."
        self.app.push_screen(ProposalScreen(asks, lines, "End the show", "Keep playing"), answered)

    @work(thread=True, group="ending")
    def _end(self, slug: str, then: str) -> str:
        from showrunner.live.link import LinkError

        try:
            self.shelf.end(slug)
        except LinkError as error:
            return f"{slug} plays on: {error}"
        return f"{slug} has ended; {then}"

    def _put(self, slug: str, found: dict[str, str]) -> None:
        """What was worked out of a show, in its row; a show without a start has no times."""
        table, row = self.query_one(Table), self._cells.get(slug)
        if row is None:
            return
        before = self._widths()
        row.update(found)
        widths = self._widths()
        if widths != before:
            self._list()
        for name, text in found.items():
            if name in self._names and slug in table.rows:
                table.update_cell(slug, name, cut(text, widths[name]))
        if slug == self.shelf.show:
            self._tell_show()

    def _mark(self, played: "Mapping[str, Way]") -> None:
        """Say of the shows that are being played that they are, and how."""
        before, self._played = self._played, played
        for slug in self.shelf.book.shows:
            if before.get(slug) != played.get(slug):
                self._put(slug, {"Date": self._date(slug)})

    def _tell_show(self) -> None:
        """What is found in the show under the cursor, whether it is being played, and what it consists of."""
        slug, width = self.shelf.show, max(20, self.size.width - 2)
        if slug is None or slug not in self._cells:
            return
        wrong, found = unread_of(self.shelf.reading, "show", slug), self.shelf.found(slug)
        if wrong is not None:
            lines = wrong.lines()
        elif found is None:
            lines = ["looking for what will go wrong …"]
        else:
            lines = [f"{one.level}: {one.song or one.slug}: {one.what}" for one in found[:MOST_TOLD]]
            lines += [f"and {len(found) - MOST_TOLD} more"] if len(found) > MOST_TOLD else []
            lines = lines or ["nothing found that will go wrong"]
        said = [IS_PLAYING[self._played[slug]]] if slug in self._played else []
        said += [part for line in lines for part in filled(line, width)]
        rows = self.query_one(".detail", Static).content_size.height
        about = show_lines(self.shelf.book, slug, self._times.get(slug), width, rows - len(said) - 1)
        self.tell(clipped([*said, *([""] if about else []), *about], rows, "enter opens its set"))
