"""The set: songs in order with the running clock, changeovers and findings beside each, moved with keys or mouse."""

import tomllib
from typing import Any, ClassVar, NamedTuple

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.events import Key, MouseDown, MouseUp
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState

from showrunner.book.data import ABSENT
from showrunner.book.files import FileChange, FileChanges
from showrunner.checks.finding import Finding
from showrunner.cli.standin_file import ShowFile, with_found
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.units import format_length
from showrunner.planning.changeover import Changeover, changeovers
from showrunner.planning.exchange import best_exchanges
from showrunner.planning.setorder import better_order, total_s
from showrunner.planning.standins import stand_ins
from showrunner.planning.timing import RunningTime, SongTime
from showrunner.tui import running_order
from showrunner.tui.running_order import Changes, Spot
from showrunner.tui.screens.asked import LineScreen, PickScreen, ProposalScreen
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.set_words import (
    clock_words,
    exchange_words,
    order_words,
    stand_in_words,
    tonight_line,
    when,
)
from showrunner.tui.shelf import summary
from showrunner.tui.widgets.table import Table

COLUMNS = ("", "Starts", "Song", "Then", "Needs", "Findings", "Length")
LOOKS_FOR_S = 5.0
"""How long a better order is looked for."""
TONIGHT = 'Different tonight, such as: capo = 2, tuning = "open D", tempo_bpm = 96, duration = "3:05", trim_db = -1'


class Proposed(NamedTuple):
    """Another order of the show, and what it would bring in words."""

    show: Show | None
    words: str


class Found(NamedTuple):
    """Stand-ins that were found: the show's file with them, and what they would lose in words."""

    file: ShowFile
    words: str


