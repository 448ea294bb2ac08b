"""All songs of the book at a glance: sorted by any column, filtered as one types, with their findings."""

import os
import shlex
import shutil
import subprocess
from collections.abc import Callable
from typing import Any, ClassVar

from textual.app import ComposeResult, SuspendNotSupported
from textual.binding import Binding, BindingType
from textual.timer import Timer
from textual.widgets import DataTable, Input, Static

from showrunner.book.files import FileChanges
from showrunner.book.problems import BookError
from showrunner.book.rename import copied, renamed
from showrunner.checks.finding import LEVELS, Finding
from showrunner.model.song import Song
from showrunner.model.units import format_length
from showrunner.places import templates
from showrunner.tui.screens.asked import LineScreen, ProposalScreen
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.shelf import summary

Entry = tuple[str, Song, tuple[Finding, ...]]

COLUMNS: dict[str, Callable[[Entry], Any]] = {
    "Song": lambda entry: entry[1].title.lower(),
    "Length": lambda entry: entry[1].duration,
    "Findings": lambda entry: tuple(-sum(f.level == level for f in entry[2]) for level in LEVELS),
    "Key": lambda entry: entry[1].key or "",
    "Tempo": lambda entry: entry[1].tempo_bpm or 0,
    "Guitar": lambda entry: entry[1].instrument or "",
    "Tuning": lambda entry: entry[1].tuning or "",
    "LUFS": lambda entry: _loudness(entry[1]) or 0.0,
}
"""Column to what it is sorted by; the song's findings worst first."""


AT_ONCE = 150
"""Songs that are put into the table at once, and at each turn after that."""
AFTER_S = 0.06


