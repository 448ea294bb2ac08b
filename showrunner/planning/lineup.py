"""The show as one line: song after song through its sets and the encore, with what comes after each."""

from collections.abc import Iterator
from typing import Literal, NamedTuple

from showrunner.model.show import Show, Slot, Then

APPLAUSE_S = 12.0
"""After a song where the show writes nothing; common practice, no source."""

TALK_S = 30.0
"""A word on coming back to the stage where the show writes nothing; common practice, no source."""

WALK_OFF_S = 60.0
"""Leaving the stage; common practice, no source."""

BREAK_S = APPLAUSE_S + WALK_OFF_S + TALK_S
"""Between sets and before the encore where the show writes nothing: applause, off, on again and a word."""

ENCORE = "encore"
"""Title of the part after the last set."""

PauseKind = Literal["segue", "gap", "talk", "applause", "break", "end"]


class Pause(NamedTuple):
    """What comes between a song and the next, and how long it is meant to last."""

    kind: PauseKind
    seconds: float


END = Pause("end", 0.0)


class Place(NamedTuple):
    """A song's place in the show; `part` counts the sets from 0, the encore after them."""

    song: str
    part: int
    title: str
    then: Then | None
    optional: bool
    pause: Pause


def line_up(show: Show) -> tuple[Place, ...]:
    """Every song of the sets and the encore in order; the last one's pause is the end."""
    slots = list(_slots(show))
    places = []
    for index, (part, title, slot) in enumerate(slots):
        following = slots[index + 1][0] if index + 1 < len(slots) else None
        pause = END if following is None else pause_after(slot.then, following != part)
        places.append(Place(slot.song, part, title, slot.then, slot.optional, pause))
    return tuple(places)


def pause_after(then: Then | None, leaves_stage: bool) -> Pause:
    """What is written, else applause, or a break where the players leave the stage."""
    if then is not None:
        return Pause(then.kind, float(then.seconds))
    return Pause("break", BREAK_S) if leaves_stage else Pause("applause", APPLAUSE_S)


def _slots(show: Show) -> Iterator[tuple[int, str, Slot]]:
    for part, songs in enumerate(show.sets):
        for slot in songs.songs:
            yield part, songs.title or f"set {part + 1}", slot
    for song in show.encore:
        yield len(show.sets), ENCORE, Slot(song=song)
