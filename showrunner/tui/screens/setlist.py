"""The set: songs in order with the running clock, changeovers and findings beside each, moved with keys or mouse."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.events import Key, MouseDown, MouseUp
from textual.widgets import DataTable, Static

from showrunner.checks.finding import Finding
from showrunner.model.cells import cells, cut
from showrunner.model.keys import KeyPath
from showrunner.model.show import Show, Slot
from showrunner.model.units import format_length, format_over
from showrunner.planning.changeover import Changeover, changeovers
from showrunner.planning.timing import RunningTime, SongTime
from showrunner.tui import running_order
from showrunner.tui.about import BAR_CELLS, TITLE_CELLS, clipped, filled, fitting, song_lines, when
from showrunner.tui.fields import Field
from showrunner.tui.running_order import Spot
from showrunner.tui.screens.asked import LineScreen, PickScreen
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.screens.proposing import ProposingScreen
from showrunner.tui.set_words import changeover_lines, clock_words, noted, notes_of
from showrunner.tui.shelf import summary, told
from showrunner.tui.show_fields import of_set, of_slot, of_tonight
from showrunner.tui.unread import CANT, titles, unread_of
from showrunner.tui.widgets.table import Table

COLUMNS = ("", "Starts", "Song", "Then", "Findings", "Needs", "Length")
FIRST_TO_GO = ("Length", "Starts", "Needs", "Findings", "Then")
"""Columns that narrow terminals do without, after those that say nothing of any song."""
ROOMY_FROM, NO_SONG, NO_SET = 100, "(no song yet; a adds one)", "the cursor is on no set"
"""Columns from which a song's notes stand beside its title; below that their signs do."""


