"""A night against its plan: each song and changeover as planned and as played, and the finish against the curfew."""

from collections.abc import Mapping
from itertools import accumulate, pairwise
from typing import NamedTuple

from showrunner.planning.night import Night
from showrunner.planning.timing import RunningTime


class Part(NamedTuple):
    """A song, or with `after` the changeover from it to the next song; seconds, from the first note where they start.

    None where it was not planned, or not played to its end. `needs_s` is what a changeover's hands need.
    """

    song: str
    after: str | None
    starts_s: float | None
    planned_starts_s: float | None
    planned_s: float | None
    played_s: float | None
    needs_s: float | None = None

    @property
    def over_s(self) -> float | None:
        """Seconds longer than planned, negative where it was shorter."""
        return None if self.planned_s is None or self.played_s is None else self.played_s - self.planned_s


class Compared(NamedTuple):
    """The night in the order it was played; `not_played` are the planned songs that it left out.

    `curfew_min` and `finish_min` in minutes after the midnight that starts the date, None if not known; the clock of
    `finish_min` was `ahead_min` ahead of UTC.
    """

    parts: tuple[Part, ...]
    not_played: tuple[str, ...]
    planned_s: float
    lasted_s: float | None
    finish_min: float | None
    curfew_min: int | None
    ahead_min: float | None = None

    @property
    def over_s(self) -> float | None:
        """Seconds longer than planned, from the first note to the last."""
        return None if self.lasted_s is None else self.lasted_s - self.planned_s

    @property
    def late_s(self) -> float | None:
        """Seconds that the finish came after the curfew, negative with time to spare."""
        if self.curfew_min is None or self.finish_min is None:
            return None
        return (self.finish_min - self.curfew_min) * 60


def compare(night: Night, timed: RunningTime, needs: Mapping[tuple[str, str], float]) -> Compared:
    """A night beside the show's plan as written; `needs` are changeovers' seconds by the songs before and after."""
    planned = [song for part in timed.sets for song in part.songs]
    by_song = {song.song: song for song in planned}
    starts = dict(
        zip(by_song, accumulate((s.duration_s + s.pause.seconds for s in planned), initial=0.0), strict=False)
    )
    pauses = {(a.song, b.song): (starts[b.song] - a.pause.seconds, a.pause.seconds) for a, b in pairwise(planned)}
    changes = {change.before: change for change in night.changes}
    parts = []
    for song in night.songs:
        plan = by_song.get(song.song)
        parts.append(
            Part(
                song.song,
                None,
                song.starts_s,
                starts.get(song.song),
                None if plan is None else plan.duration_s,
                song.lasted_s,
            )
        )
        change = changes.get(song.song)
        if change is not None and song.lasted_s is not None:
            pair = (change.before, change.after)
            starts_s, pause_s = pauses.get(pair, (None, None))
            ended_s = song.starts_s + song.lasted_s
            parts.append(Part(*pair, ended_s, starts_s, pause_s, change.took_s, needs.get(pair)))
    played = {song.song for song in night.songs}
    return Compared(
        parts=tuple(parts),
        not_played=tuple(song.song for song in planned if song.song not in played),
        planned_s=timed.planned_s,
        lasted_s=night.lasted_s,
        finish_min=night.finish_min,
        curfew_min=timed.curfew,
        ahead_min=night.ahead_min,
    )
