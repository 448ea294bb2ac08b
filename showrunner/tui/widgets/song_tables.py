"""The two tables of a song, each with the keys for what it holds; the screen does what they ask."""

from typing import ClassVar

from textual.binding import Binding, BindingType

from showrunner.tui.widgets.table import Table


class CurveTable(Table):
    """A row per target, a column per travel."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "screen.add_row", "Row", id="curve.add_row", tooltip="A row for another target"),
        Binding("plus", "screen.add_column", "Column", id="curve.add_column", tooltip="A column more"),
        Binding("s", "screen.shape", "Shape", id="curve.shape", tooltip="How the row goes from column to column"),
        Binding("y", "screen.entry", "Entry", id="curve.entry", tooltip="How the curve comes in", show=False),
        Binding("delete,D", "screen.remove_row", "Take the row out", id="curve.remove_row", show=False),
        Binding("minus", "screen.remove_column", "Take the column out", id="curve.remove_column", show=False),
    ]

    def __init__(self, *, id: str) -> None:  # noqa: A002
        super().__init__(id=id, cursor_type="cell")


class CueTable(Table):
    """The start, and a row per cue."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("comma", "screen.shift_cue(-1)", "Up", id="cues.earlier", tooltip="The cue earlier"),
        Binding("full_stop", "screen.shift_cue(1)", "Down", id="cues.later", tooltip="The cue later"),
        Binding("a", "screen.add_cue", "Add", id="cues.add", tooltip="A cue after this one"),
        Binding("delete,D", "screen.remove_cue", "Take out", id="cues.remove", tooltip="Take the cue out"),
    ]

    def __init__(self, *, id: str) -> None:  # noqa: A002
        super().__init__(id=id, cursor_type="row", show_header=False)
