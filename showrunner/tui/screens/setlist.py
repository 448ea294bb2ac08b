"""The set: songs in order with the running clock, changeovers and findings beside each, moved with keys."""

from typing import Any, ClassVar, NamedTuple

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import DataTable, Static

from showrunner.checks.finding import Finding
from showrunner.model.keys import KeyPath
from showrunner.model.units import format_clock, format_length
from showrunner.planning.changeover import Changeover, changeovers
from showrunner.planning.timing import RunningTime, SongTime
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.shelf import against_limit, summary

COLUMNS = ("", "Starts", "Song", "Length", "Then", "Needs", "Findings")


class Spot(NamedTuple):
    """A row: a song, the list of the show's file it is in, and its index there."""

    song: str
    part: KeyPath
    number: int


class SetlistScreen(BookScreen):
    """The show at hand; `,` and `.` move the song under the cursor."""

    place = "set"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("comma", "shift(-1)", "Earlier", id="set.earlier"),
        Binding("full_stop", "shift(1)", "Later", id="set.later"),
        Binding("o", "optional", "Optional", id="set.optional"),
        Binding("d", "drop", "To reserve", id="set.drop"),
    ]

    def parts(self) -> ComposeResult:
        table: DataTable[str] = DataTable(cursor_type="row")
        table.add_columns(*COLUMNS)
        yield Static(id="clock", markup=False)
        yield table
        yield Static(classes="detail", markup=False)

    @property
    def spots(self) -> list[Spot]:
        """Every row that holds a song, in order."""
        slug = self.shelf.show
        if slug is None or slug not in self.shelf.book.shows:
            return []
        show = self.shelf.book.shows[slug]
        found = [
            Spot(slot.song, ("sets", number, "songs"), index)
            for number, part in enumerate(show.sets)
            for index, slot in enumerate(part.songs)
        ]
        for name in ("encore", "reserve"):
            found += [Spot(song, (name,), index) for index, song in enumerate(getattr(show, name))]
        return found

    def fill(self) -> None:
        """Every song with its time, what follows it and what was found."""
        slug, book = self.shelf.show, self.shelf.book
        table = self.query_one(DataTable)
        at = table.cursor_row
        table.clear()
        if slug is None or slug not in book.shows:
            self.query_one("#clock", Static).update("choose a show on the screen Shows")
            return
        timed, show = self.shelf.timed(slug), book.shows[slug]
        rig = book.rigs.get(book.rig_of(show) or "")
        changes = {one.before: one for one in (changeovers(book, show, rig) if rig is not None else ())}
        times = {song.song: song for part in timed.sets for song in part.songs}
        found = self.shelf.findings(slug)
        for spot in self.spots:
            of_song = tuple(finding for finding in found if finding.song == spot.song)
            table.add_row(
                *self._cells(spot, timed, times.get(spot.song), changes.get(spot.song), of_song), key=spot.song
            )
        table.move_cursor(row=min(at, max(0, table.row_count - 1)))
        self.query_one("#clock", Static).update(_clock(show.title, timed))
        self._tell(at)

    def _cells(
        self, spot: Spot, timed: RunningTime, at: SongTime | None, change: Changeover | None, found: tuple[Finding, ...]
    ) -> tuple[str, ...]:
        song = self.shelf.book.songs.get(spot.song)
        part = f"set {int(spot.part[1]) + 1}" if spot.part[0] == "sets" else str(spot.part[0])
        starts = ""
        if at is not None:
            starts = (
                format_length(at.starts_s) if timed.starts is None else format_clock(timed.starts + at.starts_s / 60)
            )
        title = song.title if song is not None else f"{spot.song}: not in the book"
        optional = " (optional)" if at is not None and at.optional else ""
        pause = "" if at is None else f"{at.pause.kind} {format_length(at.pause.seconds)}"
        needs = ""
        if change is not None:
            short = f", {format_length(change.short_s)} short" if change.short_s > 0 else ""
            needs = f"{format_length(change.needs_s)}{short}"
        length = "" if song is None else format_length(song.duration if at is None else at.duration_s)
        return part, starts, title + optional, length, pause, needs, "" if not found else summary(found)

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """What is found in the song under the cursor, and what has to be done after it."""
        self._tell(event.cursor_row)

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Enter opens the song."""
        if event.row_key.value in self.shelf.book.songs:
            self.shelf.song = event.row_key.value
            self.go("song")

    def action_shift(self, way: int) -> None:
        """Move the song under the cursor one place, into the next set at the end of one."""
        spots, row = self.spots, self.query_one(DataTable).cursor_row
        if self.shelf.show is None or not 0 <= row < len(spots):
            return
        spot, to = spots[row], row + way
        if not 0 <= to < len(spots):
            return
        there = spots[to]
        if there.part == spot.part:
            items = self._items(spot.part)
            items.insert(there.number, items.pop(spot.number))
            moved = self.edit("show", self.shelf.show, spot.part, items)
        else:
            moved = self._hand_over(spot, there.part, way)
            to = row
        if moved:
            self.query_one(DataTable).move_cursor(row=to)

    def action_optional(self) -> None:
        """Whether the song may be dropped when it gets late, turned over."""
        spot = self._spot()
        if spot is None or self.shelf.show is None or spot.part[0] != "sets":
            return
        items = self._items(spot.part)
        item = items[spot.number]
        changed = {key: value for key, value in item.items() if key != "optional"}
        items[spot.number] = changed if item.get("optional") else {**changed, "optional": True}
        self.edit("show", self.shelf.show, spot.part, items)

    def action_drop(self) -> None:
        """Out of the set and into the reserve."""
        spot = self._spot()
        if spot is not None and spot.part != ("reserve",):
            self._hand_over(spot, ("reserve",), 1)

    def _hand_over(self, spot: Spot, part: KeyPath, way: int) -> bool:
        """From one list to another; two changes, so two steps back."""
        if self.shelf.show is None:
            return False
        items = self._items(spot.part)
        item = items.pop(spot.number)
        if not self.edit("show", self.shelf.show, spot.part, items):
            return False
        into = self._items(part)
        bare = item["song"] if isinstance(item, dict) else item
        new = (item if isinstance(item, dict) else {"song": bare}) if part[0] == "sets" else bare
        into.insert(0 if way > 0 and part != ("reserve",) else len(into), new)
        return self.edit("show", self.shelf.show, part, into)

    def _items(self, part: KeyPath) -> list[Any]:
        value: Any = self.shelf.raw("show", self.shelf.show or "")
        for key in part:
            value = value.get(key, []) if isinstance(value, dict) else value[key]
        return list(value)

    def _spot(self) -> Spot | None:
        spots, row = self.spots, self.query_one(DataTable).cursor_row
        return spots[row] if 0 <= row < len(spots) else None

    def _tell(self, row: int) -> None:
        spots, slug = self.spots, self.shelf.show
        if slug is None or not 0 <= row < len(spots):
            return
        found = [finding for finding in self.shelf.findings(slug) if finding.song == spots[row].song]
        lines = [f"{finding.level}: {finding.what}; {finding.mend}" for finding in found]
        self.query_one(".detail", Static).update("\n".join(lines) or "nothing found that will go wrong in this song")


def _when(at_s: float, starts: int | None) -> str:
    """The time of day, or since the first note where the show has no start."""
    return format_length(at_s) if starts is None else format_clock(starts + at_s / 60)


def _clock(title: str, timed: RunningTime) -> str:
    parts = [title, f"planned {format_length(timed.planned_s)}", f"expected {format_length(timed.expected_s)}"]
    parts[-1] += f" give or take {format_length(timed.spread_s)}"
    if timed.finish is not None:
        parts.append(f"ends {format_clock(timed.finish)}")
    if timed.over_s is not None:
        parts.append(against_limit(timed.over_s))
    if timed.drop:
        parts.append(f"drop {', '.join(timed.drop)}")
    return " · ".join(parts)
