"""The set: songs in order with the running clock, changeovers and findings beside each, moved with keys."""

from typing import Any, ClassVar, NamedTuple

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import DataTable, Static
from textual.worker import Worker, WorkerState

from showrunner.checks.finding import Finding
from showrunner.model.keys import KeyPath
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.units import format_clock, format_length
from showrunner.planning.changeover import Changeover, changeovers
from showrunner.planning.setorder import BetterOrder, better_order
from showrunner.planning.timing import RunningTime, SongTime
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.shelf import against_limit, summary

COLUMNS = ("", "Starts", "Song", "Length", "Findings", "Then", "Needs")


LOOKS_FOR_S = 5.0
"""How long a better order is looked for."""


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
        Binding("r", "better", "Better order", id="set.better"),
        Binding("y", "take", "Take it", id="set.take"),
        Binding("x", "refuse", "Leave it", id="set.refuse"),
    ]

    _better: BetterOrder | None = None

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
        return part, starts, title + optional, length, "" if not found else summary(found), pause, needs

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

    def action_better(self) -> None:
        """Look for the order that costs least in changeovers; shown first, taken only on request."""
        slug, book = self.shelf.show, self.shelf.book
        rig = book.rigs.get(book.rig_of(book.shows.get(slug or "")) or "")
        if slug is None or slug not in book.shows or rig is None:
            self.notify("a better order needs a show and its rig", severity="warning")
            return
        self.query_one(".detail", Static).update("looking for a better order …")
        self._look_for(slug, rig)

    @work(thread=True, group="order", exclusive=True, exit_on_error=False)
    def _look_for(self, slug: str, rig: Rig) -> BetterOrder:
        return better_order(self.shelf.book, self.shelf.book.shows[slug], rig, seconds=LOOKS_FOR_S)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What was found is shown here, on the screen's own thread."""
        if event.worker.group != "order" or event.state not in (WorkerState.SUCCESS, WorkerState.ERROR):
            return
        if event.state is WorkerState.ERROR:
            error = event.worker.error
            if not isinstance(error, ValueError):
                raise error or RuntimeError("no order was found")
            self.query_one(".detail", Static).update(str(error))
            return
        self._better = event.worker.result
        self.query_one(".detail", Static).update(_proposal(self.shelf.book, self._better))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Taking and leaving are there while an order is proposed."""
        return self._better is not None if action in ("take", "refuse") else True

    def action_take(self) -> None:
        """Put every set into the proposed order; each set is one step back."""
        better, slug = self._better, self.shelf.show
        self.action_refuse()
        if better is None or slug is None:
            return
        for number, part in enumerate(better.show.sets):
            key: KeyPath = ("sets", number, "songs")
            items = self._items(key)
            by_song = {item["song"]: item for item in items}
            wanted = [slot.song for slot in part.songs]
            if sorted(by_song) != sorted(wanted):
                self.notify("the set has changed since; look again", severity="warning")
                return
            if wanted != [item["song"] for item in items] and not self.edit(
                "show", slug, key, [by_song[song] for song in wanted]
            ):
                return

    def action_refuse(self) -> None:
        """Leave the order as it is."""
        self._better = None
        self.refresh_bindings()
        self._tell(self.query_one(DataTable).cursor_row)

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


def _proposal(book: Book, better: BetterOrder | None) -> str:
    """What would move, and what it would save."""
    if better is None or better.after_s >= better.before_s:
        return "no order of these songs takes less time between them; x leaves it"
    titles = " · ".join(book.songs[song].title for song in better.order)
    sure = "the least there is" if better.proved else "the least found"
    before, after = format_length(better.before_s), format_length(better.after_s)
    pairs = ", ".join(f"{book.songs[a].title} to {book.songs[b].title}" for a, b in better.newly_short)
    short = f"\ntoo short now, and not as it is: {pairs}" if pairs else ""
    return f"between songs {after} instead of {before}, {sure}: y takes it, x leaves it\n{titles}{short}"


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
