"""The show's order as a sheet numbers it: sets, encore and reserve, each song with the one before it."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.units import format_clock
from showrunner.planning.lineup import ENCORE, Place, line_up
from showrunner.state.moments import Piece, prepare_show

RESERVE = "reserve"


class Entry(NamedTuple):
    """A song's place: its label (1, E1, R1), its song on this rig, and the song played before it, if that is known.

    `piece` is None where the book doesn't have the song; `pause` and `pause_s` are what follows it, empty after
    the last and in the reserve.
    """

    label: str
    slug: str
    piece: Piece | None
    before: Piece | None
    optional: bool
    pause: str
    pause_s: float
    clock: str


class Part(NamedTuple):
    """A set, the encore or the reserve; `title` is empty for a show's only set where it has none."""

    title: str
    kind: str
    entries: tuple[Entry, ...]


def parts(book: Book, show: Show, rig: Rig, starts: Mapping[str, float] | None) -> tuple[Part, ...]:
    """Every song the show may need; `starts` is when songs begin, minutes after the midnight that starts the date."""
    pieces = prepare_show(book, show, rig)
    found: dict[int, list[Entry]] = {}
    titles: dict[int, str] = {}
    before: Piece | None = None
    count = encores = 0
    for place in line_up(show):
        encore = place.part == len(show.sets)
        count, encores = (count, encores + 1) if encore else (count + 1, encores)
        label = f"E{encores}" if encore else str(count)
        piece = pieces.get(place.song)
        found.setdefault(place.part, []).append(_entry(label, place, piece, before, starts))
        titles[place.part] = _title(show, place)
        before = piece if piece is not None else before
    kinds = {part: ENCORE if part == len(show.sets) else "set" for part in found}
    made = [Part(titles[part], kinds[part], tuple(entries)) for part, entries in found.items()]
    reserve = tuple(
        Entry(f"R{n}", slug, pieces.get(slug), None, False, "", 0.0, "") for n, slug in enumerate(show.reserve, 1)
    )
    return (*made, Part(RESERVE, RESERVE, reserve)) if reserve else tuple(made)


def entries(of: tuple[Part, ...]) -> Iterator[Entry]:
    """Every song of every part, in order."""
    for part in of:
        yield from part.entries


def _entry(
    label: str, place: Place, piece: Piece | None, before: Piece | None, starts: Mapping[str, float] | None
) -> Entry:
    at = None if starts is None else starts.get(place.song)
    clock = "" if at is None else format_clock(at)
    pause = "" if place.pause.kind == "end" else place.pause.kind
    return Entry(label, place.song, piece, before, place.optional, pause, place.pause.seconds, clock)


def _title(show: Show, place: Place) -> str:
    only = len(show.sets) == 1 and place.part == 0 and show.sets[0].title is None
    return "" if only else place.title
