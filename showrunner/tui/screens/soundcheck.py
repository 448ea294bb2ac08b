"""Soundcheck: every song's trims with the headroom they leave, tonight's own by half a dB, and what to play."""

from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState

from showrunner.levels.kept import as_ended, last_visit
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.units import format_length
from showrunner.model.venue import RoomTrims, Visit
from showrunner.planning.soundcheck import Soundcheck, soundcheck
from showrunner.planning.trims import ShowLevels, SongTrims, show_levels
from showrunner.tui.screens.book import BookScreen

HALF_DB = 0.5
VOLUME, GAIN = "interface_volume_db", "input_gain_db"


class SoundcheckScreen(BookScreen):
    """The show at hand in its room: `+` and `-` are tonight's volume, `]` and `[` tonight's gain, `k` locks them."""

    place = "soundcheck"
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "soundcheck.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("plus", "trim('interface_volume_db', 1)", "Volume up", key_display="+", id="soundcheck.louder"),
        Binding("minus", "trim('interface_volume_db', -1)", "Volume down", key_display="-", id="soundcheck.softer"),
        Binding("right_square_bracket", "trim('input_gain_db', 1)", "Gain up", key_display="]", id="soundcheck.gain"),
        Binding("left_square_bracket", "trim('input_gain_db', -1)", "Gain down", key_display="[", id="soundcheck.less"),
        Binding("f", "full_house", "Full house", id="soundcheck.full"),
        Binding("k", "lock", "Lock", id="soundcheck.lock"),
    ]

    def parts(self) -> ComposeResult:
        table: DataTable[str] = DataTable(cursor_type="row")
        yield Static(id="tonight", markup=False)
        yield table
        with VerticalScroll(id="planned"):
            yield Static(id="plan", markup=False)
        yield Static(classes="detail", markup=False)

    def on_mount(self) -> None:
        """Trims at once, what to play as soon as it is worked out."""
        self._full_house = self._locked = False
        self._levels: ShowLevels | None = None
        super().on_mount()
        show, rig = self._ground()
        if show is not None and rig is not None:
            self.query_one("#plan", Static).update("working out what to play …")
            self._plan(self.shelf.book, show, rig)

    def fill(self) -> None:
        """Every song's trims, and what tonight adds."""
        show, rig = self._ground()
        table, tonight = self.query_one(DataTable), self.query_one("#tonight", Static)
        at = table.cursor_row
        table.clear(columns=True)
        if show is None or rig is None:
            tonight.update("choose a show with a rig on the screen Shows")
            return
        self._levels = levels = show_levels(self.shelf.book, show, rig, self._full_house)
        stages = [stage.stage for stage in rig.gain]
        table.add_columns("Song", "Gain", "Volume", "Number", *stages)
        for song in levels.songs:
            table.add_row(*_cells(self.shelf.book, song, stages), key=song.song)
        table.move_cursor(row=min(at, max(0, table.row_count - 1)))
        tonight.update(self._tonight(show))
        self._tell(at)

    def action_trim(self, which: str, way: int) -> None:
        """Half a dB on tonight's trim; it goes into the show's file and can be taken back."""
        show, _ = self._ground()
        if show is None or self.shelf.show is None:
            return
        if self._locked:
            self.notify("the trims are locked; k unlocks them", severity="warning")
            return
        self.edit("show", self.shelf.show, ("trims", which), getattr(show.trims, which) + way * HALF_DB)

    def action_full_house(self) -> None:
        """With what the room needs when the audience is in, or without."""
        self._full_house = not self._full_house
        self.fill()

    def action_lock(self) -> None:
        """Keep the trims from being moved by a stray key, or let them be moved."""
        self._locked = not self._locked
        self.fill()

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """What should be turned for the song under the cursor."""
        self._tell(event.cursor_row)

    @work(thread=True, group="plan", exclusive=True)
    def _plan(self, book: Book, show: Show, rig: Rig) -> Soundcheck:
        return soundcheck(book, show, rig)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """The plan is shown here, on the screen's own thread."""
        result: Any = event.worker.result
        if event.worker.group == "plan" and event.state is WorkerState.SUCCESS:
            self.query_one("#plan", Static).update("\n".join(_plan_lines(self.shelf.book, result)))

    def _ground(self) -> tuple[Show | None, Rig | None]:
        book = self.shelf.book
        show = book.shows.get(self.shelf.show or "")
        return show, book.rigs.get(book.rig_of(show) or "") if show is not None else None

    def _tonight(self, show: Show) -> str:
        venue = self.shelf.book.venues.get(show.venue or "")
        visit = last_visit(venue) if venue is not None else None
        parts = [
            show.title,
            f"tonight adds volume {show.trims.interface_volume_db:+g} dB, gain {show.trims.input_gain_db:+g} dB",
            "full house" if self._full_house else "empty room",
            "locked" if self._locked else "open",
            *(() if venue is None else (_room(as_ended(venue, show)),)),
            "first time in this room" if visit is None else _visit(visit),
        ]
        return " · ".join(parts)

    def _tell(self, row: int) -> None:
        levels = self._levels
        if levels is None or not 0 <= row < len(levels.songs):
            return
        remarks = [f"{each.level}: {each.what}; {each.mend}" for each in levels.songs[row].remarks]
        self.query_one(".detail", Static).update("\n".join(remarks) or "nothing to turn for this song")


def _cells(book: Book, song: SongTrims, stages: list[str]) -> list[str]:
    headroom = {stage.stage: stage for stage in song.stages}
    spare = [
        f"{headroom[name].headroom_db:.1f}{' !' if headroom[name].headroom_db < headroom[name].needed_db else ''}"
        if name in headroom
        else ""
        for name in stages
    ]
    number = "" if song.interface_volume_number is None else str(song.interface_volume_number)
    gain, volume = song.trims.input_gain.set_db, song.trims.interface_volume.set_db
    return [book.songs[song.song].title, f"{gain:+.1f}", f"{volume:+.1f}", number, *spare]


def _plan_lines(book: Book, plan: Soundcheck) -> list[str]:
    """What to play, in order, with what each moment lets be heard."""
    lines = [f"to play, {format_length(plan.total_s)} in all"]
    for number, step in enumerate(plan.steps, 1):
        spot = step.spot
        title = book.songs[spot.song].title
        covers = ", ".join(sorted(spot.covers))
        lines.append(f"{number}. {title}: {spot.name} to {spot.to}, {format_length(spot.seconds)} · {covers}")
    if plan.uncovered:
        lines.append(f"not heard: {', '.join(plan.uncovered)}")
    return lines


def _room(trims: RoomTrims) -> str:
    return f"the room takes volume {trims.interface_volume_db:+g} dB, gain {trims.input_gain_db:+g} dB"


def _visit(visit: Visit) -> str:
    trims = visit.trims
    ended = f"volume {trims.interface_volume_db:+g} dB, gain {trims.input_gain_db:+g} dB"
    return f"last here {visit.date}: the room took {ended}" + (f"; {visit.note}" if visit.note else "")
