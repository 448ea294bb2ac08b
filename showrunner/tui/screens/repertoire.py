"""All songs of the book at a glance: sorted by any column, filtered as one types, with their findings."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, ClassVar, NamedTuple

from rich.cells import cell_len
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import DataTable, Input, Static
from textual.worker import Worker, WorkerState

from showrunner.checks.finding import LEVELS, Finding
from showrunner.model.cells import cut
from showrunner.model.song import Song
from showrunner.model.units import format_length
from showrunner.tui.about import BAR_CELLS, TITLE_CELLS, clipped, filled, fitting, song_lines
from showrunner.tui.screens.documents import DocumentsScreen
from showrunner.tui.shelf import summary, told
from showrunner.tui.unread import Unread, unread
from showrunner.tui.widgets.long_table import LongTable


class Entry(NamedTuple):
    """A song and what is found in it; of one that can't be read there is just its title, and what is wrong."""

    slug: str
    song: Song
    found: tuple[Finding, ...] = ()
    unread: Unread | None = None


COLUMNS: dict[str, Callable[[Entry], Any]] = {
    "Song": lambda entry: entry[1].title.lower(),
    "Length": lambda entry: entry[1].duration,
    "Findings": lambda entry: _worst(entry),
    "Key": lambda entry: entry[1].key or "",
    "Tempo": lambda entry: entry[1].tempo_bpm or 0,
    "Guitar": lambda entry: entry[1].instrument or "",
    "Tuning": lambda entry: entry[1].tuning or "",
    "LUFS": lambda entry: _loudness(entry[1]) or 0.0,
}
"""Column to what it is sorted by; what can't be read, then the song's findings, worst first."""


FIRST_TO_GO = ("LUFS", "Tuning", "Tempo", "Guitar", "Key", "Findings", "Length")
"""Columns that narrow terminals do without; what they say stands below the table."""


