"""The changeovers of a show: what must happen between one song and the next, and whether there is time."""

from collections.abc import Collection
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.handwork import Step, at_least_s, needed_s, steps_to
from showrunner.planning.lineup import Pause, Place, line_up
from showrunner.planning.recall import Recall, recall_between
from showrunner.planning.stage import UNKNOWN, Stage, after_playing, at_rest
from showrunner.state.moments import Piece, prepare_song


class Changeover(NamedTuple):
    """From one song to the next: what to do, the seconds it takes, and what there is time for."""

    before: str
    after: str
    needs_s: float
    pause: Pause
    steps: tuple[Step, ...]
    recall: Recall

    @property
    def has_s(self) -> float:
        """Seconds there are."""
        return self.pause.seconds

    @property
    def short_s(self) -> float:
        """Seconds that are missing, 0 if there are enough."""
        return max(0.0, self.needs_s - self.has_s)


class _Change(NamedTuple):
    place: Place
    before: Piece
    after: Piece
    steps: tuple[Step, ...]


def changeovers(book: Book, show: Show, rig: Rig) -> tuple[Changeover, ...]:
    """Every changeover of the sets and the encore in order; songs that the book does not have are passed over.

    The stage is carried from song to song, as the player carries it.
    """
    return tuple(
        Changeover(
            change.before.slug,
            change.after.slug,
            needed_s(change.steps),
            change.place.pause,
            change.steps,
            recall_between(change.before, change.after, change.place.then),
        )
        for change in _changes(book, show, rig)
    )


def changeover_times(book: Book, show: Show, rig: Rig) -> dict[tuple[str, str], float]:
    """Seconds that each changeover of the show takes, by the songs before and after it."""
    return {(one.before.slug, one.after.slug): needed_s(one.steps) for one in _changes(book, show, rig)}


def between_s(before: Piece, after: Piece) -> float:
    """Seconds from one song to another, whatever came before the first."""
    return needed_s(steps_to(after_playing(UNKNOWN, before), after))


def least_between_s(before: Piece, after: Piece, guitars: Collection[str | None]) -> float:
    """Seconds that no changeover from one song to another undercuts, whatever was played before the first.

    `guitars` can be in hand for a song that names none. What may have been left so or otherwise counts as nothing.
    """
    held = guitars if before.song.instrument is None else (before.song.instrument,)
    return min(_least_s(after_playing(Stage(guitar), before), after) for guitar in held)


def _least_s(stage: Stage, after: Piece) -> float:
    steps, driver = steps_to(stage, after), after.rig.driver_of(stage.guitar)
    known = all(step.before is not None for step in steps) and (driver is None or driver in stage.by_hand)
    return needed_s(steps) if known else at_least_s(steps)


def _changes(book: Book, show: Show, rig: Rig) -> list[_Change]:
    known = [place for place in line_up(show) if place.song in book.songs]
    pieces = [prepare_song(book, place.song, rig, show) for place in known]
    changes: list[_Change] = []
    stage: Stage | None = None
    for place, piece, after in zip(known, pieces, pieces[1:], strict=False):
        stage = after_playing(at_rest(rig, piece) if stage is None else stage, piece)
        changes.append(_Change(place, piece, after, steps_to(stage, after)))
    return changes
