"""What a night really took, planned against played, and closing it."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, ClassVar, NamedTuple

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState

from showrunner.book.filing import filed
from showrunner.book.problems import BookError
from showrunner.live.closing import Closed, as_planned, closed, filing_of, to_file
from showrunner.live.folder import where_run
from showrunner.live.night import begun_last
from showrunner.live.runs import Before, Run, left_out, lengths, read_run, read_runs, run_files
from showrunner.model.cells import cells
from showrunner.model.library import Book
from showrunner.places import typed_path
from showrunner.planning.changeover import changeover_times
from showrunner.planning.compared import Compared, compare
from showrunner.planning.timing import running_time
from showrunner.tui import night_words
from showrunner.tui.at_hand import still
from showrunner.tui.made import Made, NightStep
from showrunner.tui.night_words import Look
from showrunner.tui.screens.after_close import CloseScreen, Ticked
from showrunner.tui.screens.asked import LineScreen, PickScreen, ProposalScreen
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.shelf import stamps
from showrunner.tui.unread import OPENS, unread_of
from showrunner.tui.widgets.table import Table

COLUMNS = ("At", "Song", "Planned", "Played", "Over", "Needs")
SIDE_BY_SIDE_FROM = 118
BARS_FROM = 16


class Nights(NamedTuple):
    """What was read: a show's performances, oldest first, each song's lengths over all runs, and what can't be read.

    `others` are show and date of every other show's nights, the newest first.
    """

    show: str | None
    looks: tuple[Look, ...]
    lengths: Mapping[str, list[Before]]
    others: tuple[tuple[str, str], ...]
    troubles: tuple[str, ...]


class AfterScreen(BookScreen):
    """The show at hand as it was played: `,` and `.` go from night to night, `c` closes the one that is shown."""

    place: ClassVar[str] = "after"
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "after.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("comma", "step(-1)", "Earlier", id="after.before"),
        Binding("full_stop", "step(1)", "Later", id="after.after"),
        Binding("n", "pick", "Nights", id="after.pick"),
        Binding("c", "close", "Close", id="after.close"),
        Binding("o", "reopen", "Open again", id="after.reopen"),
        Binding("x", "export", "Export CSV", id="after.export"),
    ]

    def parts(self) -> ComposeResult:
        table = Table(cursor_type="row")
        yield Static(id="night", markup=False)
        yield Static(id="evening", markup=False)
        with Horizontal(id="sides"):
            yield table
            with VerticalScroll(id="told", can_focus=False):
                yield Static(id="song", markup=False)
                yield Static(id="words", markup=False)

    def open_up(self) -> None:
        """Read the runs in the background, and show the performance that was begun last, else the latest."""
        self._nights: Nights | None = None
        log = begun_last(where_run(self.shelf.root, self.shelf.show)) if self.shelf.show is not None else None
        self._at: tuple[str, int | None] | None = None if log is None else (log.stem, None)
        self._stamp: tuple[object, ...] = ()
        self._compared: Compared | None = None
        self._listed: list[tuple[str, str | None]] = []
        self._row = 0
        super().open_up()

    def on_resize(self) -> None:
        """What is told beside the table, or under it."""
        self.set_class(self.size.width < SIDE_BY_SIDE_FROM, "-narrow")
        self.set_class(self.size.height < BARS_FROM, "-low")
        self.call_after_refresh(self._show)

    def fill(self) -> None:
        """Read the runs anew; what was shown stays until they are there."""
        self._stamp = self._look_at_runs()
        if self._nights is None:
            self.query_one("#night", Static).update("reading the runs …")
        self._read(self.shelf.show)

    @property
    def looks(self) -> tuple[Look, ...]:
        """Every performance of the show that was read; none once its file is gone or can't be read."""
        there = self._nights is not None and self._nights.show in self.shelf.book.shows
        return self._nights.looks if self._nights is not None and there else ()

    @property
    def look(self) -> Look | None:
        """The performance that is shown: the one chosen, else the last of its date, else the latest of all."""
        day, number = self._at or ("", None)
        there = [look for look in self.looks if look.run.date == day] or list(self.looks)
        return next((look for look in there if look.run.number == number), there[-1] if there else None)

    def sees(self, made: Made) -> bool:
        """A night that was closed or opened again is seen where it is shown."""
        look = self.look
        shown = None if look is None else (look.run.show, look.run.date, look.run.number)
        if isinstance(made.step, NightStep):
            run = made.step.run
            return super().sees(made) and shown == (run.show, run.date, run.number)
        return super().sees(made)

    def action_step(self, way: int) -> None:
        """The performance before or after."""
        look, looks = self.look, self.looks
        to = looks.index(look) + way if look is not None else -1
        if 0 <= to < len(looks):
            self._turn_to(looks[to])
        else:
            self.notify(f"no {'later' if way > 0 else 'earlier'} performance of this show", timeout=2)

    def action_pick(self) -> None:
        """One of the show's nights by its date, or one of another show that was played."""
        looks = self.looks
        if self._nights is None:
            return
        names = {f"{number}": look.run.name for number, look in reversed(list(enumerate(looks)))}
        names |= {f"{show}/{day}": f"{self.shelf.book.shows[show].title}, {day}" for show, day in self._others}
        if not names:
            self.notify("no show of this book was played yet", severity="warning")
            return

        def picked(key: str | None) -> None:
            show, _, day = (key or "").rpartition("/")
            if show:
                self.shelf.show, self._at, self._nights = show, (day, None), None
                self.done()
            elif key is not None:
                self._turn_to(looks[int(key)])

        self.app.push_screen(PickScreen("Which night?", names), picked)

    def action_close(self) -> None:
        """Show what closing this night would file, with ticks, and file it when that is taken."""
        look, nights = self.look, self._nights
        if look is None or nights is None:
            self.notify("there is no night to close", severity="warning")
            return
        if look.was is not None:
            self.notify(f"closed already on {look.was.on}; o opens it again", severity="warning")
            return
        try:
            found = to_file(self.shelf.reading, look.run, look.night, nights.lengths)
        except BookError as error:
            self.say(error)
            return
        things = night_words.to_tick(self.shelf.book, found)
        stays = list(night_words.not_offered(self.shelf.book, found))
        no_visit = f"no visit: {found.no_visit}" if found.visit is None else ""

        def answered(ticked: Ticked | None) -> None:
            if ticked is None:
                return
            try:
                filing = filing_of(
                    self.shelf.reading, look.run, found, ticked.chosen, date.today(), ticked.temperature_c, ticked.note
                )
            except BookError as error:
                self.say(error)
                return
            self._do(NightStep(look.run, filing, closes=True), f"{look.run.name} is closed; u takes it back")

        self.app.push_screen(CloseScreen(f"Close {look.run.name}: what is filed?", things, stays, no_visit), answered)

    def action_reopen(self) -> None:
        """Take back what closing this night filed, once it was shown."""
        look = self.look
        if look is None or look.was is None:
            self.notify("this night is not closed", severity="warning")
            return
        run, was = look.run, look.was

        def answered(taken: bool | None) -> None:
            try:
                filing = filed(self.shelf.root, was.record) if taken else None
            except BookError as error:
                self.say(error)
                return
            if filing is not None:
                self._do(NightStep(run, filing, closes=False), f"{run.name} is open again")

        files = "\n".join(filter(None, (was.covers(run), *was.files))) or "no file"
        asks = f"Open {run.name} again? Closed on {was.on}; given back as they were before:"
        self.app.push_screen(ProposalScreen(asks, files, "Open it again", "Keep it closed"), answered)

    def action_export(self) -> None:
        """Every line of the performance's log, as a table for a spreadsheet, into a file that is asked for."""
        from showrunner.sheets.night import night_csv

        look = self.look
        if look is None:
            self.notify("there is no night to export", severity="warning")
            return
        run, book = look.run, self.shelf.book
        which = f"-{run.number}" if run.of > 1 else ""

        def named(name: str | None) -> None:
            if name:
                self._export(typed_path(name), night_csv(book, run.lines, run.stamps))

        self.app.push_screen(LineScreen("The log as CSV, into which file?", f"{run.show}-{run.date}{which}.csv"), named)

    def on_data_table_row_highlighted(self, _: DataTable.RowHighlighted) -> None:
        """The song under the cursor over its nights."""
        self._tell_song()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What was read is shown here, on the screen's own thread."""
        result: Any = event.worker.result
        if event.worker.group == "nights" and event.state is WorkerState.SUCCESS and result.show == self.shelf.show:
            self._nights = result
            self._show()

    @work(thread=True, group="nights", exclusive=True)
    def _read(self, show: str | None) -> Nights:
        root, book = self.shelf.root, self.shelf.book
        looks: list[Look] = []
        troubles: list[str] = []
        files: list[Path] = []
        try:
            files = run_files(root, show) if show in book.shows else []
        except OSError as error:
            troubles.append(f"runs/{show} can't be read: {error.strerror}")
        for file in files:
            try:
                run = read_run(root, file)
            except OSError as error:
                troubles.append(f"{file.name} can't be read: {error.strerror}")
                continue
            played = run.played(book)
            looks += [Look(part, night, _closed(root, part, troubles)) for part, night in played]
            if run.simulated:
                troubles.append(f"{run.date}: {left_out(run.simulated)}")
            if not played and (run.lines or not run.simulated):
                troubles.append(f"{run.file}: no song was begun in this run")
            troubles += map(str, run.problems if not played else ())
        runs = list(read_runs(root))
        nights = ((run.show, run.date) for run in reversed(runs) if run.show != show and run.lines)
        return Nights(show, tuple(looks), lengths(runs, book), tuple(nights), tuple(dict.fromkeys(troubles)))

    @property
    def _others(self) -> tuple[tuple[str, str], ...]:
        """Show and date of every other show's nights, the newest first."""
        others = self._nights.others if self._nights is not None else ()
        return tuple(night for night in others if night[0] in self.shelf.book.shows)

    def _turn_to(self, look: Look) -> None:
        self._at = look.run.date, look.run.number
        self._show()

    def _do(self, step: NightStep, words: str) -> None:
        try:
            self.shelf.change_night(step)
        except BookError as error:
            self.say(error)
            return
        self.notify(words)
        self.done()

    def _export(self, file: Path, text: str) -> None:
        from showrunner.book.output import write_output

        try:
            write_output(file, text.encode(), self.shelf.root, anew=True)
        except BookError as error:
            self.say(error)
        else:
            self.notify(f"wrote {file}")

    def _show(self) -> None:
        table, look = self.query_one(DataTable), self.look
        if self._nights is None:
            return
        if look is None or self.shelf.show is None:
            self._row = table.cursor_row if table.row_count else self._row
            table.clear()
            self._compared = None
            self._say_nothing(self._nights)
            return
        book = as_planned(self.shelf.book, look.was)
        self._compared = compared = compare_with(book, look)
        title = book.shows[look.run.show].title
        head = night_words.head(look, title, self.looks.index(look), len(self.looks), self.size.width - 1)
        self.query_one("#night", Static).update(head)
        self._list(table, book, compared)
        lines = [*night_words.night_lines(book, look, compared), *self._nights.troubles]
        self.query_one("#words", Static).update("\n".join(lines))
        self._tell_song()

    def _list(self, table: DataTable[str], book: Book, compared: Compared) -> None:
        parts = [(part.song, part.after) for part in compared.parts]
        at, top = still(self._listed, parts, table.cursor_row if table.row_count else self._row), table.scroll_y
        self._listed = parts
        table.clear(columns=True)
        room = self._room_for_drift(table, book, compared)
        table.add_columns(*COLUMNS, night_words.drift_head(room))
        for part in compared.parts:
            table.add_row(*night_words.cells(book, part, room))
        table.move_cursor(row=at)
        table.scroll_to(y=top, animate=False)

    def _room_for_drift(self, table: DataTable[str], book: Book, compared: Compared) -> int:
        """What the other columns leave, an odd number so that the line is in the middle."""
        rows = [COLUMNS, *(night_words.cells(book, part, night_words.DRIFT_CELLS)[:-1] for part in compared.parts)]
        taken = sum(max(map(cells, column)) + 2 * table.cell_padding for column in zip(*rows, strict=True))
        left = table.size.width - taken - 2 * table.cell_padding - 1
        return max(night_words.DRIFT_CELLS, min(night_words.MOST_DRIFT_CELLS, (left - 1) // 2 * 2 + 1))

    def _tell_song(self) -> None:
        compared, look, row = self._compared, self.look, self.query_one(DataTable).cursor_row
        if compared is None or look is None or self._nights is None or not 0 <= row < len(compared.parts):
            return
        part = compared.parts[row]
        bars = night_words.evening(self.shelf.book, compared, look, part, self.size.width - 1)
        self.query_one("#evening", Static).update("\n".join(bars))
        song = part.after or part.song
        lines = night_words.song_lines(self.shelf.book, song, self._nights.lengths.get(song, []), look)
        self.query_one("#song", Static).update("\n".join(lines))

    def _say_nothing(self, nights: Nights) -> None:
        show = self.shelf.book.shows.get(self.shelf.show or "")
        wrong = unread_of(self.shelf.reading, "show", self.shelf.show)
        if wrong is not None:
            said, how = wrong.first, OPENS
        elif show is None:
            said, how = "choose a show on the screen Shows, or make one there with n", ""
        else:
            said, how = f"{show.title} was not played yet", "p on the screen Shows plays it"
            how += "; n shows the nights of other shows" if self._others else ""
        self.query_one("#night", Static).update(said)
        for name in ("#song", "#evening"):
            self.query_one(name, Static).update("")
        self.query_one("#words", Static).update("\n".join(filter(None, (how, *nights.troubles))))

    def _look_again(self) -> None:
        if self.app.screen is self and self._look_at_runs() != self._stamp:
            self.fill()
        super()._look_again()

    def _look_at_runs(self) -> tuple[object, ...]:
        """Name, time and size of every run of the show and of what is kept with it."""
        show = self.shelf.show
        try:
            files = sorted((self.shelf.root / "runs" / show).glob("*.json*")) if show is not None else []
        except OSError:
            return ()
        return tuple(stamps(files))


def _closed(root: Path, run: Run, troubles: list[str]) -> Closed | None:
    """What closing a performance filed; that it can't be read is one of the troubles."""
    try:
        return closed(root, run)
    except BookError as error:
        troubles.append(str(error))
        return None


def compare_with(book: Book, look: Look) -> Compared:
    """A performance beside its show's plan in this book."""
    show = book.shows[look.run.show]
    rig = book.rigs.get(look.run.rig_in(book) or "")
    needs = changeover_times(book, show, rig) if rig is not None else {}
    return compare(look.night, running_time(book, show, rig=rig), needs)
