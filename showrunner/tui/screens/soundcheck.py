"""Soundcheck: moments to play one after the other, and tonight's trims with the headroom they leave.

While the show runs trims move in the show itself, by the engine, and its files stay as they are.
"""

from collections.abc import Callable
from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.events import DescendantFocus
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState

from showrunner.book.problems import BookError
from showrunner.levels.kept import KEYS, VOLUME, last_visit, tonight
from showrunner.live.evidence import trims_left
from showrunner.live.kept import real_system
from showrunner.live.locked import is_locked, lock
from showrunner.live.picture import Client
from showrunner.live.ports import System
from showrunner.model.cautions import LOUDER, SOUNDCHECK
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show, ShowTrims
from showrunner.planning.soundcheck import Soundcheck, soundcheck
from showrunner.planning.trims import ShowLevels, SongTrims, show_levels
from showrunner.tui.at_hand import still
from showrunner.tui.beginning import begun_for_full_house, counts_full_house
from showrunner.tui.following import playing_now
from showrunner.tui.plugged import Plugged
from showrunner.tui.screens.book import UNTOLD, BookScreen
from showrunner.tui.soundcheck_run import Run
from showrunner.tui.soundcheck_words import (
    Moment,
    adjustable,
    detail_lines,
    head_words,
    key_of,
    moment_cells,
    moments,
    song_cells,
    song_words,
    stage_lines,
    step_of,
    trim_lines,
    trim_rows,
)
from showrunner.tui.widgets.table import Table

LOOKS_EVERY_S, FINDS_EVERY_S = 0.1, 2.0
"""How often the run is looked at, and a show that has begun meanwhile is looked for."""
SIDE_BY_SIDE_FROM = 118
MOMENTS = ("", "At", "For", "Moment", "By hand", "Heard first")
SONGS = ("Song", "Gain", "Volume", "Number", "Least to spare, dB")


