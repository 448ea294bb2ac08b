"""How a sight is set on a screen of some size: which rows each zone has, and what stands there in which letters."""

from collections.abc import Sequence
from typing import NamedTuple

from showrunner.live.seen import Sight, Wordings
from showrunner.tui.lettering import NOTHING, SIZES, Set, Size, can_set, typeset, width_of
from showrunner.tui.widgets.ruler import rows_for

EDGE, BAR, APART = 1, 2, 3
"""Columns left free before a line of letters, before what is to be done with its bar, and between two side by side."""
SIDE_SIZES = tuple(size for size in SIZES if not size.large)
MOST_ASIDE = 0.75
"""The most of the width that big letters at the right may take."""
ROOMY_FROM = (120, 44)
"""Columns and rows from which letters are twice as large where all that is to be done, and the rulers, have room."""
ROOMY_LETTERS = 3.5
"""Rows that letters of what is to be done have at least there: no fewer than on a smaller screen."""
STEP = 6
"""No zone grows by more rows than this at once."""


class Rows(NamedTuple):
    """Rows of each zone; `do` are the most that what is to be done may take, rulers have what is left of it.

    `label` and `words` are whether those lines are there, `air` whether a row above the keys is left free.
    """

    head: int
    do: int
    after: int
    trouble: int
    label: bool
    air: bool
    words: bool


class Arranged(NamedTuple):
    """A sight as it is set: its rows, those that what is to be done takes, and the letters of each zone."""

    rows: Rows
    do_rows: int
    head: Set
    beside: Set
    do: Set
    after: Set
    aside: Set
    trouble: Set

    @property
    def ruler_rows(self) -> int:
        """Rows left for the rulers."""
        return max(0, self.rows.do - self.do_rows)

    @property
    def letter_rows(self) -> float:
        """Height of the smallest letters that are to be read from afar, in rows."""
        return min(zone.letter_rows for zone in (self.head, self.beside, self.do, self.after, self.aside, self.trouble))


def rows_of(height: int, *, trouble: bool, roomy: bool = False) -> Rows:
    """How the rows are shared out; a higher screen never has fewer for what is to be done than a lower one."""
    shared = _shared(height, roomy=roomy)
    left = min(_left(_shared(each, roomy=roomy), each, trouble=trouble) for each in range(height, height + STEP))
    return shared._replace(do=max(1, left))


def _shared(height: int, *, roomy: bool) -> Rows:
    head = 8 if roomy else 4 if height >= 20 else 3 if height >= 10 else 1
    after = 6 if roomy else 3 if height >= 16 else 1
    return Rows(head, 0, after, after, label=height >= 26, air=height >= 28, words=height >= 12)


def _left(rows: Rows, height: int, *, trouble: bool) -> int:
    taken = 2 + rows.head + rows.after + rows.label + rows.air + rows.words
    return height - taken - trouble * rows.trouble


def arrange(seen: Sight, width: int, height: int, least_rows: float) -> Arranged:
    """A sight on a screen; letters of `least_rows` can be read from where the player stands."""
    if width >= ROOMY_FROM[0] and height >= ROOMY_FROM[1]:
        large = _arranged(seen, width, height, least_rows, roomy=True)
        if large.do.letter_rows >= ROOMY_LETTERS and large.ruler_rows >= rows_for(seen.standing):
            return large
    return _arranged(seen, width, height, least_rows, roomy=False)


def _arranged(seen: Sight, width: int, height: int, least_rows: float, *, roomy: bool) -> Arranged:
    rows = rows_of(height, trouble=bool(seen.trouble), roomy=roomy)
    head, beside = _side_by_side(seen.head, seen.beside, width, rows.head, least_rows, SIZES, capped=seen.titled)
    sizes = SIZES[SIZES.index(head.size) :] if seen.titled and head.size is not None else SIZES
    usual = min(rows.do, 12 if roomy else 6)
    spared = min(rows.do, max(usual, rows.do - rows_for(seen.standing)))
    said = [(each,) for each in seen.do]
    tries = (typeset(said, width - BAR, high, least_rows, sizes) for high in range(spared, rows.do))
    do = next((told for told in tries if told.whole and told.letter_rows >= least_rows), None)
    do = do or typeset(said, width - BAR, rows.do, least_rows, sizes)
    after, aside = _side_by_side(seen.after, seen.aside, width, rows.after, least_rows, sizes)
    big = [seen.trouble[0].big] if seen.trouble else []
    trouble = typeset(big, width - EDGE, rows.trouble, least_rows)
    return Arranged(rows, max(usual, len(do.lines)), head, beside, do, after, aside, trouble)


def _side_by_side(
    main: Wordings,
    side: Wordings,
    width: int,
    rows: int,
    least_rows: float,
    sizes: Sequence[Size],
    *,
    capped: bool = False,
) -> tuple[Set, Set]:
    """What stands at the left, and at its right what must always be there: as large as leaves the left its words.

    A `capped` right is never larger than the left.
    """
    room = width - EDGE
    alone = typeset([main], room, rows, least_rows, sizes)
    if not any(side):
        return alone, NOTHING
    fits = [size for size in SIDE_SIZES if size.rows <= rows and size in sizes]
    readable = [size for size in fits if size.letter_rows >= least_rows] or fits
    drawn = [
        (brevity, wording, size)
        for brevity, wording in enumerate(side)
        for size in readable
        if can_set(wording) and width_of(wording, size) <= room * MOST_ASIDE
    ]
    own = [(brevity, wording, None) for brevity, wording in enumerate(side)]
    tried: list[tuple[bool, int, int, Set, Set]] = []
    for brevity, wording, size in drawn or own:
        if any(told[:2] == (False, brevity - 1) for told in tried):
            break
        across = width_of(wording, size) if size is not None else len(wording)
        beside = typeset([(wording,)], across, rows, 0.0, (size,) if size is not None else ())
        left = typeset([main], room - across - APART, rows, least_rows, sizes)
        larger = sizes.index(left.size) if left.size is not None else len(sizes)
        if capped and size is not None and size != readable[-1] and sizes.index(size) < larger:
            continue
        if left.said == alone.said and left.size == alone.size:
            return left, beside
        tried.append((left.said != alone.said or left.size is None, brevity, larger, left, beside))
    return min(tried, key=lambda each: each[:3])[3:]
