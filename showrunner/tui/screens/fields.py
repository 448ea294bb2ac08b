"""A list of fields over a screen: Enter types or chooses one, and it is in the file at once."""

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import DataTable, Static

from showrunner.book.problems import BookError
from showrunner.tui.fields import Field
from showrunner.tui.screens.asked import STYLE, LineScreen, PickScreen
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.screens.over import OverScreen
from showrunner.tui.widgets.foot import Foot
from showrunner.tui.widgets.table import Table

USUAL = "· {}"


class FieldsScreen(OverScreen[None]):
    """Fields of one file, edited through the screen under it, which shows and undoes the changes.

    Without fields, as when the thing that they are of is gone, it is left.
    """

    CSS = (
        STYLE.format(name="FieldsScreen")
        + "FieldsScreen DataTable { height: auto; max-height: 70vh; background: $surface; overflow-x: hidden; }"
        + "FieldsScreen #hint { height: auto; max-height: 3; color: $text-muted; }"
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "change", "Change", id="fields.change", priority=True),
        Binding("delete,backspace", "clear", "Take out", id="fields.clear"),
        Binding("u", "undo", "Undo", id="fields.undo"),
        Binding("U,ctrl+y", "redo", "Redo", id="fields.redo", show=False),
        Binding("escape,q", "leave", "Done", id="fields.leave"),
    ]

    def __init__(
        self, owner: BookScreen, kind: str, slug: str, asks: str, fields: Callable[[], list[Field]], at: int = 0
    ) -> None:
        super().__init__(owner)
        self._kind, self._slug, self._asks, self._fields, self._at = kind, slug, asks, fields, at

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(self._asks, id="asks", markup=False)
            yield Table(cursor_type="row", show_header=False)
            yield Static(id="hint", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Show what the file says, and go on doing so."""
        table = self.query_one(DataTable)
        table.add_columns("field", "value")
        self.show_anew()
        table.move_cursor(row=self._at)

    def fill(self) -> None:
        """Each field with what stands there, else what holds without it."""
        table, fields = self.query_one(DataTable), self._fields_now()
        if not fields:
            self.dismiss()
            return
        at, raw = table.cursor_row, self._owner.shelf.raw(self._kind, self._slug)
        table.clear()
        for field in fields:
            table.add_row(field.label, field.shown(raw) or (USUAL.format(field.usual) if field.usual else ""))
        table.move_cursor(row=min(at, len(fields) - 1))

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """How the field at hand is written."""
        fields = self._fields_now()
        if event.cursor_row < len(fields):
            self.query_one("#hint", Static).update(fields[event.cursor_row].hint)

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """Enter, or a click on the row at hand, changes it."""
        self.action_change()

    def action_change(self) -> None:
        """Type or choose the field at hand."""
        field = self._at_hand()
        if field is None:
            return
        shown = field.shown(self._owner.shelf.raw(self._kind, self._slug))
        if field.choices is None:
            asks = f"{field.label}: {field.hint}" if field.hint else field.label
            self.app.push_screen(LineScreen(asks, shown, keeps=lambda typed: self._keep(field, typed)), self._left)
        else:
            self.app.push_screen(PickScreen(field.label, field.choices, shown), self._chosen(field))

    def action_clear(self) -> None:
        """Take the field at hand out of the file."""
        field = self._at_hand()
        if field is not None:
            self._keep(field, "")
            self.fill()

    def _keep(self, field: Field, typed: str) -> bool:
        """Put what was typed into the file; whether that could be done, else why not is said."""
        try:
            changes = field.changes(self._owner.shelf.raw(self._kind, self._slug), typed)
        except ValueError as error:
            self.notify(str(error), severity="error")
            return False
        except KeyError:
            self._owner.say(BookError(f"{self._slug} is not there any more", "nothing was changed"))
            return False
        return not changes or self._owner.edit_all(self._kind, self._slug, changes)

    def _chosen(self, field: Field) -> Callable[[str | None], None]:
        def chosen(key: str | None) -> None:
            if key is not None:
                self._keep(field, key)
            self.fill()

        return chosen

    def _left(self, _: str | None) -> None:
        self.fill()

    def _at_hand(self) -> Field | None:
        fields, at = self._fields_now(), self.query_one(DataTable).cursor_row
        return fields[at] if 0 <= at < len(fields) else None

    def _fields_now(self) -> list[Field]:
        shelf = self._owner.shelf
        there = (self._kind, self._slug) in shelf.reading.sources.keys() - shelf.reading.unread
        return self._fields() if there else []
