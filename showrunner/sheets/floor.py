"""The one sheet on the floor in front of the player: what comes, what to take, and what the hands and feet do.

On its pages titles, chord and tempo are never smaller than 29.1 pt: capitals of 7.47 mm, 16 minutes of arc at 1.6 m
(NUREG-0700 rev. 2, 1.3.1-4, has 16 as the least). The smaller lines are 12 pt at the least, which takes a closer look:
16 minutes at 0.66 m. Sizes are the largest that need no more pages than the smallest ones.
"""

from collections.abc import Mapping
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.sheets.cues import CueLine, cue_lines
from showrunner.sheets.head import Head, head
from showrunner.sheets.order import parts
from showrunner.sheets.top import Top, top


class FloorSong(NamedTuple):
    """A song on the floor."""

    head: Head
    cues: tuple[CueLine, ...]


class FloorPart(NamedTuple):
    """A set, the encore or the reserve."""

    title: str
    kind: str
    songs: tuple[FloorSong, ...]


class Floor(NamedTuple):
    """The floor sheet."""

    top: Top
    parts: tuple[FloorPart, ...]


def floor(
    book: Book, show: Show, rig: Rig, starts: Mapping[str, float] | None = None, finish: float | None = None
) -> Floor:
    """What the floor sheet says; `starts` by song and `finish` in minutes after the midnight that starts the date."""
    return Floor(
        top(book, show, rig, finish),
        tuple(
            FloorPart(
                part.title,
                part.kind,
                tuple(
                    FloorSong(head(book, show, entry), cue_lines(entry.piece) if entry.piece is not None else ())
                    for entry in part.entries
                ),
            )
            for part in parts(book, show, rig, starts)
        ),
    )