class SetlistScreen(ProposingScreen):
    """The show at hand; `,` and `.` move the song under the cursor, or the mouse takes it along."""

    place = "set"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Open", id="set.open", priority=True, show=False, tooltip="Open the song"),
        Binding("comma", "shift(-1)", "Up", id="set.earlier", tooltip="The song earlier"),
        Binding("full_stop", "shift(1)", "Down", id="set.later", tooltip="The song later"),
        Binding("a", "add", "Add", id="set.add", tooltip="Add a song after this one"),
        Binding("f", "follows", "Then", id="set.follows", tooltip="What follows the song"),
        Binding("t", "tonight", "Tonight", id="set.tonight", tooltip="What is different about the song tonight (≠)"),
        Binding("d", "to('reserve')", "Drop", id="set.drop", tooltip="Out of the set and into the reserve"),
        Binding("p", "pin", "Pin", id="set.pin", tooltip="Where the song must stand (⊥ pinned)"),
        Binding("o", "optional", "Optional", id="set.optional", tooltip="May be dropped, or not (◌ optional)"),
        Binding("n", "new_set", "New set", id="set.new_set"),
        Binding("m", "this_set", "This set", id="set.this_set", tooltip="This set's name and slot"),
        Binding("b", "break", "Break", id="set.break", tooltip="A set begins here, or goes on"),
        Binding("e", "to('encore')", "To encore", id="set.encore", show=False),
        Binding("delete,D", "take_out", "Take out", id="set.take_out", show=False, tooltip="Out of the show"),
        Binding("M", "remove_set", "Remove this set, its songs to the reserve", id="set.remove_set", show=False),
    ]

    _grabbed: str | None = None
    _carried = False
    _listed: str | None = None
    _shown_at: int | None = None
    _changes: Mapping[str, Changeover] = MappingProxyType({})

    def parts(self) -> ComposeResult:
        yield Static(id="clock", markup=False)
        yield Table(cursor_type="row")
        yield Static(classes="detail", markup=False)

    def on_mount(self) -> None:
        """Times rest on what was played as soon as that is read."""
        self.reckon_with_played()

    @property
    def spots(self) -> list[Spot]:
        """Every row that holds a song, in order."""
        return [] if self.the_show is None else running_order.spots(self.the_show)

    def fill(self) -> None:
        """Every song with its time, what follows it and what was found."""
        slug, show, book = self.shelf.show, self.the_show, self.shelf.book
        table, at, song = self.query_one(DataTable), self.query_one(DataTable).cursor_row, self._song_at_cursor()
        self._shown_at = self.app.size.width
        self.refresh_bindings()
        if show is None and slug != self._listed:
            table.clear()
        if slug is None or show is None:
            self.instead("#clock", "choose a show on the screen Shows, or make one there with n", ("show", slug))
            return
        self._listed = slug
        timed, rig = self.shelf.timed(book, slug), self.rig
        changes = self._changes = {one.before: one for one in (changeovers(book, show, rig) if rig is not None else ())}
        times = {song.song: song for part in timed.sets for song in part.songs}
        found = self.shelf.findings(slug)
        rows: dict[str, tuple[str, ...]] = {}
        for spot in self.spots:
            if not spot.song:
                rows[str(spot.part)] = (_part(spot), "", NO_SONG, *("" for _ in COLUMNS[3:]))
                continue
            of_song = tuple(finding for finding in found if finding.song == spot.song)
            rows[spot.song] = self._cells(spot, timed, times.get(spot.song), changes.get(spot.song), of_song)
        self._list(rows)
        songs = [spot.song for spot in self.spots]
        at = songs.index(song) if song and song in songs else min(at, max(0, table.row_count - 1))
        table.move_cursor(row=at)
        self.query_one("#clock", Static).update(clock_words(book, show.title, timed))
        self.tell()

    def _list(self, rows: Mapping[str, tuple[str, ...]]) -> None:
        """The rows, in the columns that say something and that there is room for."""
        columns = dict(zip(COLUMNS, zip(COLUMNS, *rows.values(), strict=True), strict=True))
        widths = {name: max(map(cells, texts)) for name, texts in columns.items()}
        silent = [name for name in FIRST_TO_GO if not any(columns[name][1:])]
        there = fitting(widths, self.app.size.width - BAR_CELLS, [*silent, *FIRST_TO_GO])
        table = self.query_one(DataTable)
        table.clear(columns=True)
        table.add_columns(*there)
        for row, key in zip(zip(*(columns[name][1:] for name in there), strict=True), rows, strict=True):
            table.add_row(*row, key=key)

    def on_resize(self) -> None:
        """Other columns, where there is room for others; notes beside the titles, or under the table."""
        if self._shown_at not in (None, self.app.size.width):
            self.fill()
        self.call_after_refresh(self.tell)

    def _slot(self, spot: Spot) -> Slot | None:
        show = self.the_show
        return show.sets[int(spot.part[1])].songs[spot.number] if show is not None and spot.part[0] == "sets" else None

    def _song_at_cursor(self) -> str | None:
        table = self.query_one(DataTable)
        return table.coordinate_to_cell_key(table.cursor_coordinate).row_key.value if table.row_count else None

    def _cells(
        self, spot: Spot, timed: RunningTime, at: SongTime | None, change: Changeover | None, found: tuple[Finding, ...]
    ) -> tuple[str, ...]:
        song, show, roomy = self.shelf.book.songs.get(spot.song), self.the_show, self.app.size.width >= ROOMY_FROM
        part = _part(spot)
        starts = "" if at is None else when(at.starts_s, timed.starts)
        lost = CANT if self.shelf.reading.has("song", spot.song) else "not in the book"
        title = song.title if song is not None else f"{spot.song}: {lost}"
        notes = [] if show is None else notes_of(show, spot.song, self._slot(spot))
        pause: str = "" if at is None else at.pause.kind
        if at is not None and at.pause.seconds:
            pause += f" {format_length(at.pause.seconds)}"
        needs = ""
        if change is not None:
            short = f"{format_over(change.short_s)} short" if change.short_s > 0 else ""
            needs = ", ".join([format_length(change.needs_s)] * (roomy or not short) + [short] * bool(short))
        length = "" if song is None else format_length(song.duration if at is None else at.duration_s)
        title = noted(cut(title, TITLE_CELLS), notes, in_words=roomy)
        return part, starts, title, pause, summary(found) if found else "", needs, length

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """What is found in the song under the cursor, and what has to be done after it."""
        if event.cursor_row == event.data_table.cursor_row:
            self.moved_to(event.row_key.value if event.row_key is not None else None)
            self.tell()

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """A click opens the song under it, but where it puts down another."""
        if not self._carried:
            self.action_open()

    def action_open(self) -> None:
        """The song under the cursor on its screen, if it can be read."""
        spot = self._spot()
        if spot is not None and self.can_read("song", spot.song):
            if self.shelf.reading.has("song", spot.song):
                self.shelf.song = spot.song
                self.go("song")
            else:
                self.notify(f"{spot.song} is not in the book", severity="warning")

    def on_mouse_down(self, event: MouseDown) -> None:
        """A song is taken by the mouse."""
        spots, row = self.spots, event.style.meta.get("row", -1)
        self._grabbed = spots[row].song or None if 0 <= row < len(spots) else None
        self._carried = False

    def on_mouse_up(self, event: MouseUp) -> None:
        """And put where another one is."""
        spots, row, song = self.spots, event.style.meta.get("row", -1), self._grabbed
        self._grabbed = None
        spot = next((spot for spot in spots if spot.song == song), None)
        if spot is not None and 0 <= row < len(spots) and spots[row] != spot:
            self._carried = True
            self.make(running_order.moved(self.raw(), spot, spots[row].part, spots[row].number))

    def on_key(self, _: Key) -> None:
        """A key ends what the mouse did."""
        self._carried = False

    def action_shift(self, way: int) -> None:
        """Move the song under the cursor one place, into the next set at the end of one."""
        spot, show = self._spot(), self.the_show
        if spot is not None and show is not None:
            self.make(running_order.stepped(show, self.raw(), spot, way))

    def action_optional(self) -> None:
        """Whether the song may be dropped when it gets late, turned over."""
        spot = self._spot(in_set=True)
        if spot is None:
            return
        items = running_order.items(self.raw(), spot.part)
        item = items[spot.number]
        changed = {key: value for key, value in item.items() if key != "optional"}
        items[spot.number] = changed if item.get("optional") else {**changed, "optional": True}
        self.make({spot.part: items})

    def action_to(self, name: str) -> None:
        """Out of the set and to the end of the reserve or the encore."""
        spot = self._spot()
        if spot is not None:
            raw, there = self.raw(), spot.part == (name,)
            self.make({} if there else running_order.moved(raw, spot, (name,), len(running_order.items(raw, (name,)))))

    def action_take_out(self) -> None:
        """Out of the show, with its stand-ins and what was different tonight."""
        spot = self._spot()
        if spot is not None:
            self.make(running_order.taken_out(self.raw(), spot))

    def action_break(self) -> None:
        """A set begins at this song; or, where one does, it joins the one before."""
        spot = self._spot(in_set=True)
        if spot is not None:
            self.make(running_order.broken(self.raw(), spot))

    def action_add(self) -> None:
        """Choose a song that the show doesn't have, to stand after the one under the cursor."""
        show, row = self.the_show, self._row()
        if show is None:
            return
        songs = titles(self.shelf.reading, "song")
        there = {slug: title for slug, title in songs.items() if slug not in show.songs}

        def chosen(song: str | None) -> None:
            if song is not None and self.make(running_order.added_after(self.raw(), self.spots, row, song)):
                self._put_cursor(song=song)

        if there:
            after = songs[row.song] if row is not None and row.song in songs else "what is there"
            self.app.push_screen(PickScreen(f"Which song comes after {after}?", there), self.for_this(chosen, None))
        elif songs:
            self.notify("the show has every song of the book")
        else:
            self.notify("the book has no song yet: n on the screen Songs makes one")

    def action_follows(self) -> None:
        """What comes between the song under the cursor and the next."""
        self._of_slot(0)

    def action_pin(self) -> None:
        """Where the song under the cursor must stand when an order is looked for."""
        self._of_slot(1)

    def _of_slot(self, at: int) -> None:
        spot, slug = self._spot(in_set=True), self.shelf.show
        if spot is None or slug is None:
            return

        def fields() -> list[Field]:
            show = self.the_show
            now = next((each for each in self.spots if each.song == spot.song and each.part[0] == "sets"), None)
            if show is None or now is None:
                return []
            return of_slot(self.shelf.book, show, now.song, (*now.part, now.number))

        asked = FieldsScreen(self, "show", slug, self._title(spot.song), fields, at)
        self.app.push_screen(asked)
        asked.call_after_refresh(asked.action_change)

    def action_tonight(self) -> None:
        """What is different about the song under the cursor tonight."""
        spot, slug = self._spot(), self.shelf.show
        if spot is None or slug is None:
            return
        asks = f"{self._title(spot.song)}: different tonight (beside · what its own file says)"

        def fields() -> list[Field]:
            show = self.the_show
            return of_tonight(self.shelf.book, show, spot.song) if show is not None and spot.song in show.songs else []

        self.app.push_screen(FieldsScreen(self, "show", slug, asks, fields))

    def action_new_set(self) -> None:
        """A set without songs, after the one under the cursor."""
        if self.the_show is None:
            return
        at = self._set_at()
        number = len(self.the_show.sets) if at is None else at + 1

        def keeps(title: str) -> bool:
            if not title:
                self.notify("give the set a name", severity="error")
                return False
            place = min(number, len(self.the_show.sets) if self.the_show is not None else 0)
            if not self.make(running_order.with_set(self.raw(), place, title)):
                return False
            self._put_cursor(part=("sets", place, "songs"))
            return True

        asks = f"Set {number + 1}"
        self.app.push_screen(LineScreen("The new set's name", asks, keeps=self.for_this(keeps, False)))

    def action_this_set(self) -> None:
        """Name and slot of the set under the cursor."""
        number, slug = self._set_at(), self.shelf.show
        if number is None or slug is None:
            self.notify(NO_SET)
            return

        def fields() -> list[Field]:
            show = self.the_show
            return of_set(number) if show is not None and number < len(show.sets) else []

        self.app.push_screen(FieldsScreen(self, "show", slug, f"Set {number + 1}", fields))

    def action_remove_set(self) -> None:
        """The show without the set under the cursor; its songs go to the reserve."""
        number = self._set_at()
        if number is not None:
            self.make(running_order.without_set(self.raw(), number))
        else:
            self.notify(NO_SET)

    def _put_cursor(self, *, song: str | None = None, part: KeyPath | None = None) -> None:
        """Put the cursor on a song, or on the first row of a list, if it is there."""
        rows = [row for row, spot in enumerate(self.spots) if song in (None, spot.song) and part in (None, spot.part)]
        self.query_one(DataTable).move_cursor(row=rows[0] if rows else None)

    def _set_at(self) -> int | None:
        """Number of the set under the cursor, from 0; None in encore and reserve."""
        row = self._row()
        return int(row.part[1]) if row is not None and row.part[0] == "sets" else None

    def _title(self, song: str) -> str:
        songs = self.shelf.book.songs
        return songs[song].title if song in songs else song

    def _row(self) -> Spot | None:
        spots, row = self.spots, self.query_one(DataTable).cursor_row
        return spots[row] if 0 <= row < len(spots) else None

    def _spot(self, *, in_set: bool = False) -> Spot | None:
        """The song under the cursor; None, and that is said, where there is none, or none of a set if one is wanted."""
        row = self._row()
        if row is not None and row.song and (row.part[0] == "sets" or not in_set):
            return row
        self.notify(f"the cursor is on no song{' of a set' if in_set else ''}", timeout=2)
        return None

    def at_cursor(self) -> str:
        """What is found in the song under the cursor and in the show, and the set's name."""
        row, show, slug = self._row(), self.the_show, self.shelf.show
        if row is None or show is None or slug is None:
            wrong = unread_of(self.shelf.reading, "show", slug)
            return "\n".join(wrong.lines()[1:]) if wrong is not None else ""
        if (wrong := unread_of(self.shelf.reading, "song", row.song)) is not None:
            return "\n".join(wrong.lines())
        found = self.shelf.findings(slug)
        here = [finding for finding in found if row.song and finding.song == row.song]
        whole = [finding for finding in found if finding.song is None]
        lines = [told(finding) for finding in here]
        if row.song and not lines:
            lines = ["nothing found that will go wrong in this song"]
        lines += [f"the show: {told(finding)}" for finding in whole]
        lines[:0] = self._about(row, show)
        width, below = max(20, self.size.width - 2), self.query_one(".detail", Static)
        said = [part for line in lines for part in filled(line, width)]
        rows = below.content_size.height
        if row.song in self._changes:
            said += ["", *changeover_lines(self.shelf.book, self._changes[row.song], width, rows - len(said) - 1)]
        about = song_lines(self.shelf.book, row.song, width, rows - len(said) - 1)
        return clipped([*said, *([""] if about else []), *about], rows, "enter opens the song")

    def _about(self, row: Spot, show: Show) -> list[str]:
        """The set's name, and the pin of the song under the cursor."""
        if row.part[0] != "sets":
            return []
        number, slot = int(row.part[1]), self._slot(row) if row.song else None
        title = show.sets[number].title
        said = [] if title is None else [f"set {number + 1} · {title}"]
        if slot is not None and slot.pin is not None:
            pinned = slot.pin.kind if slot.pin.song is None else f"{slot.pin.kind} {self._title(slot.pin.song)}"
            said.append(f"pinned {pinned}")
        said += [] if slot is None else [note for note in notes_of(show, row.song, slot) if note != "pinned"]
        return [" · ".join(said)] if said else []


def _part(spot: Spot) -> str:
    return f"set {int(spot.part[1]) + 1}" if spot.part[0] == "sets" else str(spot.part[0])