class SetlistScreen(BookScreen):
    """The show at hand; `,` and `.` move the song under the cursor, or the mouse takes it along."""

    place = "set"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("comma", "shift(-1)", "Earlier", id="set.earlier"),
        Binding("full_stop", "shift(1)", "Later", id="set.later"),
        Binding("a", "add", "Add a song", id="set.add"),
        Binding("o", "optional", "Optional", id="set.optional"),
        Binding("d", "to('reserve')", "To reserve", id="set.drop"),
        Binding("e", "to('encore')", "To encore", id="set.encore", show=False),
        Binding("delete,D", "take_out", "Take out", id="set.take_out", show=False),
        Binding("b", "break", "Set begins here, or goes on", id="set.break", show=False),
        Binding("t", "tonight", "Tonight", id="set.tonight"),
        Binding("i", "stand_ins", "Stand-ins", id="set.stand_ins", show=False),
        Binding("r", "better(False)", "Better order", id="set.better"),
        Binding("R", "better(True)", "Better order across sets", id="set.better_across", show=False),
        Binding("w", "exchange", "Best swap", id="set.exchange", show=False),
        Binding("y", "take", "Take it", id="set.take"),
        Binding("x", "refuse", "Leave it", id="set.refuse"),
    ]

    _proposed: Proposed | None = None
    _grabbed: str | None = None
    _carried = False

    def parts(self) -> ComposeResult:
        table = Table(cursor_type="row")
        table.add_columns(*COLUMNS)
        yield Static(id="clock", markup=False)
        yield table
        yield Static(classes="detail", markup=False)

    @property
    def the_show(self) -> Show | None:
        """The show at hand, if it is in the book."""
        return self.shelf.book.shows.get(self.shelf.show or "")

    @property
    def rig(self) -> Rig | None:
        """The show's rig."""
        book = self.shelf.book
        return book.rigs.get(book.rig_of(self.the_show) or "")

    @property
    def spots(self) -> list[Spot]:
        """Every row that holds a song, in order."""
        return [] if self.the_show is None else running_order.spots(self.the_show)

    def fill(self) -> None:
        """Every song with its time, what follows it and what was found."""
        slug, show, book = self.shelf.show, self.the_show, self.shelf.book
        table, at, song = self.query_one(DataTable), self.query_one(DataTable).cursor_row, self._song_at_cursor()
        table.clear()
        if slug is None or show is None:
            self.query_one("#clock", Static).update("choose a show on the screen Shows")
            return
        timed, rig = self.shelf.timed(slug), self.rig
        changes = {one.before: one for one in (changeovers(book, show, rig) if rig is not None else ())}
        times = {song.song: song for part in timed.sets for song in part.songs}
        found = self.shelf.findings(slug)
        for spot in self.spots:
            of_song = tuple(finding for finding in found if finding.song == spot.song)
            cells = self._cells(spot, timed, times.get(spot.song), changes.get(spot.song), of_song)
            table.add_row(*cells, key=spot.song)
        songs = [spot.song for spot in self.spots]
        at = songs.index(song) if song in songs else min(at, max(0, table.row_count - 1))
        table.move_cursor(row=at)
        self.query_one("#clock", Static).update(clock_words(show.title, timed))
        self._tell(at)

    def _song_at_cursor(self) -> str | None:
        table = self.query_one(DataTable)
        return table.coordinate_to_cell_key(table.cursor_coordinate).row_key.value if table.row_count else None

    def _cells(
        self, spot: Spot, timed: RunningTime, at: SongTime | None, change: Changeover | None, found: tuple[Finding, ...]
    ) -> tuple[str, ...]:
        song, show = self.shelf.book.songs.get(spot.song), self.the_show
        part = f"set {int(spot.part[1]) + 1}" if spot.part[0] == "sets" else str(spot.part[0])
        starts = "" if at is None else when(at.starts_s, timed.starts)
        title = song.title if song is not None else f"{spot.song}: not in the book"
        notes = ["optional"] if at is not None and at.optional else []
        notes += ["tonight"] if show is not None and spot.song in show.tonight else []
        notes += ["stand-in"] if show is not None and spot.song in show.stand_ins else []
        pause: str = "" if at is None else at.pause.kind
        if at is not None and at.pause.seconds:
            pause += f" {format_length(at.pause.seconds)}"
        needs = ""
        if change is not None:
            short = f", {format_length(change.short_s)} short" if change.short_s > 0 else ""
            needs = f"{format_length(change.needs_s)}{short}"
        length = "" if song is None else format_length(song.duration if at is None else at.duration_s)
        noted = f"{title} ({', '.join(notes)})" if notes else title
        return part, starts, noted, pause, needs, summary(found) if found else "", length

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """What is found in the song under the cursor, and what has to be done after it."""
        self._tell(event.cursor_row)

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Enter opens the song."""
        if event.row_key.value in self.shelf.book.songs and not self._carried:
            self.shelf.song = event.row_key.value
            self.go("song")

    def on_mouse_down(self, event: MouseDown) -> None:
        """A song is taken by the mouse."""
        spots, row = self.spots, event.style.meta.get("row", -1)
        self._grabbed = spots[row].song if 0 <= row < len(spots) else None
        self._carried = False

    def on_mouse_up(self, event: MouseUp) -> None:
        """And put where another one is."""
        spots, row, song = self.spots, event.style.meta.get("row", -1), self._grabbed
        self._grabbed = None
        spot = next((spot for spot in spots if spot.song == song), None)
        if spot is not None and 0 <= row < len(spots) and spots[row] != spot:
            self._carried = True
            self._make(running_order.moved(self._raw(), spot, spots[row].part, spots[row].number))

    def on_key(self, _: Key) -> None:
        """A key ends what the mouse did."""
        self._carried = False

    def action_shift(self, way: int) -> None:
        """Move the song under the cursor one place, into the next set at the end of one."""
        spot, show = self._spot(), self.the_show
        if spot is not None and show is not None:
            self._make(running_order.stepped(show, self._raw(), spot, way))

    def action_optional(self) -> None:
        """Whether the song may be dropped when it gets late, turned over."""
        spot = self._spot()
        if spot is None or spot.part[0] != "sets":
            return
        items = running_order.items(self._raw(), spot.part)
        item = items[spot.number]
        changed = {key: value for key, value in item.items() if key != "optional"}
        items[spot.number] = changed if item.get("optional") else {**changed, "optional": True}
        self._make({spot.part: items})

    def action_to(self, name: str) -> None:
        """Out of the set and to the end of the reserve or the encore."""
        spot = self._spot()
        if spot is not None and spot.part != (name,):
            raw = self._raw()
            self._make(running_order.moved(raw, spot, (name,), len(running_order.items(raw, (name,)))))

    def action_take_out(self) -> None:
        """Out of the show, with its stand-ins and what was different tonight."""
        spot = self._spot()
        if spot is not None:
            self._make(running_order.taken_out(self._raw(), spot))

    def action_break(self) -> None:
        """A set begins at this song; or, where one does, it joins the one before."""
        spot = self._spot()
        if spot is not None and spot.part[0] == "sets":
            self._make(running_order.broken(self._raw(), spot))

    def action_add(self) -> None:
        """Choose a song that the show doesn't have, to stand after the one under the cursor."""
        show, spot = self.the_show, self._spot()
        if show is None:
            return
        songs = self.shelf.book.songs
        there = {slug: song.title for slug, song in songs.items() if slug not in show.songs}
        part, index = (spot.part, spot.number + 1) if spot is not None else (running_order.parts(show)[0], 0)

        def chosen(song: str | None) -> None:
            if song is not None and self._make(running_order.added(self._raw(), part, index, song)):
                self.query_one(DataTable).move_cursor(row=[spot.song for spot in self.spots].index(song))

        if there:
            self.app.push_screen(PickScreen("Which song comes after this one?", there), chosen)
        else:
            self.notify("the show has every song of the book")

    def action_tonight(self) -> None:
        """What is different about the song under the cursor tonight, on one line."""
        spot = self._spot()
        if spot is None:
            return
        written: dict[str, Any] = self._raw().get("tonight", {}).get(spot.song, {})

        def typed(line: str | None) -> None:
            if line is None or line == tonight_line(written):
                return
            try:
                meant = tomllib.loads(f"tonight = {{ {line} }}")["tonight"]
            except ValueError:
                self.notify(f'{line}: write it as capo = 2, tuning = "open D"', severity="error")
                return
            if meant or written:
                self._make({("tonight", spot.song): meant or ABSENT})

        self.app.push_screen(LineScreen(TONIGHT, tonight_line(written)), typed)

    def action_better(self, across_sets: bool) -> None:
        """Look for the order that costs least in changeovers; shown first, taken only on request."""
        self._ask("order", "looking for a better order …", across_sets)

    def action_exchange(self) -> None:
        """Look for the one exchange of two songs that helps most."""
        self._ask("exchange", "looking for the swap that helps most …")

    def action_stand_ins(self) -> None:
        """Look for what can do the work of the controls that the show's rig lacks."""
        self._ask("stand-ins", "looking for stand-ins …")

    def _ask(self, what: str, words: str, across_sets: bool = False) -> None:
        show, rig = self.the_show, self.rig
        if show is None or rig is None:
            self.notify("this needs a show and its rig", severity="warning")
            return
        self.query_one(".detail", Static).update(words)
        self._look_for(what, show, rig, across_sets)

    @work(thread=True, group="proposal", exclusive=True, exit_on_error=False)
    def _look_for(self, what: str, show: Show, rig: Rig, across_sets: bool) -> Proposed | Found:
        book = self.shelf.book
        if what == "stand-ins":
            found = stand_ins(book, show, rig)
            return Found(with_found(self.shelf.reading, self.shelf.show or "", found), stand_in_words(found))
        if what == "exchange":
            one = best_exchanges(book, show, rig)[:1]
            return Proposed(one[0].show if one else None, exchange_words(book, one, total_s(book, show, rig)))
        better = better_order(book, show, rig, across_sets=across_sets, seconds=LOOKS_FOR_S)
        return Proposed(better.show if better.after_s < better.before_s else None, order_words(book, better))

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What was found is shown here, on the screen's own thread."""
        if event.worker.group != "proposal" or event.state not in (WorkerState.SUCCESS, WorkerState.ERROR):
            return
        error, result = event.worker.error, event.worker.result
        if event.state is WorkerState.ERROR:
            if not isinstance(error, ValueError):
                raise error or RuntimeError("nothing was found")
            self.query_one(".detail", Static).update(str(error))
        elif isinstance(result, Found):
            self._propose_stand_ins(result)
        elif isinstance(result, Proposed):
            self._proposed = result
            self.query_one(".detail", Static).update(result.words)
            self.refresh_bindings()

    def _propose_stand_ins(self, found: Found) -> None:
        self._tell(self.query_one(DataTable).cursor_row)
        if found.file.after == found.file.before:
            self.notify(found.words or "the rig lacks nothing that these songs want")
            return

        def answered(taken: bool | None) -> None:
            if taken:
                self.make_files(FileChanges((FileChange(*found.file),)))

        self.app.push_screen(ProposalScreen("Stand-ins that lose least; take them?", found.words), answered)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Taking and leaving are there while an order is proposed."""
        return self._proposed is not None if action in ("take", "refuse") else True

    def action_take(self) -> None:
        """Put the sets into the proposed order, in one step of undo."""
        proposed, show = self._proposed, self.the_show
        self.action_refuse()
        if proposed is None or proposed.show is None or show is None:
            return
        if sorted(show.set_songs) != sorted(proposed.show.set_songs):
            self.notify("the set has changed since; look again", severity="warning")
            return
        self._make(running_order.in_order(self._raw(), proposed.show))

    def action_refuse(self) -> None:
        """Leave the order as it is."""
        self._proposed = None
        self.refresh_bindings()
        self._tell(self.query_one(DataTable).cursor_row)

    def _make(self, changes: Changes) -> bool:
        return bool(changes) and self.shelf.show is not None and self.edit_all("show", self.shelf.show, changes)

    def _raw(self) -> dict[str, Any]:
        return self.shelf.raw("show", self.shelf.show or "")

    def _spot(self) -> Spot | None:
        spots, row = self.spots, self.query_one(DataTable).cursor_row
        return spots[row] if 0 <= row < len(spots) else None

    def _tell(self, row: int) -> None:
        spots, slug = self.spots, self.shelf.show
        if slug is None or not 0 <= row < len(spots):
            return
        found = self.shelf.findings(slug)
        here = [finding for finding in found if finding.song == spots[row].song]
        whole = [finding for finding in found if finding.song is None]
        lines = [f"{finding.level}: {finding.what}; {finding.mend}" for finding in here]
        lines = lines or ["nothing found that will go wrong in this song"]
        lines += [f"the show: {finding.level}: {finding.what}; {finding.mend}" for finding in whole]
        self.query_one(".detail", Static).update("\n".join(lines))