class RepertoireScreen(DocumentsScreen):
    """The songs; `/` filters, `s` sorts by the next column, Enter opens."""

    place, kind = "songs", "song"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "filter", "Filter", id="songs.filter"),
        Binding("s", "sort", "Sort", id="songs.sort"),
        Binding("S", "turn", "Sort the other way", id="songs.turn", show=False),
        Binding("escape", "clear", "All songs", id="songs.all"),
    ]

    def parts(self) -> ComposeResult:
        yield Input(placeholder="type to filter: title, key, guitar, tuning, finding", id="filter")
        yield LongTable()
        yield Static(classes="detail", markup=False)

    def open_up(self) -> None:
        """The table has the keys first; `/` goes to the filter."""
        self._sorted, self._turned = "Song", False
        self._entries: dict[str, Entry] = {}
        self._slugs: list[str] = []
        self._words: dict[str, str] = {}
        self._rows: dict[str, tuple[str, ...]] = {}
        self._names, self._widths = list(COLUMNS), dict.fromkeys(COLUMNS, 0)
        super().open_up()
        self.query_one(LongTable).focus()

    def fill(self) -> None:
        """Every song, with what is found in it as soon as that is known."""
        found: dict[str, list[Finding]] = {}
        self._looked = self.shelf.found() is not None
        if not self._looked:
            self._look()
        for finding in self.shelf.found() or ():
            if finding.song is not None:
                found.setdefault(finding.song, []).append(finding)
        book, broken = self.shelf.book, unread(self.shelf.reading, "song")
        self._entries = {slug: Entry(slug, song, tuple(found.get(slug, ()))) for slug, song in book.songs.items()}
        for slug, each in broken.items():
            self._entries[slug] = Entry(slug, Song.model_construct(format=1, title=each.title, duration=0), unread=each)
        self._words.clear()
        self._rows = {slug: _cells(entry, looked=self._looked) for slug, entry in self._entries.items()}
        columns = zip(COLUMNS, *self._rows.values(), strict=True)
        self._widths = {column[0]: max(map(cell_len, column)) for column in columns}
        self._make()
        self._list()
        self.refresh_bindings()

    def _make(self) -> None:
        """The rows, in the columns that there is room for."""
        self._names, table = self._fitting(), self.query_one(LongTable)
        places = [place for place, name in enumerate(COLUMNS) if name in self._names]
        table.heads([self._heading(name) for name in self._names])
        table.make({slug: [cells[place] for place in places] for slug, cells in self._rows.items()})

    def _fitting(self) -> list[str]:
        """The columns that there is room for beside the scroll bar; the one that is sorted by is always there."""
        widths = {name: max(width, cell_len(self._heading(name))) for name, width in self._widths.items()}
        room = self.app.size.width - BAR_CELLS
        return fitting(widths, room, [name for name in FIRST_TO_GO if name != self._sorted])

    def on_resize(self) -> None:
        """Other columns, where there is room for others; cues as long as the screen is wide."""
        if self._fitting() != self._names:
            self._make()
            self._list()
        self.call_after_refresh(self._tell)

    @work(thread=True, group="findings", exclusive=True)
    def _look(self) -> None:
        self.shelf.findings()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What was found is shown, or looked for again where the book has changed meanwhile."""
        if event.worker.group == "findings" and event.state is WorkerState.SUCCESS:
            self.fill()

    def _list(self) -> None:
        """Songs in their order that have the words of the filter; the one at hand stays so if it is among them."""
        table, words = self.query_one(LongTable), self.query_one("#filter", Input).value.lower().split()
        shown = self._entries.values() if not words else self._with(words)
        slugs = [entry.slug for entry in sorted(shown, key=COLUMNS[self._sorted], reverse=self._turned)]
        self._slugs = slugs
        table.order(slugs, slugs.index(self.shelf.song) if self.shelf.song in slugs else 0)
        if not slugs:
            nothing = "no song has all of these words" if words else "this book has no song yet: n makes one"
            self.query_one(".detail", Static).update(nothing)

    def _with(self, words: Sequence[str]) -> Iterator[Entry]:
        """The songs that have all of these words."""
        if not self._words:
            self._words = {slug: _text(entry) for slug, entry in self._entries.items()}
        return (self._entries[slug] for slug, text in self._words.items() if all(word in text for word in words))

    def on_input_changed(self, _: Input.Changed) -> None:
        """Filter as one types."""
        self._list()
        self.refresh_bindings()

    def on_input_submitted(self, _: Input.Submitted) -> None:
        """Enter in the filter goes to the songs that are left."""
        self.query_one(LongTable).focus()

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """The song under the cursor is the one at hand."""
        slug = event.row_key.value if event.row_key is not None else None
        entry = self._entries.get(slug or "")
        if entry is None or event.cursor_row != event.data_table.cursor_row:
            return
        self.shelf.song = entry.slug
        self._tell()

    def _tell(self) -> None:
        """What is found in the song at hand, its facts, and its cues along its length."""
        entry, below = self._entries.get(self.shelf.song or ""), self.query_one(".detail", Static)
        if entry is None or entry.slug not in self._slugs:
            return
        lines = entry.unread.lines() if entry.unread is not None else [told(finding) for finding in entry.found]
        nothing = "nothing found that will go wrong" if self._looked else "looking for what will go wrong …"
        width, rows = max(20, self.size.width - 2), below.content_size.height
        said = [part for line in lines or [nothing] for part in filled(line, width)]
        about = song_lines(self.shelf.book, entry.slug, width, rows - len(said) - 1)
        below.update(clipped([*said, *([""] if about else []), *about], rows, "enter opens the song"))

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """A click opens the song under it."""
        self.action_open()

    def action_open(self) -> None:
        """The song on its screen, if it can be read."""
        if self.can_read("song", self.shelf.song):
            self.go("song")

    def on_descendant_focus(self) -> None:
        """What can be done depends on whether one types."""
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """All songs can be shown again while they are filtered; Enter in the filter ends typing."""
        entry = self.query("#filter").first(Input) if action in ("clear", "open") and self.is_mounted else None
        if entry is not None:
            return (entry.has_focus or bool(entry.value)) if action == "clear" else self.ready and not entry.has_focus
        return super().check_action(action, parameters)

    def action_filter(self) -> None:
        """Type words to filter by."""
        self.query_one("#filter", Input).focus()

    def action_clear(self) -> None:
        """Show all songs again."""
        self.query_one("#filter", Input).value = ""
        self.query_one(LongTable).focus()

    def action_sort(self) -> None:
        """Sort by the next column."""
        names = list(COLUMNS)
        self._sort_by(names[(names.index(self._sorted) + 1) % len(names)])

    def action_turn(self) -> None:
        """Sort by the same column the other way round."""
        self._sort_by(self._sorted)

    def on_data_table_header_selected(self, event: DataTable.HeaderSelected) -> None:
        """A click on a column's name sorts by it, another one the other way."""
        self._sort_by(self._names[event.column_index])

    def _sort_by(self, name: str) -> None:
        self._turned = name == self._sorted and not self._turned
        self._sorted = name
        if self._fitting() != self._names:
            self._make()
        self.query_one(LongTable).heads([self._heading(each) for each in self._names])
        self._list()

    def _heading(self, name: str) -> str:
        return name if name != self._sorted else f"{name} {'↑' if self._turned else '↓'}"

    def at_hand(self) -> tuple[str, str] | None:
        """The song under the cursor."""
        song = self.shelf.song
        return ("song", song) if song is not None and self.shelf.reading.has("song", song) else None

    def go_to(self, slug: str) -> None:
        """Put the cursor on a song, among all of them where the filter hides it."""
        self.shelf.song = slug
        self._list()
        if slug not in self._slugs:
            self.action_clear()


def _loudness(song: Song) -> float | None:
    return song.level.integrated_lufs if song.level is not None else None


def _worst(entry: Entry) -> tuple[int, ...]:
    return (int(entry.unread is None), *(-sum(f.level == level for f in entry.found) for level in LEVELS))


def _text(entry: Entry) -> str:
    slug, song, found, wrong = entry
    parts = (slug, song.title, song.key or "", song.instrument or "", song.tuning or "", *(f.rule for f in found))
    if wrong is not None:
        parts = (*parts, wrong.in_short)
    return " ".join(parts).lower()


def _cells(entry: Entry, *, looked: bool) -> tuple[str, ...]:
    _, song, found, wrong = entry
    title = cut(song.title, TITLE_CELLS)
    if wrong is not None:
        return (title, "", wrong.in_short, *("" for _ in range(len(COLUMNS) - 3)))
    loudness = _loudness(song)
    return (
        title,
        format_length(song.duration),
        (summary(found) if found else "") if looked else "…",
        song.key or "",
        f"{song.tempo_bpm:g}" if song.tempo_bpm is not None else "",
        song.instrument or "",
        song.tuning or "",
        f"{loudness:.1f}" if loudness is not None else "",
    )
