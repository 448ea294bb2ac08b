"""The first screen: the book's shows with their time and findings, and the way to play one."""

from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState

from showrunner.book.problems import BookError
from showrunner.checks.finding import Finding
from showrunner.live.link import LinkError
from showrunner.live.picture import Client
from showrunner.model.library import Book
from showrunner.model.units import format_clock, format_length
from showrunner.tui.screens.asked import ProposalScreen
from showrunner.tui.screens.documents import DocumentsScreen
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.shelf import summary
from showrunner.tui.show_fields import of_show
from showrunner.tui.unread import CANT, unread, unread_of
from showrunner.tui.widgets.table import Table

COLUMNS = ("Show", "Date", "Starts", "Ends", "To spare", "Findings", "Songs", "Planned", "Venue")
FINDINGS_CELLS = len("1 error, 1 warning, 1 note")


def left_over(over_s: float) -> str:
    """What is left to slot or curfew, in the column that says so; or how far over it is."""
    return f"{format_length(over_s)} over" if over_s > 0 else format_length(-over_s)


class ShowsScreen(DocumentsScreen):
    """Shows at a glance; the one under the cursor can be opened or played, `n` makes a new one."""

    place, kind = "shows", "show"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "play(False)", "Play", id="shows.play"),
        Binding("t", "play(True)", "Try it", id="shows.try", tooltip="Play it without hardware"),
        Binding("w", "night", "When, where", id="shows.night"),
        Binding("x", "end", "End show", id="shows.end", tooltip="End the show that is being played"),
    ]

    def parts(self) -> ComposeResult:
        table = Table(cursor_type="row", zebra_stripes=False)
        for name in COLUMNS:
            table.add_column(name, width=FINDINGS_CELLS if name == "Findings" else None)
        yield table
        yield Static(classes="detail", markup=False)

    def on_mount(self) -> None:
        """Times rest on what was played as soon as that is read."""
        self.reckon_with_played()

    def fill(self) -> None:
        """What the files say at once, times and findings as they are worked out."""
        table, book, slugs = self.query_one(DataTable), self.shelf.book, self.shelf.reading.slugs("show")
        table.clear()
        wrong = unread(self.shelf.reading, "show")
        for slug in slugs:
            if slug in wrong:
                cells = {"Show": wrong[slug].title, "Date": CANT, "Findings": wrong[slug].where}
                table.add_row(*(cells.get(name, "") for name in COLUMNS), key=slug)
                continue
            show = book.shows[slug]
            venue = book.venues.get(show.venue or "")
            table.add_row(
                show.title,
                str(show.date or ""),
                *("…" for _ in ("Starts", "Ends", "To spare", "Findings")),
                str(len(show.set_songs) + len(show.encore)),
                "…",
                venue.title if venue is not None else show.venue or "",
                key=slug,
            )
        if self.shelf.show in slugs:
            table.move_cursor(row=slugs.index(self.shelf.show))
        for slug in book.shows:
            self._time(book, slug)
            self._find(slug)
        if not slugs:
            self._tell("this book has no show yet: n makes one")

    @work(thread=True, group="times")
    def _time(self, book: Book, slug: str) -> tuple[str, dict[str, str]]:
        timed = self.shelf.timed(book, slug)
        return slug, {
            "Starts": "" if timed.starts is None else format_clock(timed.starts),
            "Ends": "" if timed.finish is None else format_clock(timed.finish),
            "To spare": "" if timed.over_s is None else left_over(timed.over_s),
            "Planned": format_length(timed.planned_s),
        }

    @work(thread=True, group="findings")
    def _find(self, slug: str) -> tuple[str, tuple[Finding, ...]]:
        return slug, self.shelf.findings(slug)

    @work(thread=True, group="joining", exclusive=True, exit_on_error=False)
    def _join(self, slug: str, simulated: bool) -> Client:
        return self.shelf.join(slug, simulated=simulated)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What a worker found is shown here, on the screen's own thread."""
        worker = event.worker
        result: Any = worker.result
        if event.state is WorkerState.SUCCESS and worker.group == "findings":
            slug, found = result
            self._put(slug, {"Findings": summary(found)})
            if slug == self.shelf.show:
                self._tell_findings(found)
        elif event.state is WorkerState.SUCCESS and worker.group == "times":
            self._put(*result)
        elif event.state is WorkerState.SUCCESS and worker.group == "ending":
            self._tell(result)
        elif worker.group == "joining":
            if event.state is WorkerState.SUCCESS:
                self._open(result)
            elif event.state is WorkerState.ERROR:
                error = worker.error
                self.say(error if isinstance(error, BookError) else BookError(str(error)))
                if not isinstance(error, BookError | LinkError | OSError):
                    raise error or RuntimeError("joining the show failed")

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """The show under the cursor is the one at hand."""
        if event.row_key is None or event.cursor_row != event.data_table.cursor_row:
            return
        slug = event.row_key.value
        if slug is not None and self.shelf.reading.has("show", slug):
            self.shelf.show = slug
            found, wrong = self.shelf.found(slug), unread_of(self.shelf.reading, "show", slug)
            if wrong is not None:
                self._tell("\n".join(wrong.lines()))
            elif found is not None:
                self._tell_findings(found)
            else:
                self._tell("looking for what will go wrong …")

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """Enter opens the show's set, if it can be read."""
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

    def action_play(self, simulated: bool) -> None:
        """Join the show under the cursor, or begin it."""
        if self.can_read("show", self.shelf.show) and self.shelf.show is not None:
            self._tell("opening the show …")
            self._join(self.shelf.show, simulated)

    def action_end(self) -> None:
        """End the show under the cursor if it is being played, once that is confirmed."""
        slug, title = self.shelf.show, self._title()
        if slug is None or title is None:
            return
        if not self.shelf.plays(slug):
            self.notify(f"{title} is not being played")
            return

        def answered(ends: bool | None) -> None:
            if ends:
                self._tell(f"ending {title} …")
                self._end(slug)

        asks = f"End {title}?"
        lines = "Pedals and footswitches do nothing from then on. Its log stays, and After shows the night."
        self.app.push_screen(ProposalScreen(asks, lines, "End the show", "Keep playing"), answered)

    @work(thread=True, group="ending")
    def _end(self, slug: str) -> str:
        try:
            self.shelf.end(slug)
        except LinkError as error:
            return f"{slug} plays on: {error}"
        return f"{slug} has ended; 9 shows how it went"

    def _open(self, client: Client) -> None:
        from showrunner.tui.screens.playing import PlayingScreen

        self.app.push_screen(PlayingScreen(client, settings=self.settings, root=self.shelf.root))

    def _put(self, slug: str, cells: dict[str, str]) -> None:
        """What was worked out of a show, in its row; a show without a start has no times."""
        table = self.query_one(DataTable)
        columns = list(table.columns)
        for name, text in cells.items():
            if slug in table.rows:
                table.update_cell(slug, columns[COLUMNS.index(name)], text, update_width=name != "Findings")

    def _tell_findings(self, found: tuple[Finding, ...]) -> None:
        lines = [f"{finding.level}: {finding.song or finding.slug}: {finding.what}" for finding in found[:8]]
        more = [f"and {len(found) - 8} more"] if len(found) > 8 else []
        self._tell("\n".join([*lines, *more]) or "nothing found that will go wrong")

    def _tell(self, words: str) -> None:
        self.query_one(".detail", Static).update(words)
