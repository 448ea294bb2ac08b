"""A song's sets of curves over its screen: made, copied, renamed with all that takes them, removed."""

from collections.abc import Callable
from typing import Any, ClassVar, NamedTuple

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import DataTable, Static

from showrunner.book.change import apply, edit
from showrunner.book.data import value_at
from showrunner.book.files import FileChange, FileChanges
from showrunner.book.problems import BookError
from showrunner.book.rename import key_renamed
from showrunner.model.keys import KeyPath
from showrunner.model.song import Song
from showrunner.tui import curve_edits
from showrunner.tui.at_hand import still
from showrunner.tui.screens.asked import STYLE, LineScreen, PickScreen
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.screens.over import OverScreen
from showrunner.tui.widgets.foot import Foot
from showrunner.tui.widgets.table import Table


class Place(NamedTuple):
    """A curve of a song: its set and the control that moves it; no control is the set itself."""

    set: str
    control: str


class CurvesScreen(OverScreen[Place | None]):
    """Every set with its controls; gives the curve that is chosen. Changes are made through the song's screen."""

    CSS = (
        STYLE.format(name="CurvesScreen")
        + "CurvesScreen DataTable { height: auto; max-height: 100%; background: $surface; overflow-x: hidden; }"
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "choose", "Show it", id="curves.choose", priority=True),
        Binding("n", "new", "New", id="curves.new"),
        Binding("c", "copy", "Copy", id="curves.copy"),
        Binding("m", "rename", "Rename", id="curves.rename"),
        Binding("a", "add", "Add control", id="curves.add"),
        Binding("delete,D", "remove", "Remove", id="curves.remove"),
        Binding("u", "undo", "Undo", id="curves.undo"),
        Binding("escape,q", "leave", "Done", id="curves.leave"),
    ]

    def __init__(self, owner: BookScreen, slug: str, at: Place | None) -> None:
        super().__init__(owner)
        self._slug, self._at = slug, at
        self._rows: list[Place] = []

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static("Sets of curves, each with the controls that it has", id="asks", markup=False)
            yield Table(cursor_type="row", show_header=False)
        yield Foot()

    def on_mount(self) -> None:
        """The curve at hand first."""
        self.query_one(DataTable).add_columns("curve", "about", "findings")
        self.show_anew()
        if self._at in self._rows:
            self.query_one(DataTable).move_cursor(row=self._rows.index(self._at))

    @property
    def song(self) -> Song | None:
        """The song, as long as it is there."""
        return self._owner.shelf.book.songs.get(self._slug)

    def rows(self) -> list[Place]:
        """Each set, and under it each of its curves."""
        song = self.song
        found: list[Place] = []
        for set_, of_set in (song.curves if song is not None else {}).items():
            found += [Place(set_, ""), *(Place(set_, control) for control in of_set)]
        return found

    def fill(self) -> None:
        """What the song's file says now."""
        table, song = self.query_one(DataTable), self.song
        if song is None:
            self.dismiss(None)
            return
        was, self._rows = self._rows, self.rows()
        at = still(was, self._rows, table.cursor_row)
        table.clear()
        found = self._owner.shelf.of_song(self._slug)
        for place in self._rows:
            key: KeyPath = ("curves", place.set, *((place.control,) if place.control else ()))
            here = sum(f.kind == "song" and f.key[: len(key)] == key for f in found) if place.control else 0
            if place.control:
                curve = song.curves[place.set][place.control]
                about = f"{', '.join(curve.moves) or 'moves nothing yet'} · {curve.entry}"
            else:
                taken = curve_edits.takes(self._raw(), place.set)
                at_start = song.start_set == place.set
                names = (["the start"] if at_start and ("start", "curves") not in taken else []) + list(taken.values())
                about = f"from {', '.join(names)}" if names else "nothing takes it yet"
            table.add_row(f"  {place.control}" if place.control else place.set, about, f"{here} found" if here else "")
        table.move_cursor(row=at)

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """A click on the row at hand shows its curve."""
        self.action_choose()

    def action_choose(self) -> None:
        """Show the curve at hand, or the first of the set."""
        place = self._here()
        if place is not None:
            self.dismiss(
                next((each for each in self.rows() if each.set == place.set and each.control), place)
                if not place.control
                else place
            )

    def action_new(self) -> None:
        """A set, with the first control that moves something in it."""
        self._ask_name("The new set's name", "", self._control)

    def action_copy(self) -> None:
        """A set that begins as the one at hand."""
        place = self._here()
        if place is None:
            return
        written = value_at(self._raw(), ("curves", place.set))
        self._ask_name(
            f'Name of the copy of "{place.set}"', place.set, lambda name: self._make({("curves", name): written})
        )

    def action_rename(self) -> None:
        """Another name for the set at hand; the start and every cue that takes it follow."""
        place = self._here()
        if place is not None:
            self._ask_name(f'Another name for "{place.set}"', place.set, lambda name: self._rename(place.set, name))

    def action_add(self) -> None:
        """A control that moves something in the set at hand."""
        place = self._here()
        if place is None:
            self.action_new()
        else:
            self._control(place.set)

    def action_remove(self) -> None:
        """The song without the curve, or the set, at hand; a set that a moment takes stays."""
        place = self._here()
        if place is None:
            return
        raw = self._raw()
        whole = not place.control or len(raw["curves"][place.set]) == 1
        taken = curve_edits.takes(raw, place.set) if whole else {}
        if taken:
            names = ", ".join(taken.values())
            self._owner.say(BookError(f'"{place.set}" is taken at {names}', "let them take another set first"))
            return
        self._make(curve_edits.without_curve(raw, place.set, place.control or None))

    def _ask_name(self, asks: str, text: str, answer: Callable[[str], bool]) -> None:
        def keeps(name: str) -> bool:
            song = self.song
            if not name:
                self._owner.say(BookError("a set needs a name", ""))
            elif song is not None and name in song.curves:
                self._owner.say(BookError(f'there is a set "{name}" already', "give it another name"))
            else:
                return answer(name)
            return False

        self.app.push_screen(LineScreen(asks, text, keeps=keeps))

    def _control(self, set_: str) -> bool:
        rig, song = getattr(self._owner, "rig", None), self.song
        there = song.curves.get(set_, {}) if song is not None else {}
        controls = rig.controls if rig is not None else {}
        free = {
            name: f"{name}, {each.limb or each.kind}"
            for name, each in controls.items()
            if not each.by_hand and name not in there
        }

        def chosen(control: str | None) -> None:
            if control is not None and self._make(curve_edits.with_curve(set_, control)):
                rows = self.rows()
                if Place(set_, control) in rows:
                    self.query_one(DataTable).move_cursor(row=rows.index(Place(set_, control)))

        if free:
            self.call_later(
                self.app.push_screen, PickScreen(f'Which control moves something in "{set_}"?', free), chosen
            )
        else:
            self._owner.say(BookError("the rig has no other control that can be heard", ""))
        return True

    def _rename(self, old: str, new: str) -> bool:
        """The set's key is renamed where it is written, so that comments and order stay."""
        shelf = self._owner.shelf
        shelf.refresh()
        if self.song is None:
            self._owner.say(BookError(f"the song {self._slug} can't be read now", "nothing was changed"))
            return False
        file, before = shelf.reading.file("song", self._slug), shelf.reading.sources["song", self._slug]
        try:
            after = key_renamed(file, before, ("curves", old), new)
            for key in curve_edits.takes(self._raw(), old):
                after = apply(after, edit(file, after, key, new))
        except BookError as error:
            self._owner.say(error)
            return False
        done = self._owner.make_files(FileChanges((FileChange(file, before, after),)))
        self.fill()
        return done

    def _make(self, changes: dict[KeyPath, Any]) -> bool:
        done = self._owner.edit_all("song", self._slug, changes)
        self.fill()
        return done

    def _raw(self) -> dict[str, Any]:
        return self._owner.shelf.raw("song", self._slug)

    def _here(self) -> Place | None:
        at = self.query_one(DataTable).cursor_row
        return self._rows[at] if 0 <= at < len(self._rows) else None
