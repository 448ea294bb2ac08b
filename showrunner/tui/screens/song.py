"""One song: the curve table beside its plot, edited in place, a pedal to try it with, cues along its length."""

from collections.abc import Callable
from typing import Any, ClassVar, NamedTuple, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.coordinate import Coordinate
from textual.widgets import DataTable, Input, Static
from textual.worker import Worker, WorkerState

from showrunner.checks.finding import Finding
from showrunner.live.kept import real_system
from showrunner.live.picture import Client
from showrunner.live.ports import System
from showrunner.model.keys import KeyPath
from showrunner.model.tempo import cues_at_s
from showrunner.tui.at_hand import still
from showrunner.tui.following import playing_now
from showrunner.tui.real_pedal import RealPedal
from showrunner.tui.screens.curves import Place
from showrunner.tui.screens.song_edits import SongEdits
from showrunner.tui.shelf import told
from showrunner.tui.song_about import cue_line, curve_lines
from showrunner.tui.song_words import cue_cells, head, row_cells, sign, start_cells, travels_of
from showrunner.tui.widgets.length import along
from showrunner.tui.widgets.plotted import Plotted
from showrunner.tui.widgets.song_tables import CueTable, CurveTable

NUDGE_PCT = 5.0
SIDE_BY_SIDE_FROM = 110
"""Columns from which the plot stands beside the table, below that under it."""
NARROWEST = 52
"""Columns in which a curve is told in words beside its plot."""
ROOMY_FROM = 30
"""Rows from which the cues have more than three of them."""
FRAMES_PER_S = 30


class Listed(NamedTuple):
    """What the tables list of which song, the start before its cues, so that cursors find it again."""

    song: str | None = None
    places: tuple[Place, ...] = ()
    place: Place | None = None
    targets: tuple[str, ...] = ()
    travels: tuple[float, ...] = ()
    cues: tuple[str, ...] = ()


