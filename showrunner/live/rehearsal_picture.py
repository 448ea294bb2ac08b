"""What a screen gets of a rehearsal under way, and the Protocol of whoever it gets it from."""

from collections import deque
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple, Protocol

from showrunner.live.picture import NO_TROUBLES, Picture, What
from showrunner.live.rehearsing import Rehearsal, Told
from showrunner.model.tempo import beat_at
from showrunner.planning.practice import Arrival, Change
from showrunner.state.events import Notice
from showrunner.state.rehearsal import Ahead, Due, ahead
from showrunner.state.script import Script

SAID = 20
"""Notices that a picture carries."""


class RehearsalPicture(NamedTuple):
    """A rehearsal as it stood at one time, frozen; times are seconds from its start.

    `round` is which time through it is of `times`, None for round and round. `beat` is the last beat of a song or of a
    count-in, None where neither goes. `ahead` is the step that comes next by the clock, None where that is past.
    `arrival` and `change` are the last moment reached and the last changeover, as they were judged. `place_s` is where
    the song stands on its own clock, None where none is under way.
    """

    picture: Picture
    round: int
    times: int | None
    beat: Due | None
    ahead: Ahead | None
    arrival: Arrival | None
    change: Change | None
    ends_s: float | None
    place_s: float | None = None


class Ended(NamedTuple):
    """How a rehearsal ended: its take's file, None where there is none, and what went wrong, "" where nothing did."""

    take: Path | None
    trouble: str = ""


class RehearsalClient(Protocol):
    """A way to a rehearsal: the one in another process (`rehearsal_link`), or in this one (`rehearsal_local`)."""

    @property
    def script(self) -> Script:
        """What is rehearsed."""

    @property
    def simulated(self) -> bool:
        """Whether keys may move the controls, since no hardware does."""

    @property
    def led(self) -> bool:
        """Whether a take is the player, so that there is nothing to ask for."""

    @property
    def ended(self) -> Ended | None:
        """How it ended, None while it goes on."""

    def picture(self) -> RehearsalPicture:
        """The newest picture; never waits."""

    def ask(self, what: What) -> None:
        """Ask for a step; never waits."""

    def move(self, control: str, raw: int) -> None:
        """Move a control of a simulated rig; never waits."""

    def again(self) -> None:
        """Go back to the start of this time through; never waits."""

    def stop(self) -> None:
        """End it and keep its take; never waits."""

    def close(self) -> None:
        """Let go of it, once it has ended."""


class Watching:
    """Gathers what a rehearsal tells, for its pictures; of one `led` by a take the beat is where its song is."""

    def __init__(self, *, led: bool = False) -> None:
        self._led = led
        self._notices: deque[tuple[float, Notice]] = deque(maxlen=SAID)
        self._beat: Due | None = None

    def tell(self, one: Told) -> None:
        """Something happened."""
        if isinstance(one.what, Notice):
            self._notices.append((one.at_s, one.what))
        elif one.what.what in ("beat", "count"):
            self._beat = one.what
        elif one.what.what in ("end", "round", "jump"):
            self._beat = None

    def look(
        self, rehearsal: Rehearsal, at_s: float, troubles: Mapping[str, str] = NO_TROUBLES, unix_s: float = 0.0
    ) -> RehearsalPicture:
        """How it stands now."""
        judged = rehearsal.reviewer
        beat = _beat(rehearsal, at_s) if self._led else self._beat
        picture = Picture(at_s, rehearsal.state, notices=tuple(self._notices), troubles=troubles, unix_s=unix_s)
        return RehearsalPicture(
            picture,
            rehearsal.round,
            rehearsal.times,
            beat,
            ahead(rehearsal.dues, rehearsal.state, rehearsal.script.pieces, beat),
            judged.arrivals[-1] if judged.arrivals else None,
            judged.changes[-1] if judged.changes else None,
            None if rehearsal.times is None else rehearsal.ends_s,
            rehearsal.place_s(at_s),
        )


def _beat(rehearsal: Rehearsal, at_s: float) -> Due | None:
    """The last beat by the song's own clock."""
    song, place_s = rehearsal.state.song, rehearsal.place_s(at_s)
    if song is None or place_s is None:
        return None
    beat = beat_at(rehearsal.script.pieces[song].song, place_s)
    return None if beat is None else Due(at_s - (place_s - beat.at_s), "beat", song, 0, beat.bar, beat.beat)
