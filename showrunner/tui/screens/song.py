"""One song: the curve table beside its plot, edited in place, a pedal to try it with, cues along its length."""

from typing import Any, ClassVar, NamedTuple

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.coordinate import Coordinate
from textual.widgets import DataTable, Input, Static

from showrunner.book.data import value_at
from showrunner.curves.laws import to_number
from showrunner.curves.plot import plot
from showrunner.curves.shapes import columns, row_in
from showrunner.curves.steps import in_db, largest_step
from showrunner.model.keys import KeyPath
from showrunner.model.rig import Rig
from showrunner.model.song import Curve, Song
from showrunner.model.units import format_length
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.widgets.length import along
from showrunner.tui.widgets.table import Table

NUDGE_PCT = 5.0
SIDE_BY_SIDE_FROM = 110
"""Columns from which the plot stands beside the table, below that under it."""


TALLEST_PLOT = 36


class Place(NamedTuple):
    """A curve of the song: its set and the control that moves it."""

    set: str
    control: str


class SongScreen(BookScreen):
    """The song at hand; Enter edits a value, `,` and `.` move the pedal, `c` goes to the next curve."""

    place = "song"
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "song.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("comma", "nudge(-1)", "To heel", id="song.heelwards"),
        Binding("full_stop", "nudge(1)", "To toe", id="song.toewards"),
        Binding("h", "put(0)", "Heel", id="song.heel", show=False),
        Binding("e", "put(100)", "Toe", id="song.toe", show=False),
        Binding("c", "other_curve", "Next curve", id="song.curve"),
        Binding("n", "other_song(1)", "Next song", id="song.next"),
        Binding("b", "other_song(-1)", "Song before", id="song.before", show=False),
        Binding("escape", "leave_edit", "Leave the value", id="song.leave", show=False),
    ]

    def parts(self) -> ComposeResult:
        table = Table(cursor_type="cell")
        yield Static(id="head", markup=False)
        with Horizontal(id="sides"):
            with Vertical(id="left"):
                yield table
                yield Input(id="value", select_on_focus=True)
            yield Static(id="plot", markup=False)
        yield Static(id="cues", markup=False)
        yield Static(classes="detail", markup=False)

    def on_mount(self) -> None:
        """The first curve, its control at heel."""
        self._curve = 0
        self._travel = 0.0
        self._edited: tuple[str, KeyPath, Any] | None = None
        self.query_one("#value").display = False
        super().on_mount()
        self.query_one(DataTable).focus()

    def on_resize(self) -> None:
        """Plot beside the table or under it."""
        self.set_class(self.size.width < SIDE_BY_SIDE_FROM, "-narrow")
        self.call_after_refresh(self._draw)

    @property
    def song(self) -> Song | None:
        """The song at hand."""
        return self.shelf.book.songs.get(self.shelf.song or "")

    @property
    def rig(self) -> Rig | None:
        """The rig of the show at hand, else the book's usual one."""
        book = self.shelf.book
        return book.rigs.get(book.rig_of(book.shows.get(self.shelf.show or "")) or "")

    @property
    def places(self) -> list[Place]:
        """Every curve of the song, set by set."""
        song = self.song
        return [] if song is None else [Place(name, control) for name, of in song.curves.items() for control in of]

    @property
    def curve(self) -> Curve | None:
        """The curve at hand."""
        song, places = self.song, self.places
        if song is None or not places:
            return None
        the = places[self._curve % len(places)]
        return song.curves[the.set][the.control]

    def fill(self) -> None:
        """The table, its plot, the cues and the findings."""
        song, table = self.song, self.query_one(DataTable)
        at = table.cursor_coordinate
        table.clear(columns=True)
        if song is None:
            self.query_one("#head", Static).update("choose a song on the screen Songs")
            return
        self.query_one("#head", Static).update(self._title(song))
        curve = self.curve
        if curve is not None:
            travels = _travels(curve)
            table.add_columns("target", *(f"{travel:g} %" for travel in travels), "now", "number", "step")
            for name in curve.moves:
                table.add_row(*self._row(curve, name, travels), key=name)
            if table.row_count:
                row, column = min(at.row, table.row_count - 1), min(max(at.column, 1), len(travels))
                table.move_cursor(row=row, column=column)
        self._draw()
        self.query_one("#cues", Static).update("\n".join(along(song, max(20, self.size.width - 2))))
        found = self.shelf.of_song(self.shelf.song or "")
        lines = [f"{finding.level}: {finding.what}; {finding.mend}" for finding in found]
        self.query_one(".detail", Static).update("\n".join(lines) or "nothing found that will go wrong")

    def _title(self, song: Song) -> str:
        places = self.places
        the = places[self._curve % len(places)] if places else None
        which = (
            f'{the.control} in the set "{the.set}" ({self._curve % len(places) + 1} of {len(places)})' if the else ""
        )
        facts = (song.key, f"{song.tempo_bpm:g} bpm" if song.tempo_bpm else None, str(song.meter), song.tuning)
        about = ", ".join(fact for fact in facts if fact)
        return f"{song.title} · {format_length(song.duration)} · {about} · {which or 'no curves'}"

    def _row(self, curve: Curve, name: str, travels: list[float]) -> list[str]:
        own, rig = columns(curve, name), self.rig
        values = dict(zip(own, curve.moves[name].values, strict=True))
        target = rig.targets.get(name) if rig is not None else None
        now = row_in(curve, name)(self._travel)
        unit = target.unit if target is not None else "not in this rig"
        number = str(to_number(target, now)) if target is not None else ""
        cells = [f"{values[travel]:g}" if travel in values else "" for travel in travels]
        return [name, *cells, f"{now:.1f} {unit}", number, self._step(curve, name)]

    def _step(self, curve: Curve, name: str) -> str:
        """The largest step on the way, where it is one in loudness."""
        rig, places = self.rig, self.places
        target = rig.targets.get(name) if rig is not None else None
        control = rig.controls.get(places[self._curve % len(places)].control) if rig is not None else None
        if target is None or control is None or control.by_hand or not in_db(target):
            return ""
        step = largest_step(control, curve, name, target)
        return "" if step is None else f"{step.size:.2f} dB"

    def _draw(self) -> None:
        curve, rig, side = self.curve, self.rig, self.query_one("#plot", Static)
        if curve is None:
            side.update("this song has no curves")
            return
        width, height = side.content_size
        room = max(4, height - len(curve.moves) - 2)
        lines = plot(
            curve, rig.targets if rig is not None else {}, max(40, width), min(room, TALLEST_PLOT), self._travel
        )
        side.update("\n".join(lines))

    def action_nudge(self, way: int) -> None:
        """Move the pedal a little."""
        self._move(self._travel + way * NUDGE_PCT)

    def action_put(self, travel: float) -> None:
        """Put the pedal to heel or toe."""
        self._move(travel)

    def _move(self, travel: float) -> None:
        self._travel = min(100.0, max(0.0, travel))
        curve, table = self.curve, self.query_one(DataTable)
        if curve is None:
            return
        travels = _travels(curve)
        for row, name in enumerate(curve.moves):
            for column, text in enumerate(self._row(curve, name, travels)[len(travels) + 1 :], len(travels) + 1):
                table.update_cell_at(Coordinate(row, column), text)
        self._draw()

    def action_other_curve(self) -> None:
        """The song's next curve."""
        self._curve = (self._curve + 1) % max(1, len(self.places))
        self.fill()

    def action_other_song(self, way: int) -> None:
        """The book's next song, or the one before."""
        slugs = list(self.shelf.book.songs)
        if slugs and self.shelf.song in slugs:
            self.shelf.song = slugs[(slugs.index(self.shelf.song) + way) % len(slugs)]
            self._curve = 0
            self.fill()

    def on_data_table_cell_selected(self, event: DataTable.CellSelected) -> None:
        """Enter on a value edits it."""
        key = self._key(event.coordinate)
        if key is None or self.shelf.song is None:
            return
        self._edited = self.shelf.song, key, value_at(self.shelf.raw("song", self.shelf.song), key)
        entry = self.query_one("#value", Input)
        entry.value = str(event.value)
        entry.display = True
        entry.focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter in the value keeps it, in the file and on the screen."""
        try:
            value = float(event.value.strip().replace(",", "."))
        except ValueError:
            self.notify(f'"{event.value}" is not a number', severity="error")
            return
        if self._edited is None:
            return
        song, key, seen = self._edited
        if self.edit("song", song, key, int(value) if value.is_integer() else value, seen=seen):
            self.settled()

    def settled(self) -> None:
        """The value stands as it was chosen."""
        self.action_leave_edit()

    def action_leave_edit(self) -> None:
        """Leave the value as it was."""
        self._edited = None
        self.query_one("#value").display = False
        self.query_one(DataTable).focus()

    def _key(self, at: Coordinate) -> KeyPath | None:
        """Where in the song's file the value of a cell is written; None for a cell that holds none."""
        curve, places = self.curve, self.places
        if curve is None or self.shelf.song is None or at.row >= len(curve.moves):
            return None
        name, travels = list(curve.moves)[at.row], _travels(curve)
        if not 1 <= at.column <= len(travels) or travels[at.column - 1] not in columns(curve, name):
            return None
        the = places[self._curve % len(places)]
        index = columns(curve, name).index(travels[at.column - 1])
        written = self.shelf.raw("song", self.shelf.song)["curves"][the.set][the.control]["moves"][name]
        inside: KeyPath = ("values",) if isinstance(written, dict) else ()
        return ("curves", the.set, the.control, "moves", name, *inside, index)


def _travels(curve: Curve) -> list[float]:
    """Every column of any row, rising."""
    return sorted({travel for name in curve.moves for travel in columns(curve, name)})