class SongScreen(SongEdits):
    """The song at hand; Enter edits what is under the cursor, Tab goes from the curve to the cues and back."""

    place = "song"
    OF_IT = frozenset({"add_row", "sets", "other_curve", "facts", "other_song", "real_pedal", "add_cue"})
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "song.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("tab", "other_table", "Cues", id="song.table", tooltip="From the curve to the cues, and back"),
        Binding("comma", "nudge(-1)", "Heel", id="song.heelwards", tooltip="The pedal a little towards the heel"),
        Binding("full_stop", "nudge(1)", "Toe", id="song.toewards", tooltip="The pedal a little towards the toe"),
        Binding("h", "put(0)", "The pedal to the heel", id="song.heel", show=False),
        Binding("e", "put(100)", "The pedal to the toe", id="song.toe", show=False),
        Binding("c", "other_curve", "Curve", id="song.curve", tooltip="The next curve"),
        Binding("f", "facts", "Facts", id="song.facts", tooltip="Length, key, tempo, guitar, tuning"),
        Binding("p", "real_pedal", "Real pedal", id="song.real", tooltip="The real pedal moves the curve"),
        Binding("n", "other_song(1)", "Next song", id="song.next"),
        Binding("b", "other_song(-1)", "Song before", id="song.before", show=False),
        Binding("escape", "leave_edit", "Leave the value", id="song.leave", show=False),
    ]
    system_of: Callable[[], System] = staticmethod(real_system)
    _listed = Listed()

    def parts(self) -> ComposeResult:
        yield Static(id="head", markup=False)
        with Horizontal(id="sides"):
            with Vertical(id="left"):
                yield CurveTable(id="curve")
                yield Input(id="value", select_on_focus=True)
                yield Static(id="said", markup=False)
            yield Plotted(id="plot")
        yield Static(id="along", markup=False)
        yield CueTable(id="cues")
        yield Static(classes="detail", markup=False)

    def open_up(self) -> None:
        """The first curve, its control at heel."""
        self._travel = 0.0
        self._real = RealPedal()
        self.query_one("#value").display = False
        self.query_one(CueTable).add_columns("", "at", "cue", "curves", "hands, pedals, values")
        super().open_up()
        self.query_one(CurveTable).focus()
        self.set_interval(1 / FRAMES_PER_S, self._follow)

    def on_unmount(self) -> None:
        """Let go of the ports."""
        self._real.stop()

    def on_resize(self) -> None:
        """Plot beside the table or under it."""
        self.set_class(self.size.width < SIDE_BY_SIDE_FROM, "-narrow")
        self.set_class(self.size.height < ROOMY_FROM, "-short")
        self.call_after_refresh(self._draw)

    def fill(self) -> None:
        """The table, its plot, the cues and the findings."""
        song, table, cues, was = self.song, self.query_one(CurveTable), self.query_one(CueTable), self._listed
        self.refresh_bindings()
        if song is None:
            nothing = "choose a song on the screen Songs, or make one there with n"
            self.instead("#head", nothing, ("song", self.shelf.song))
        if song is None and was.song == self.shelf.song:
            return
        at, row = table.cursor_coordinate, cues.cursor_row
        table.clear(columns=True)
        cues.clear()
        the, curve, found, now = self.the_place, self.curve, self._found(), self._to_list()
        self._listed = now
        if song is None:
            self.query_one("#along", Static).update("")
            self._draw()
            return
        if was.song == now.song:
            row = still(was.cues, now.cues, row)
        if was.song == now.song and was.place == now.place:
            at = Coordinate(still(was.targets, now.targets, at.row), 1 + still(was.travels, now.travels, at.column - 1))
        self.query_one("#head", Static).update(head(song, the, self.places))
        if curve is not None and the is not None:
            travels = travels_of(curve)
            table.add_columns("target", *(f"{travel:g} %" for travel in travels), "now", "number", "step")
            for name in curve.moves:
                key = ("curves", the.set, the.control, "moves", name)
                table.add_row(*row_cells(curve, the.control, name, self.rig, self._travel, sign(found, key)), key=name)
            if table.row_count:
                column = min(max(at.column, 1), len(travels))
                table.move_cursor(row=min(at.row, table.row_count - 1), column=column)
        cues.add_row(*start_cells(song, sign(found, ("start",))))
        for number, (cue, at_s) in enumerate(zip(song.cues, cues_at_s(song), strict=True)):
            cues.add_row(*cue_cells(number, cue, at_s, sign(found, ("cues", number))))
        cues.move_cursor(row=min(row, cues.row_count - 1))
        self._draw()
        self.query_one("#along", Static).update(along(song, max(20, self.size.width - 2))[0])
        self.tell()

    def done(self) -> None:
        """After the book was read anew: the curve at hand is the same, wherever its place is by now."""
        if self._listed.song == self.shelf.song and self._listed.places and self.song is not None:
            at = self.curve_number % len(self._listed.places)
            self.curve_number = still(self._listed.places, self.places, at)
        super().done()

    def _to_list(self) -> Listed:
        song, curve = self.song, self.curve
        targets, travels = (tuple(curve.moves), tuple(travels_of(curve))) if curve is not None else ((), ())
        cues = ("", *(cue.name for cue in song.cues)) if song is not None else ()
        return Listed(self.shelf.song, tuple(self.places), self.the_place, targets, travels, cues)

    def tell(self) -> None:
        """What is found, at the place of the cursor first."""
        song, the, curve = self.song, self.the_place, self.curve
        if song is None:
            return
        here, lines, table = cast(KeyPath, ()), [], self.query_one(CurveTable)
        name = list(curve.moves)[min(table.cursor_row, len(curve.moves) - 1)] if curve and curve.moves else None
        if self.cues_have_keys:
            number = self.cue_at if (self.cue_at or 0) < len(song.cues) else None
            here = ("start",) if number is None else ("cues", number)
            lines = [cue_line(song, number)]
        elif the is not None and name is not None:
            here = ("curves", the.set, the.control, "moves", name)
        found = sorted(self._found(), key=lambda each: not _at(each, here))
        lines += [f"{'▸ ' if _at(one, here) else ''}{told(one)}" for one in found]
        self.query_one(".detail", Static).update("\n".join(lines) or "nothing found that will go wrong")
        width = max(NARROWEST, table.virtual_size.width - 2)
        about = curve_lines(curve, the.control, self.rig, name, width) if curve is not None and the is not None else []
        self.query_one("#said", Static).update("\n".join(about))

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """What is found at the cue under the cursor."""
        if event.cursor_row == event.data_table.cursor_row:
            self.tell()

    def on_data_table_cell_highlighted(self, event: DataTable.CellHighlighted) -> None:
        """What is found at the row under the cursor."""
        if event.coordinate == event.data_table.cursor_coordinate:
            self.tell()

    def on_descendant_focus(self) -> None:
        """What is found where the keys go now."""
        self.refresh_bindings()
        self.tell()

    @property
    def ready(self) -> bool:
        """Whether the song can be read."""
        return self.song is not None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What needs a curve, a row of it or a cue is offered where there is one."""
        curve = self.curve
        match action:
            case "add_column" | "remove_column" | "entry" | "nudge" | "put":
                return curve is not None
            case "shape" | "remove_row":
                return curve is not None and bool(curve.moves)
            case "remove_cue" | "shift_cue":
                return self.song is not None and bool(self.song.cues)
            case "leave_edit":
                return self._edited is not None
        return super().check_action(action, parameters)

    def _found(self) -> list[Finding]:
        return list(self.shelf.of_song(self.shelf.song or ""))

    def _draw(self) -> None:
        rig = self.rig
        nothing = "" if self.song is None else "this song has no curves: v makes one"
        self.query_one(Plotted).draw(self.curve, rig.targets if rig is not None else {}, self._travel, nothing)

    def action_nudge(self, way: int) -> None:
        """Move the pedal a little."""
        self._move(self._travel + way * NUDGE_PCT)

    def action_put(self, travel: float) -> None:
        """Put the pedal to heel or toe."""
        self._move(travel)

    def on_plotted_moved(self, event: Plotted.Moved) -> None:
        """The mouse moved the pedal."""
        self._move(event.travel)

    def _move(self, travel: float) -> None:
        self._travel = min(100.0, max(0.0, travel))
        curve, the, table = self.curve, self.the_place, self.query_one(CurveTable)
        if curve is None or the is None or table.row_count != len(curve.moves):
            return
        first = len(travels_of(curve)) + 1
        for row, name in enumerate(curve.moves):
            cells = row_cells(curve, the.control, name, self.rig, self._travel, "")
            for column, text in enumerate(cells[first:], first):
                table.update_cell_at(Coordinate(row, column), text)
        self._draw()

    def action_real_pedal(self) -> None:
        """Let the real control move the curve, or let go of it."""
        if self._real.listening:
            self._real.stop()
            self.notify("the real pedal is let go")
        elif self.rig is None or self.the_place is None:
            self.notify("this needs a rig and a curve", severity="warning")
        else:
            self._look_for_show()

    @work(thread=True, group="under way", exclusive=True)
    def _look_for_show(self) -> Client | None:
        return playing_now(self.shelf.root, self.shelf.book.shows, on_ports=True)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Whether a show has the ports is known now."""
        if event.state is not WorkerState.SUCCESS or event.worker.group != "under way":
            return
        client: Any = event.worker.result
        rig, the = self.rig, self.the_place
        if rig is None or the is None or not self.is_mounted:
            if client is not None:
                client.close()
            return
        self._real.start(rig, self.system_of, client)
        self.notify(f"{the.control} moves the curve as soon as it is heard; p lets go of it")

    def _follow(self) -> None:
        """Where the real control stands now."""
        the = self.the_place
        travel = self._real.travel(the.control) if self._real.listening and the is not None else None
        if travel is not None and travel != self._travel:
            self._move(travel)

    def action_other_curve(self) -> None:
        """The song's next curve."""
        if len(self.places) < 2:
            self.notify("there is no other curve: v makes one", timeout=2)
            return
        self.curve_number = (self.curve_number + 1) % len(self.places)
        self.fill()

    def action_other_song(self, way: int) -> None:
        """The book's next song, or the one before."""
        slug = self.another("song", self.shelf.reading.slugs("song"), self.shelf.song, way)
        if slug is not None:
            self.shelf.song, self.curve_number = slug, 0
            self.fill()

    def action_other_table(self) -> None:
        """From the curve to the cues, and back."""
        self.query_one(CurveTable if self.cues_have_keys else CueTable).focus()


def _at(finding: Finding, key: KeyPath) -> bool:
    return bool(key) and finding.kind == "song" and finding.key[: len(key)] == key
