"""What can be changed on the song's screen: values, rows, columns, shapes, sets of curves, the start and the cues."""

from collections.abc import Callable
from typing import Any, ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import DataTable, Input

from showrunner.book.data import value_at
from showrunner.curves.shapes import columns
from showrunner.model.keys import KeyPath
from showrunner.model.rig import Rig
from showrunner.model.song import Curve, Song
from showrunner.tui import cue_edits, curve_edits
from showrunner.tui.at_hand import still
from showrunner.tui.fields import Field, number
from showrunner.tui.screens.asked import LineScreen, PickScreen
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.screens.curves import CurvesScreen, Place
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.song_fields import SHAPES, of_cue, of_curve, of_song, of_start
from showrunner.tui.song_words import travels_of
from showrunner.tui.widgets.song_tables import CueTable, CurveTable

NO_CUE = "the cursor is on no cue"


class SongEdits(BookScreen):
    """The song and the curve at hand, and every change of them."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("v", "sets", "Sets", id="song.sets", tooltip="Sets of curves"),
    ]
    curve_number = 0
    _edited: tuple[str, KeyPath, Any, str, float] | None = None

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
    def the_place(self) -> Place | None:
        """Where the curve at hand is."""
        places = self.places
        return places[self.curve_number % len(places)] if places else None

    @property
    def curve(self) -> Curve | None:
        """The curve at hand."""
        song, the = self.song, self.the_place
        return song.curves[the.set][the.control] if song is not None and the is not None else None

    @property
    def cues_have_keys(self) -> bool:
        """Whether the keys go to the cues now."""
        return self.query_one(CueTable).has_focus

    @property
    def cue_at(self) -> int | None:
        """Number of the cue under the cursor, from 0; None on the start."""
        row = self.query_one(CueTable).cursor_row
        return row - 1 if row > 0 else None

    def at_hand(self) -> tuple[str, str] | None:
        """The song's file."""
        return ("song", self.shelf.song) if self.shelf.song is not None else None

    def column_travel(self, column: int) -> float | None:
        """The travel of a column of the table, %; None for a column that is no travel."""
        travels = travels_of(self.curve) if self.curve is not None else []
        return travels[column - 1] if 1 <= column <= len(travels) else None

    def on_data_table_cell_selected(self, event: DataTable.CellSelected) -> None:
        """Enter on a value edits it; where the row has none it gets one of its own."""
        name, travel, slug = self._row_at_hand(), self.column_travel(event.coordinate.column), self.shelf.song
        curve, the = self.curve, self.the_place
        if name is None or travel is None or slug is None or curve is None or the is None:
            return
        key: KeyPath = (*_key(the), "moves", name)
        self._edited = slug, key, value_at(self._raw(), key), name, travel
        self.refresh_bindings()
        entry = self.query_one("#value", Input)
        own = columns(curve, name)
        entry.value = f"{curve.moves[name].values[own.index(travel)]:g}" if travel in own else ""
        target = self.rig.targets.get(name) if self.rig is not None else None
        entry.placeholder = f"{name}, {target.unit}" if target is not None else name
        entry.display = True
        entry.focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter in the value keeps it, in the file and on the screen."""
        if self._edited is None:
            return
        try:
            value = number(event.value.strip())
        except ValueError as error:
            self.notify(str(error), severity="error")
            return
        slug, key, seen, name, travel = self._edited
        self.shelf.refresh()
        song = self.shelf.book.songs.get(slug)
        curve = song.curves.get(str(key[1]), {}).get(str(key[2])) if song is not None else None
        if curve is None or name not in curve.moves:
            why = "is not in this curve any more" if song is not None else "is in a file that can't be read now"
            self.notify(f"{name} {why}; nothing was changed, Escape leaves the value", severity="error")
            return
        raw = value_at(self.shelf.raw("song", slug), key[:3])
        changes = curve_edits.with_value(raw, key[:3], curve, name, travel, value)
        (changed, _), *_ = changes.items()
        if self.edit_all("song", slug, changes, seen=value_at({"seen": seen}, ("seen", *changed[len(key) :]))):
            self.settled()

    def settled(self) -> None:
        """The value stands as it was chosen."""
        super().settled()
        if self._edited is not None:
            self.action_leave_edit()

    def action_leave_edit(self) -> None:
        """Leave the value as it was."""
        if self._edited is not None:
            self._edited = None
            self.refresh_bindings()
            self.query_one("#value").display = False
            self.query_one(CurveTable).focus()

    def action_add_row(self) -> None:
        """A row for a target that the curve doesn't move yet."""
        the, curve, rig = self.the_place, self.curve, self.rig
        if the is None or curve is None:
            self.action_sets()
            return
        targets = rig.targets if rig is not None else {}
        free = {name: f"{name}, {target.unit}" for name, target in targets.items() if name not in curve.moves}

        def chosen(name: str | None) -> None:
            if name is not None:
                rest = targets[name].rest
                value = min(targets[name].range) if rest is None else rest
                self._change(curve_edits.with_row(value_at(self._raw(), _key(the)), _key(the), name, value))

        if free:
            self.app.push_screen(
                PickScreen(f"Which target does {the.control} move, too?", free),
                self.for_this(chosen, None, lambda: self.the_place == the),
            )
        else:
            self.notify("the rig has no other target")

    def action_remove_row(self) -> None:
        """The curve without the row under the cursor."""
        the, name = self.the_place, self._row_at_hand()
        if the is not None and name is not None:
            self._change(curve_edits.without_row(_key(the), name))

    def action_add_column(self) -> None:
        """A column more, at a travel that is typed."""
        the, curve = self.the_place, self.curve
        if the is None or curve is None:
            return

        def keeps(typed: str) -> bool:
            now = self.curve
            try:
                travel = number(typed.removesuffix("%").strip())
            except ValueError as error:
                self.notify(str(error), severity="error")
                return False
            if now is None or travel in now.travel:
                self.notify(f"there is a column at {typed} already", severity="error")
                return False
            return self._change(curve_edits.with_column(value_at(self._raw(), _key(the)), _key(the), now, travel))

        keeps_here = self.for_this(keeps, False, lambda: self.the_place == the)
        self.app.push_screen(LineScreen("Travel of the new column, %: heel 0, toe 100", keeps=keeps_here))

    def action_remove_column(self) -> None:
        """The curve without the column under the cursor, in every row that has it."""
        the, curve = self.the_place, self.curve
        travel = self.column_travel(self.query_one(CurveTable).cursor_column)
        if the is None or curve is None or travel is None:
            self.notify("the cursor is on no column of travel", timeout=2)
            return
        changes = curve_edits.without_column(value_at(self._raw(), _key(the)), _key(the), curve, travel)
        if not self._change(changes):
            self.notify("the last column of a row stays")

    def action_shape(self) -> None:
        """How the row under the cursor goes from column to column."""
        the, curve, name = self.the_place, self.curve, self._row_at_hand()
        if the is None or curve is None or name is None:
            return

        def chosen(shape: str | None) -> None:
            if shape is not None:
                self._change(curve_edits.with_shape(value_at(self._raw(), _key(the)), _key(the), name, shape))

        def there() -> bool:
            return self.the_place == the and self.curve is not None and name in self.curve.moves

        asked = PickScreen(f"How {name} goes from column to column", SHAPES, curve.moves[name].shape)
        self.app.push_screen(asked, self.for_this(chosen, None, there))

    def action_entry(self) -> None:
        """How the curve at hand comes in."""
        the = self.the_place
        if the is not None:
            asks = f'{the.control} in the set "{the.set}"'
            self._fields(asks, lambda: of_curve(_key(the)) if the in self.places else [])

    def action_sets(self) -> None:
        """Sets of curves: made, copied, renamed, removed."""
        slug = self.shelf.song
        if slug is None or self.song is None:
            return

        def chosen(place: Place | None) -> None:
            if place in self.places:
                self.curve_number = self.places.index(place)
            self.fill()

        self.app.push_screen(CurvesScreen(self, slug, self.the_place), chosen)

    def action_facts(self) -> None:
        """Length, key, tempo, guitar, tuning and the like."""
        self._fields("What the song is played with", self._of_song)

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """Enter on the start or a cue edits it."""
        number_, song = self.cue_at, self.song
        if song is None:
            return
        if number_ is None:
            self._fields("Before the first note", self._of_start)
        elif number_ < len(song.cues):
            self._fields(f"Cue {number_ + 1} of {len(song.cues)}", self._of_cue(number_))

    def action_add_cue(self) -> None:
        """A cue after the one under the cursor, wherever the band is until it is given a time."""
        if self.song is None:
            return
        after, was = self.query_one(CueTable).cursor_row, ("", *(cue.name for cue in self.song.cues))

        def keeps(name: str) -> bool:
            song = self.song
            place = still(was, ("", *(cue.name for cue in song.cues)), after) if song is not None else 0
            if not name or song is None or name in (cue.name for cue in song.cues):
                self.notify("a cue needs a name that no other one has", severity="error")
                return False
            done = self._change(cue_edits.with_cue(self._raw(), place, name))
            if done:
                self.query_one(CueTable).move_cursor(row=place + 1)
            return done

        self.app.push_screen(LineScreen("The new cue's name", keeps=self.for_this(keeps, False)))

    def action_remove_cue(self) -> None:
        """The song without the cue under the cursor."""
        number_, song = self.cue_at, self.song
        if number_ is not None and song is not None and number_ < len(song.cues):
            self._change(cue_edits.without_cue(self._raw(), number_))
        else:
            self.notify(NO_CUE, timeout=2)

    def action_shift_cue(self, way: int) -> None:
        """The cue under the cursor one place earlier or later."""
        number_, song = self.cue_at, self.song
        if number_ is None or song is None or number_ >= len(song.cues):
            self.notify(NO_CUE, timeout=2)
        elif self._change(cue_edits.moved(self._raw(), number_, way)):
            self.query_one(CueTable).move_cursor(row=number_ + 1 + way)

    def _of_song(self) -> list[Field]:
        return of_song(self.rig, self.song) if self.song is not None else []

    def _of_start(self) -> list[Field]:
        return of_start(self.rig, self.song) if self.song is not None else []

    def _of_cue(self, number_: int) -> Callable[[], list[Field]]:
        """The fields of a cue, wherever in the song and under whatever name it is by then."""
        at, was = number_, list[str]()

        def fields() -> list[Field]:
            nonlocal at, was
            song = self.song
            if song is None:
                return []
            names = [cue.name for cue in song.cues]
            at, was = still(was, names, at), names
            return of_cue(self.rig, song, at, self._raw()) if names else []

        return fields

    def _fields(self, asks: str, fields: Any) -> None:
        slug, song = self.shelf.song, self.song
        if slug is not None and song is not None:
            self.app.push_screen(FieldsScreen(self, "song", slug, f"{song.title}: {asks}", fields))

    def _change(self, changes: dict[KeyPath, Any]) -> bool:
        return bool(changes) and self.shelf.song is not None and self.edit_all("song", self.shelf.song, changes)

    def _raw(self) -> dict[str, Any]:
        return self.shelf.raw("song", self.shelf.song or "")

    def _row_at_hand(self) -> str | None:
        curve, row = self.curve, self.query_one(CurveTable).cursor_row
        return list(curve.moves)[row] if curve is not None and 0 <= row < len(curve.moves) else None


def _key(the: Place) -> KeyPath:
    return ("curves", the.set, the.control)