class RepertoireScreen(BookScreen):
    """The songs; `/` filters, `s` sorts by the next column, Enter opens."""

    place = "songs"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "filter", "Filter", id="songs.filter"),
        Binding("s", "sort", "Sort", id="songs.sort"),
        Binding("S", "turn", "Sort the other way", id="songs.turn", show=False),
        Binding("n", "new", "New", id="songs.new"),
        Binding("c", "copy", "Copy", id="songs.copy"),
        Binding("m", "rename", "Rename", id="songs.rename"),
        Binding("e", "editor", "In the editor", id="songs.editor"),
        Binding("escape", "clear", "All songs", id="songs.all", show=False),
    ]

    def parts(self) -> ComposeResult:
        table: DataTable[str] = DataTable(cursor_type="row")
        yield Input(placeholder="type to filter: title, key, guitar, tuning, finding", id="filter")
        yield table
        yield Static(classes="detail", markup=False)

    def on_mount(self) -> None:
        """The table has the keys first; `/` goes to the filter."""
        self._sorted, self._turned = "Song", False
        self._entries: list[Entry] = []
        self._left: list[Entry] = []
        self._timer: Timer | None = None
        super().on_mount()
        self.query_one(DataTable).focus()

    def fill(self) -> None:
        """Every song with what is found in it."""
        found: dict[str, list[Finding]] = {}
        for finding in self.shelf.findings():
            if finding.song is not None:
                found.setdefault(finding.song, []).append(finding)
        self._entries = [(slug, song, tuple(found.get(slug, ()))) for slug, song in self.shelf.book.songs.items()]
        self._list()

    def _list(self) -> None:
        if self._timer is not None:
            self._timer.stop()
        table, words = self.query_one(DataTable), self.query_one("#filter", Input).value.lower().split()
        table.clear(columns=True)
        table.add_columns(*(self._heading(name) for name in COLUMNS))
        shown = [entry for entry in self._entries if all(word in _text(entry) for word in words)]
        self._left = sorted(shown, key=COLUMNS[self._sorted], reverse=self._turned)
        slugs = [entry[0] for entry in self._left]
        at = slugs.index(self.shelf.song) if self.shelf.song in slugs else 0
        self._more(max(AT_ONCE, at + AT_ONCE // 2))
        if self._left:
            self._timer = self.set_interval(AFTER_S, self._more)
        table.move_cursor(row=at)
        if not shown:
            nothing = "no song has all of these words" if words else "this book has no song yet: n makes one"
            self.query_one(".detail", Static).update(nothing)

    def _more(self, count: int = AT_ONCE) -> None:
        """Put some more of the songs into the table; a long book is not laid out whole after each key."""
        table = self.query_one(DataTable)
        for entry in self._left[:count]:
            table.add_row(*_cells(entry), key=entry[0])
        self._left = self._left[count:]
        if not self._left and self._timer is not None:
            self._timer.stop()

    def on_input_changed(self, _: Input.Changed) -> None:
        """Filter as one types."""
        self._list()

    def on_input_submitted(self, _: Input.Submitted) -> None:
        """Enter in the filter goes to the songs that are left."""
        self.query_one(DataTable).focus()

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """The song under the cursor is the one at hand."""
        slug = event.row_key.value
        if slug not in self.shelf.book.songs:
            return
        self.shelf.song = slug
        found = next((entry[2] for entry in self._entries if entry[0] == slug), ())
        lines = [f"{finding.level}: {finding.what}; {finding.mend}" for finding in found]
        self.query_one(".detail", Static).update("\n".join(lines) or "nothing found that will go wrong")

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """Enter opens the song."""
        self.go("song")

    def action_filter(self) -> None:
        """Type words to filter by."""
        self.query_one("#filter", Input).focus()

    def action_clear(self) -> None:
        """Show all songs again."""
        self.query_one("#filter", Input).value = ""
        self.query_one(DataTable).focus()

    def action_sort(self) -> None:
        """Sort by the next column."""
        names = list(COLUMNS)
        self._sort_by(names[(names.index(self._sorted) + 1) % len(names)])

    def action_turn(self) -> None:
        """Sort by the same column the other way round."""
        self._sort_by(self._sorted)

    def on_data_table_header_selected(self, event: DataTable.HeaderSelected) -> None:
        """A click on a column's name sorts by it, another one the other way."""
        self._sort_by(list(COLUMNS)[event.column_index])

    def _sort_by(self, name: str) -> None:
        self._turned = name == self._sorted and not self._turned
        self._sorted = name
        self._list()

    def _heading(self, name: str) -> str:
        return name if name != self._sorted else f"{name} {'↑' if self._turned else '↓'}"

    def action_new(self) -> None:
        """Add a song from its starter file."""
        self._ask("The new song's title", "", self._new)

    def action_copy(self) -> None:
        """Add a song that begins as a copy of the one under the cursor."""
        song = self.shelf.book.songs.get(self.shelf.song or "")
        if song is not None:
            self._ask(f"Title of the copy of {song.title}", song.title, self._copy)

    def action_rename(self) -> None:
        """Another title and file name for the song under the cursor; every reference follows."""
        song = self.shelf.book.songs.get(self.shelf.song or "")
        if song is not None:
            self._ask(f"Another title for {song.title}", song.title, self._rename)

    def action_editor(self) -> None:
        """Open the song's file in the user's own editor; the screens come back when it is left."""
        if self.shelf.song not in self.shelf.book.songs:
            return
        command = editor()
        if command is None:
            self.say(BookError("there is no editor", "name yours in VISUAL or EDITOR"))
            return
        try:
            with self.app.suspend():
                subprocess.run([*command, str(self.shelf.root / "songs" / f"{self.shelf.song}.toml")], check=False)
        except (OSError, SuspendNotSupported):
            self.say(BookError(f"{command[0]} can't be opened from here", "name another editor in VISUAL or EDITOR"))
        self.shelf.refresh()
        self.done()

    def _ask(self, asks: str, text: str, answer: Callable[[str], None]) -> None:
        def typed(title: str | None) -> None:
            if title is None:
                return
            try:
                answer(title)
            except BookError as error:
                self.say(error)

        self.app.push_screen(LineScreen(asks, text, names_file="songs/{}.toml"), typed)

    def _new(self, title: str) -> None:
        self.shelf.song = self.shelf.new("song", title, templates() / "new")
        self.done()

    def _copy(self, title: str) -> None:
        copy = copied(self.shelf.reading, "song", self.shelf.song or "", title)
        if self.make_files(copy.changes):
            self._go_to(copy.slug)

    def _rename(self, title: str) -> None:
        self.shelf.refresh()
        made = renamed(self.shelf.reading, "song", self.shelf.song or "", title)

        def answered(taken: bool | None) -> None:
            if taken and self.make_files(made.changes):
                self._go_to(made.slug)

        self.app.push_screen(
            ProposalScreen("These files and lines would change. Rename?", preview(made.changes)), answered
        )

    def _go_to(self, slug: str) -> None:
        self.shelf.song = slug
        self._list()


def editor() -> list[str] | None:
    """The user's editor as a command: VISUAL, EDITOR, or one that the system has; None where there is none."""
    for name in ("VISUAL", "EDITOR"):
        if os.environ.get(name, "").strip():
            return shlex.split(os.environ[name], posix=os.name != "nt")
    return next(([name] for name in ("sensible-editor", "nano", "vi", "notepad") if shutil.which(name)), None)


def preview(changes: FileChanges) -> str:
    """Every file that is new, goes or moves, and every line that changes, before and after."""
    lines = [f"{file}: new" for file in changes.new]
    lines += [f"{old}/ becomes {new}/" for old, new in changes.folders]
    for one in changes.lines:
        lines += [f"{one.file}:{one.line}", f"  before {one.before.strip()}", f"  after  {one.after.strip()}"]
    return "\n".join([*lines, *(f"{file}: deleted, last" for file in changes.gone)])


def _loudness(song: Song) -> float | None:
    return song.level.integrated_lufs if song.level is not None else None


def _text(entry: Entry) -> str:
    slug, song, found = entry
    parts = (slug, song.title, song.key or "", song.instrument or "", song.tuning or "", *(f.rule for f in found))
    return " ".join(parts).lower()


def _cells(entry: Entry) -> tuple[str, ...]:
    _, song, found = entry
    loudness = _loudness(song)
    return (
        song.title,
        format_length(song.duration),
        summary(found) if found else "",
        song.key or "",
        f"{song.tempo_bpm:g}" if song.tempo_bpm is not None else "",
        song.instrument or "",
        song.tuning or "",
        f"{loudness:.1f}" if loudness is not None else "",
    )
