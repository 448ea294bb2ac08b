"""Soundcheck: moments to play one after the other, and tonight's trims with the headroom they leave."""

from collections.abc import Callable
from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.events import DescendantFocus
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState

from showrunner.levels.kept import KEYS, VOLUME, last_visit
from showrunner.live.picture import Client
from showrunner.live.ports import System
from showrunner.live.under_way import show_under_way
from showrunner.model.rig import Rig
from showrunner.model.show import Show, ShowTrims
from showrunner.planning.soundcheck import Soundcheck, soundcheck
from showrunner.planning.trims import ShowLevels, SongTrims, show_levels
from showrunner.tui.machine import real_system
from showrunner.tui.plugged import Plugged
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.soundcheck_words import (
    Moment,
    adjustable,
    moment_cells,
    moments,
    plan_words,
    stage_lines,
    step_of,
    trim_lines,
    trim_rows,
)
from showrunner.tui.widgets.table import Table

CAUTION = "Start quiet, and wear hearing protection while levels are being found."
LOOKS_EVERY_S = 0.1
SIDE_BY_SIDE_FROM = 118
MOMENTS = ("", "At", "Moment", "For", "By hand", "Heard first")
SONGS = ("Song", "Gain", "Volume", "Number", "Least to spare")


class SoundcheckScreen(BookScreen):
    """The show at hand in its room: Enter plays from a moment, `+` and `-` move the trim at hand, `k` locks both."""

    place = "soundcheck"
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "soundcheck.tcss"]  # type: ignore[assignment]
    AUTO_FOCUS = "#moments"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("plus,equals_sign", "trim(1)", "Up", key_display="+", id="soundcheck.up"),
        Binding("minus", "trim(-1)", "Down", key_display="-", id="soundcheck.down"),
        Binding("v", "other_trim(1)", "Other trim", id="soundcheck.trim"),
        Binding("V", "other_trim(-1)", "Trim before", id="soundcheck.trim_before", show=False),
        Binding("t", "other_list", "Other list", id="soundcheck.list"),
        Binding("f", "full_house", "Full house", id="soundcheck.full"),
        Binding("k", "lock", "Lock", id="soundcheck.lock"),
    ]
    system_of: Callable[[], System] = staticmethod(real_system)

    def parts(self) -> ComposeResult:
        plan = Table(cursor_type="row", id="moments")
        plan.add_columns(*MOMENTS)
        songs = Table(cursor_type="row", id="songs")
        songs.add_columns(*SONGS)
        yield Static(id="tonight", markup=False)
        yield Static(CAUTION, id="caution", markup=False)
        with Horizontal(id="sides"):
            yield plan
            with Vertical(id="levels"):
                yield Static(id="trims", markup=False)
                yield Static(id="song", markup=False)
                yield Static(id="stages", markup=False)
                yield songs
        yield Static(classes="detail", markup=False)

    def on_mount(self) -> None:
        """Trims at once, what to play as soon as it is worked out."""
        self._full_house = False
        self._trim = VOLUME
        self._levels: ShowLevels | None = None
        self._planned: tuple[object, ...] | None = None
        self._plan: Soundcheck | None = None
        self._moments: tuple[Moment, ...] = ()
        self._played: Client | None = None
        self._plugged: Plugged | None = None
        self._stands: tuple[str, int] | None = None
        self._said = ""
        super().on_mount()
        self._look_for_show()
        self.set_interval(LOOKS_EVERY_S, self.look)

    def on_unmount(self) -> None:
        """Let go of the show and of the ports."""
        if self._played is not None:
            self._played.close()
        if self._plugged is not None:
            self._plugged.stop()

    def on_resize(self) -> None:
        """Levels beside the moments, or under them."""
        self.set_class(self.size.width < SIDE_BY_SIDE_FROM, "-narrow")
        self.call_after_refresh(self._tell)

    @property
    def locked(self) -> bool:
        """Whether trims and moments are out of a stray key's reach."""
        return self.shelf.show in self.shelf.locked

    def fill(self) -> None:
        """Trims and headroom at once; what to play is worked out anew where songs, order or rig have changed."""
        show, rig = self._ground()
        if show is None or rig is None:
            self.query_one("#tonight", Static).update("choose a show with a rig on the screen Shows")
            return
        self._levels = show_levels(self.shelf.book, show, rig, self._full_house)
        ground = (self.shelf.book.songs, show.model_copy(update={"trims": ShowTrims()}), rig)
        if ground != self._planned:
            self._planned = ground
            self._work_out(show, rig)
        self._list_songs(self._levels)
        self._tell()
        self.refresh_bindings()

    def look(self) -> None:
        """Where the running show stands, and what became of a value that was sent."""
        if self._played is not None:
            state = self._played.picture().state
            stands = (state.song, state.moment) if state.song is not None and state.phase == "song" else None
            if stands != self._stands:
                self._stands = stands
                self._list_moments()
        elif self._plugged is not None:
            _, rig = self._ground()
            name = rig.trims.volume_target if rig is not None else None
            said = self._plugged.seen.said.get(name or "", "")
            if said != self._said:
                self._said = said
                self._tell()

    def action_trim(self, way: int) -> None:
        """Half a dB, or one of a target's other unit, on the trim at hand; it goes into the show's file at once."""
        show, rig = self._ground()
        if show is None or rig is None or self.shelf.show is None:
            return
        name = self._trim
        key: tuple[str, ...] = ("trims", KEYS[name]) if name in KEYS else ("trims", "targets", name)
        now = getattr(show.trims, KEYS[name]) if name in KEYS else show.trims.targets.get(name, 0.0)
        by = step_of("dB" if name in KEYS else rig.targets[name].unit)
        if self.edit("show", self.shelf.show, key, round(now + way * by, 6)) and name == VOLUME:
            self._let_hear(rig)

    def action_other_trim(self, way: int) -> None:
        """The next trim to hand: volume, gain, and the room's offset on each target."""
        _, rig = self._ground()
        if rig is not None:
            names = adjustable(rig)
            self._trim = names[(names.index(self._trim) + way) % len(names)] if self._trim in names else VOLUME
            self._tell()

    def action_other_list(self) -> None:
        """From the moments to all songs' trims, and back."""
        self.toggle_class("-songs")
        self.query_one("#songs" if self.has_class("-songs") else "#moments").focus()
        self._tell()

    def action_full_house(self) -> None:
        """With what the room needs when the audience is in, or without."""
        self._full_house = not self._full_house
        self.fill()

    def action_lock(self) -> None:
        """The soundcheck is done: trims and moments stay as they are; or let them be moved again."""
        if self.shelf.show is not None:
            self.shelf.locked ^= {self.shelf.show}
            self._tell()
            self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Locked, nothing can be moved."""
        return action not in ("trim", "other_trim", "undo", "redo") or not self.locked

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """The list that has the keys is the one at hand."""
        self.set_class(event.widget.id == "songs", "-songs")
        self._tell()

    def on_data_table_row_highlighted(self, _: DataTable.RowHighlighted) -> None:
        """The levels of the song under the cursor."""
        self._tell()

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Enter plays the running show from the moment under the cursor."""
        if event.data_table.id != "moments" or not 0 <= event.cursor_row < len(self._moments):
            return
        spot = self._moments[event.cursor_row].step.spot
        if self.locked:
            self.notify("locked: k unlocks trims and moments", severity="warning")
        elif self._played is None:
            self.notify("the show is not running; p or t on the screen Shows begins it", severity="warning")
        elif spot.song not in self._played.picture().state.order:
            self.notify(f"{spot.song} is not in the running show's order", severity="warning")
        else:
            self._played.jump(spot.song, spot.number)

    @work(thread=True, group="plan", exclusive=True)
    def _work_out(self, show: Show, rig: Rig) -> Soundcheck:
        return soundcheck(self.shelf.book, show, rig)

    @work(thread=True, group="under way", exclusive=True)
    def _look_for_show(self) -> Client | None:
        return show_under_way(self.shelf.root, self.shelf.book.shows)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What was worked out is shown here, on the screen's own thread."""
        if event.state is not WorkerState.SUCCESS:
            return
        result: Any = event.worker.result
        if event.worker.group == "plan":
            self._plan, self._moments = result, moments(result)
            self._list_moments()
            self._tell()
        elif event.worker.group == "under way":
            self._looked(result)

    def _looked(self, client: Client | None) -> None:
        """Play in the show at hand if it runs; where none does, let the volume be heard over the rig's ports."""
        _, rig = self._ground()
        if client is not None and client.night is not None and client.night.show == self.shelf.show:
            self._played = client
        elif client is not None:
            client.close()
        elif rig is not None:
            self._plugged = Plugged(rig, self.system_of)
            self._plugged.start()
        self._tell()

    def _let_hear(self, rig: Rig) -> None:
        target, song = rig.trims.volume_target, self._song()
        if self._plugged is not None and target in rig.targets and target is not None and song is not None:
            self._plugged.send(target, song.trims.interface_volume.set_db)

    def _ground(self) -> tuple[Show | None, Rig | None]:
        book = self.shelf.book
        show = book.shows.get(self.shelf.show or "")
        return show, book.rigs.get(book.rig_of(show) or "") if show is not None else None

    def _moment(self) -> Moment | None:
        row = self.query_one("#moments", DataTable).cursor_row
        return self._moments[row] if 0 <= row < len(self._moments) else None

    def _song(self) -> SongTrims | None:
        """The song under the cursor, of the moments or of the songs."""
        songs = self._levels.songs if self._levels is not None else ()
        table, moment = self.query_one("#songs", DataTable), self._moment()
        if self.has_class("-songs"):
            return songs[table.cursor_row] if 0 <= table.cursor_row < len(songs) else None
        slug = moment.step.spot.song if moment is not None else None
        return next((song for song in songs if song.song == slug), songs[0] if songs else None)

    def _list_moments(self) -> None:
        table = self.query_one("#moments", DataTable)
        at = table.cursor_row
        table.clear()
        for moment in self._moments:
            spot = moment.step.spot
            table.add_row(*moment_cells(self.shelf.book, moment, here=(spot.song, spot.number) == self._stands))
        table.move_cursor(row=min(at, max(0, table.row_count - 1)))

    def _list_songs(self, levels: ShowLevels) -> None:
        table = self.query_one("#songs", DataTable)
        at = table.cursor_row
        table.clear()
        for song in levels.songs:
            table.add_row(*self._cells(song), key=song.song)
        table.move_cursor(row=min(at, max(0, table.row_count - 1)))

    def _cells(self, song: SongTrims) -> tuple[str, ...]:
        number = "" if song.interface_volume_number is None else str(song.interface_volume_number)
        gain, volume = song.trims.input_gain.set_db, song.trims.interface_volume.set_db
        least = min(song.stages, key=lambda stage: stage.spare_db, default=None)
        spare = "" if least is None else f"{least.spare_db:+.1f} dB, {least.stage}"
        mark = " !" if least is not None and least.spare_db < 0 else ""
        return self.shelf.book.songs[song.song].title, f"{gain:+.1f}", f"{volume:+.1f}", number, spare + mark

    def _tell(self) -> None:
        show, rig = self._ground()
        if show is None or rig is None or self._levels is None:
            return
        self.query_one("#tonight", Static).update(" · ".join(self._head_words(show)))
        venue = self.shelf.book.venues.get(show.venue or "")
        visit = last_visit(venue) if venue is not None else None
        rows = trim_rows(rig, show, venue, visit, self._levels.start, self._trim)
        last = str(visit.date) if visit is not None else "first time here" if venue is not None else ""
        self.query_one("#trims", Static).update("\n".join(trim_lines(rows, self._trim, last)))
        song, stages = self._song(), self.query_one("#stages", Static)
        if song is not None:
            self.query_one("#song", Static).update(self._song_words(song))
            stages.update("\n".join(stage_lines(song.stages, max(40, self.query_one("#levels").content_size.width))))
        self.query_one(".detail", Static).update("\n".join(self._details(song, visit.note if visit else None)))

    def _head_words(self, show: Show) -> list[str]:
        return [
            show.title,
            *(("locked",) if self.locked else ()),
            "full house" if self._full_house else "empty room",
            plan_words(self._plan) if self._plan is not None else "working out what to play …",
        ]

    def _song_words(self, song: SongTrims) -> str:
        gain, volume = song.trims.input_gain.set_db, song.trims.interface_volume.set_db
        number = "" if song.interface_volume_number is None else f" ({song.interface_volume_number})"
        title = self.shelf.book.songs[song.song].title
        return f"{title}: gain {gain:+.1f} dB, volume {volume:+.1f} dB{number}"

    def _details(self, song: SongTrims | None, note: str | None) -> list[str]:
        moment = self._moment()
        lines = [f"{each.level}: {each.what}; {each.mend}" for each in song.remarks] if song is not None else []
        if moment is not None and not self.has_class("-songs"):
            lines.append("; ".join(part for part in (moment.hands, ", ".join(moment.new)) if part))
        if self._said:
            lines.append(f"volume {self._said}")
        return [*lines, *([f"last time: {note}"] if note else [])]