class SoundcheckScreen(BookScreen):
    """The show at hand in its room: Enter plays from a moment, `+` and `-` move the trim at hand, `k` locks both.

    With the show running trims are heard through it at once; without, they go into its file, and `w` puts there what
    a run has moved.
    """

    place = "soundcheck"
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "soundcheck.tcss"]  # type: ignore[assignment]
    AUTO_FOCUS = "#moments"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "play", "Play from", id="soundcheck.play", priority=True, tooltip="Play the show from here"),
        Binding("plus,equals_sign", "trim(1)", "Up", key_display="+", id="soundcheck.up"),
        Binding("minus", "trim(-1)", "Down", key_display="-", id="soundcheck.down"),
        Binding("v", "other_trim(1)", "Other trim", id="soundcheck.trim"),
        Binding("V", "other_trim(-1)", "Trim before", id="soundcheck.trim_before", show=False),
        Binding("t", "other_list", "Other list", id="soundcheck.list"),
        Binding("f", "full_house", "Full house", id="soundcheck.full"),
        Binding("k", "lock(True)", "Lock", id="soundcheck.lock"),
        Binding("K", "lock(False)", "Unlock", id="soundcheck.unlock"),
        Binding("w", "keep", "Keep the run's", id="soundcheck.keep"),
    ]
    system_of: Callable[[], System] = staticmethod(real_system)

    def parts(self) -> ComposeResult:
        plan = Table(cursor_type="row", id="moments")
        plan.add_columns(*MOMENTS)
        songs = Table(cursor_type="row", id="songs")
        songs.add_columns(*SONGS)
        yield Static(id="tonight", markup=False)
        yield Static(SOUNDCHECK, id="caution", markup=False)
        with Horizontal(id="sides"):
            yield plan
            with Vertical(id="levels"):
                yield Static(id="trims", markup=False)
                yield Static(id="song", markup=False)
                yield Static(id="stages", markup=False)
                yield songs
        yield Static(classes="detail", markup=False)

    def open_up(self) -> None:
        """Trims at once, what to play as soon as it is worked out."""
        self.locked = False
        self._trim = VOLUME
        self._levels: ShowLevels | None = None
        self._planned: tuple[object, ...] | None = None
        self._plan: Soundcheck | None = None
        self._moments: tuple[Moment, ...] = ()
        self._listed: list[tuple[str, int]] = []
        self._run: Run | None = None
        self._left: dict[str, tuple[float, float]] = {}
        self._plugged: Plugged | None = None
        self._stands: tuple[str, int] | None = None
        self._said = ""
        super().open_up()
        self._look_for_show()
        self.set_interval(LOOKS_EVERY_S, self.look)
        self.set_interval(FINDS_EVERY_S, self._look_again_for_show)

    def on_unmount(self) -> None:
        """Let go of the show and of the ports."""
        if self._run is not None:
            self._run.close()
        if self._plugged is not None:
            self._plugged.stop()

    def on_resize(self) -> None:
        """Levels beside the moments, or under them."""
        self.set_class(self.size.width < SIDE_BY_SIDE_FROM, "-narrow")
        self.call_after_refresh(self._tell)

    def fill(self) -> None:
        """Trims and headroom at once; what to play is worked out anew where songs, order or rig have changed."""
        show, rig = self._ground()
        if show is None or rig is None or self.shelf.show is None:
            wanted = (("show", self.shelf.show), ("rig", self.shelf.book.rig_of(show)))
            self.instead("#tonight", "choose a show that has a rig on the screen Shows", *wanted)
            return
        self.locked = is_locked(self.shelf.root, self.shelf.show, show)
        self._left = trims_left(self.shelf.root, self.shelf.show, show) if self._run is None else {}
        self._levels = show_levels(self.book, show, rig, self._full_house)
        songs = tuple(self.book.songs.get(slug) for slug in show.songs)
        ground = (songs, show.model_copy(update={"trims": ShowTrims()}), rig)
        if ground != self._planned:
            self._planned = ground
            self._work_out(self.book, show, rig)
        self._list_songs(self._levels)
        self._tell()

    def look(self) -> None:
        """Where the running show stands, what it sounds like, and what became of a value that was sent."""
        if self._run is not None:
            changed = self._run.look()
            if self._run.ended:
                self._leave(self._run)
            elif changed:
                self.fill()
            elif self._run.said(self._trim) != self._said:
                self._tell()
            if self._run is not None and self._run.stands != self._stands:
                self._stands = self._run.stands
                self._list_moments()
        elif self._plugged is not None:
            _, rig = self._ground()
            name = rig.trims.volume_target if rig is not None else None
            said = self._plugged.seen.said.get(name or "", "")
            if said != self._said:
                self._said = said
                self._tell()

    def action_trim(self, way: int) -> None:
        """Half a dB, or one of a target's other unit, on the trim at hand: in the running show, else in its file."""
        show, rig = self._ground()
        if show is None or rig is None or self.shelf.show is None:
            return
        name = self._trim
        by = way * step_of("dB" if name in KEYS else rig.targets[name].unit)
        if self._run is not None:
            self._run.move(name, by)
        elif self.edit("show", self.shelf.show, key_of(name), round(tonight(show, name) + by, 6)) and name == VOLUME:
            self._let_hear(rig)

    def action_keep(self) -> None:
        """What the run has moved goes into the show's file, in one step of undo."""
        if self.shelf.show is not None and self._left:
            self.edit_all("show", self.shelf.show, {key_of(name): to for name, (_, to) in self._left.items()})

    def again(self, *, back: bool) -> None:
        """Take the last trim back, or move it once more, in the running show or in the file."""
        if self._run is None:
            super().again(back=back)
            return
        name, words = self._run.again(back=back), "taken back" if back else "made again"
        self.notify(f"{name}: {words}" if name is not None else f"nothing to be {words}", timeout=2)

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
        """With what the room needs when the audience is in, or without; a run stays as it was begun."""
        show = self.shelf.show or ""
        if self._run is not None or begun_for_full_house(self.shelf, show) is not None:
            house = "a full house" if self._full_house else "an empty room"
            self.notify(f"this run was begun for {house}: end it on the screen Shows, and begin it anew to change that")
        elif show in self.shelf.book.shows:
            self.shelf.full_houses ^= {show}
            if self._full_house and self.book.full_house_db(show) > 0:
                self.notify(LOUDER, severity="warning")
            self.fill()

    def action_lock(self, on: bool) -> None:
        """The soundcheck is done: trims and moments stay as they are, until they are unlocked."""
        show, _ = self._ground()
        if show is None or self.shelf.show is None:
            return
        try:
            lock(self.shelf.root, self.shelf.show, show, on=on)
        except BookError as error:
            self.notify(f"the lock can't be kept: {error.what}", severity="error")
        self.locked = on
        self._tell()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Locked, nothing can be moved; Textual may ask before the screen is opened up."""
        if not self._opened:
            return False
        there, free = None not in self._ground(), not self.locked
        match action:
            case "lock" | "full_house":
                return there and parameters != (self.locked,)
            case "keep":
                return bool(self._left) and free
            case "play":
                return self._moment() is not None and not self.has_class("-songs")
            case "trim" | "other_trim":
                return there and free
            case "undo" | "redo":
                return free
        return super().check_action(action, parameters)

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """The list that has the keys is the one at hand."""
        self.set_class(event.widget.id == "songs", "-songs")
        self._tell()

    def on_data_table_row_highlighted(self, _: DataTable.RowHighlighted) -> None:
        """The levels of the song under the cursor."""
        self._tell()

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """A click plays from the moment under it."""
        self.action_play()

    def action_play(self) -> None:
        """Play the running show from the moment under the cursor."""
        moment = self._moment()
        if moment is None or self.has_class("-songs"):
            return
        spot = moment.step.spot
        if self.locked:
            self.notify("locked: K unlocks trims and moments", severity="warning")
        elif self._run is None:
            self.notify("the show is not running; p or t on the screen Shows begins it", severity="warning")
        elif not self._run.play(spot.song, spot.number):
            self.notify(f"{spot.song} is not in the running show's order", severity="warning")

    @work(thread=True, group="plan", exclusive=True, description=UNTOLD)
    def _work_out(self, book: Book, show: Show, rig: Rig) -> Soundcheck:
        return soundcheck(book, show, rig)

    @work(thread=True, group="under way", exclusive=True)
    def _look_for_show(self) -> Client | None:
        return playing_now(self.shelf.root, [self.shelf.show] if self.shelf.show is not None else [])

    def _look_again_for_show(self) -> None:
        looks = any(one.group == "under way" and one.node is self and not one.is_finished for one in self.workers)
        if self._run is None and not looks:
            self._look_for_show()

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
        """Play in the show at hand if it runs; where it doesn't, let the volume be heard over the rig's ports."""
        if client is not None and client.night is not None and self._run is None and self.is_mounted:
            if self._plugged is not None:
                self._plugged.stop()
                self._plugged = None
            self._run = Run(client, client.night)
            self.done()
        elif client is not None:
            client.close()
        elif self._plugged is None and self._run is None and self.is_mounted:
            _, rig = self._ground()
            if rig is not None:
                self._plugged = Plugged(rig, self.system_of)
                self._plugged.start()

    def _leave(self, run: Run) -> None:
        """The show was ended: what it moved is offered for the show's file."""
        run.close()
        self._run, self._stands = None, None
        self._look_for_show()
        self.done()
        self._list_moments()

    def _let_hear(self, rig: Rig) -> None:
        target, song = rig.trims.volume_target, self._song()
        if self._plugged is not None and target in rig.targets and target is not None and song is not None:
            self._plugged.send(target, song.trims.interface_volume.set_db)

    @property
    def book(self) -> Book:
        """The book as it was when the running show began, with all of its venues; without one as it is now."""
        book = self.shelf.book
        if self._run is None:
            return book
        night = self._run.night.book
        return night._replace(venues={**book.venues, **night.venues})

    @property
    def _full_house(self) -> bool:
        """Whether a full house is counted: as the run was begun, else as the next one will be."""
        if self._run is not None:
            return self._run.night.full_house
        return self.shelf.show is not None and counts_full_house(self.shelf, self.shelf.show)

    def _ground(self) -> tuple[Show | None, Rig | None]:
        if self._run is not None:
            return self._run.show, self._run.night.book.rigs[self._run.night.rig]
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
        table, spots = self.query_one("#moments", DataTable), [moment.step.spot[:2] for moment in self._moments]
        at, self._listed = still(self._listed, spots, table.cursor_row), spots
        table.clear()
        for moment, spot in zip(self._moments, spots, strict=True):
            table.add_row(*moment_cells(self.book, moment, here=spot == self._stands))
        table.move_cursor(row=at)

    def _list_songs(self, levels: ShowLevels) -> None:
        table, slugs = self.query_one("#songs", DataTable), [song.song for song in levels.songs]
        at = still([key.value for key in table.rows], slugs, table.cursor_row)
        table.clear()
        for song in levels.songs:
            table.add_row(*song_cells(self.book, song), key=song.song)
        table.move_cursor(row=at)

    def _tell(self) -> None:
        self.refresh_bindings()
        show, rig = self._ground()
        if show is None or rig is None or self._levels is None or self.stale:
            return
        heard = self._run.heard if self._run is not None else ""
        self.query_one("#tonight", Static).update(
            head_words(show.title, self._plan, heard, locked=self.locked, full=self._full_house)
        )
        venue = self.book.venues.get(show.venue or "")
        visit = last_visit(venue) if venue is not None else None
        rows = trim_rows(rig, show, venue, visit, self._levels.start, self._trim, full_house=self._full_house)
        last = str(visit.date) if visit is not None else "first time here" if venue is not None else ""
        self.query_one("#trims", Static).update("\n".join(trim_lines(rows, self._trim, last)))
        song, stages = self._song(), self.query_one("#stages", Static)
        if song is not None:
            self.query_one("#song", Static).update(song_words(self.book, song))
            stages.update("\n".join(stage_lines(song.stages, max(40, self.query_one("#levels").content_size.width))))
        self.query_one(".detail", Static).update("\n".join(self._details(song, visit.note if visit else None)))

    def _details(self, song: SongTrims | None, note: str | None) -> list[str]:
        if self._run is not None:
            self._said = self._run.said(self._trim)
        said = self._said if self._run is not None or not self._said else f"volume {self._said}"
        moment = None if self.has_class("-songs") else self._moment()
        return detail_lines(self._left, said, song, moment, note)
