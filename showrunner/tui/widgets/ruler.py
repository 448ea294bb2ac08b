"""The ruler from heel to toe on the screen: what moves where, where the control stands and where it belongs."""

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget

from showrunner.curves.ruler import cell_of, ruler, scale
from showrunner.live.seen import Row, Standing
from showrunner.model.cells import fit

SHOWN, BAR_ROWS = 2, 3
"""Controls that have a ruler, and rows of the bar for a far look."""
LARGE = 1000
"""Values from here on are told without a decimal."""
NAME_CELLS = 13
VALUE_CELLS = 14
FULL, EMPTY, HERE = "█", "░", "▼"


class Rulers(Widget):
    """The rulers of the one or two controls in play, as many of their rows as there is room for."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._standing: tuple[Standing, ...] = ()

    def stand(self, standing: Sequence[Standing]) -> None:
        """Show these controls; repainted only when one of them has changed."""
        if tuple(standing) != self._standing:
            self._standing = tuple(standing)
            self.refresh()

    @property
    def text(self) -> str:
        """What it shows, line by line."""
        return "\n".join(rulers(self._standing, *self.content_size))

    def render(self) -> Content:
        return Content(self.text)


def rows_for(standing: Sequence[Standing]) -> int:
    """Rows that show all there is to show of these controls."""
    return sum(2 + BAR_ROWS * (control.travel is not None) + len(control.rows) for control in standing[:SHOWN])


def rulers(standing: Sequence[Standing], width: int, height: int) -> list[str]:
    """Lines of `width` characters, `height` at the most: each control gets its share, the first what is left over."""
    shown = standing[: max(1, min(SHOWN, height // 2))]
    lines: list[str] = []
    for index, control in enumerate(shown):
        left = (height - len(lines)) // (len(shown) - index)
        lines += one_ruler(control, width, left)
    return lines[:height]


def one_ruler(control: Standing, width: int, height: int) -> list[str]:
    """One control: its scale, a bar for a far look where there is room, and a ruler for each target."""
    room = max(10, width - NAME_CELLS - VALUE_CELLS - 2)
    travel = control.travel
    stands = f"{travel:.0f} %" if travel is not None else "not heard yet"
    lines = [_line(control.control, scale(control.columns, room, travel), stands)]
    if control.assumed is not None:
        said = f" {stands}: assumed at {control.assumed:.0f} %"
        lines = [lines[0][: max(0, width - len(said))] + said]
    if travel is not None:
        filled = cell_of(travel, room) + (1 if travel > 0 else 0)
        bar = _line("", FULL * filled + EMPTY * (room - filled), "")
        lines += [bar] * max(0, min(BAR_ROWS, height - 3 - len(control.rows)))
    if height > len(lines) and control.wanted is not None:
        lines.insert(0, _wanted(control.wanted, room))
    rows = control.rows[: max(0, height - len(lines))]
    return [*lines, *(_line(f"  {row.target}", ruler(row.spans, room, travel), _value(row)) for row in rows)]


def _wanted(wanted: float, room: int) -> str:
    at = cell_of(wanted, room)
    return _line("  heel → toe", " " * at + HERE + " " * (room - at - 1), f"to {wanted:.0f} %")


def _value(row: Row) -> str:
    if row.value is None:
        return ""
    if row.wants is not None:
        return f"{_figure(row.value)}, not {_figure(row.wants)}"
    return f"{_figure(row.value)} {row.unit}" + ("" if row.number is None else f" ({row.number})")


def _figure(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= LARGE else f"{value:.1f}"


def _line(name: str, middle: str, value: str) -> str:
    return f"{fit(name, NAME_CELLS)} {middle} {fit(value, VALUE_CELLS)}"
