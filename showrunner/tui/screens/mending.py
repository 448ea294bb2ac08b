"""Everything in the book that is to be mended: each place with what is wrong, and the ways to it."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import DataTable, Static

from showrunner.book.problems import Problem
from showrunner.tui.going import SHOWN_ON
from showrunner.tui.screens.asked import STYLE
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.screens.over import OverScreen
from showrunner.tui.unread import name_of
from showrunner.tui.widgets.foot import Foot
from showrunner.tui.widgets.table import Table

Name = tuple[str, str]


class MendingScreen(OverScreen[Name | None]):
    """All problems of the book in its order; gives kind and slug of a document that is to be gone to.

    What is mended goes from the list, and once nothing is left it is left, too.
    """

    CSS = (
        STYLE.format(name="MendingScreen")
        + "MendingScreen DataTable { height: auto; max-height: 60vh; background: $surface; overflow-x: hidden; }"
        + "MendingScreen #hint { height: auto; max-height: 6; border-top: solid $primary; overflow-y: auto; }"
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,ctrl+e", "editor", "In the editor", id="mending.editor", priority=True),
        Binding("g", "go", "Go to it", id="mending.go", tooltip="To the screen that shows it"),
        Binding("escape,q", "leave", "Done", id="mending.leave"),
    ]

    def __init__(self, owner: BookScreen) -> None:
        super().__init__(owner)
        self._problems: tuple[Problem, ...] = ()

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(id="asks", markup=False)
            yield Table(cursor_type="row", show_header=False)
            yield Static(id="hint", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Show them, and go on doing so."""
        self.query_one(DataTable).add_columns("where", "what")
        self.show_anew()

    def fill(self) -> None:
        """Every problem, the one at hand kept where it is still there."""
        table, here = self.query_one(DataTable), self._here()
        self._problems = self._owner.shelf.reading.problems
        if not self._problems:
            self.notify("nothing is left to mend")
            self.dismiss(None)
            return
        self.query_one("#asks", Static).update(f"{len(self._problems)} to mend")
        row = self._problems.index(here) if here in self._problems else table.cursor_row
        table.clear()
        for problem in self._problems:
            where = problem.file if problem.line is None else f"{problem.file}:{problem.line}"
            table.add_row(where, ": ".join(part for part in (problem.key, problem.what) if part))
        table.move_cursor(row=min(row, len(self._problems) - 1))

    def on_data_table_row_highlighted(self, _: DataTable.RowHighlighted) -> None:
        """All of the one at hand, and how it is mended."""
        here = self._here()
        self.query_one("#hint", Static).update("" if here is None else str(here))

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """A click on the row at hand opens its file."""
        self.action_editor()

    def action_editor(self) -> None:
        """Open the file in the user's own editor, and show what is left to mend then."""
        here = self._here()
        if here is not None:
            self._owner.open_in_editor(here.file)
            self.catch_up()

    def action_go(self) -> None:
        """To the screen that shows the document."""
        here = self._here()
        name = name_of(here.file) if here is not None else None
        if name is not None and name[0] in SHOWN_ON:
            self.dismiss(name)
        elif here is not None:
            self.notify(f"no screen shows {here.file or 'the folder'}; enter opens a file in the editor")

    def _here(self) -> Problem | None:
        at = self.query_one(DataTable).cursor_row
        return self._problems[at] if 0 <= at < len(self._problems) else None
