"""How practice went over time: a column for each take, as high as the share of its places that went clean."""

from collections.abc import Sequence

from showrunner.model.cells import fit
from showrunner.planning.practice import Go
from showrunner.planning.practice_words import CLEAN, NOT_CLEAN

EIGHTHS = " ▁▂▃▄▅▆▇█"
LABEL = 6
MARK = "·"
"""Stands where a column of no height would not be seen."""


def course(goes: Sequence[Go], width: int, height: int) -> list[str]:
    """Lines of at most `width` characters, `height` of them, oldest on the left; as many of the newest as fit.

    Under each column stands whether all of it was clean, so that no shade has to be told from another.
    """
    rows, room = height - 1, width - LABEL
    if rows < 1 or room < 2 or not goes:
        return []
    step = 3 if len(goes) * 3 <= room else 2
    shown = goes[-(room // step) :]
    lines = []
    for row in range(rows):
        label = "all" if row == 0 else "none" if row == rows - 1 else ""
        lines.append(fit(label, LABEL) + "".join(_cell(go, rows - 1 - row, rows) * (step - 1) + " " for go in shown))
    signs = "".join((CLEAN if go.all_clean else NOT_CLEAN).ljust(step) for go in shown)
    return [*(line.rstrip() for line in lines), (fit("", LABEL) + signs).rstrip()]


def _cell(go: Go, from_bottom: int, rows: int) -> str:
    """One cell of a column: full below its height, a part at it, empty above."""
    eighths = round(go.clean / go.total * rows * 8) - from_bottom * 8 if go.total else 0
    if from_bottom == 0 and eighths <= 0:
        return MARK
    return EIGHTHS[max(0, min(8, eighths))]
