"""What a night really took: each song and changeover as played, and what went wrong on the way."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from showrunner.state.events import Trim


class Line(NamedTuple):
    """One line of a run's log: seconds of the joined log, what happened, in which song and cue, and the words for it.

    `clock_min` is the time of day in minutes after the midnight that starts the night's date, and `ahead_min` how far
    that clock was ahead of UTC; None if it is not known.
    A line of kind `began` has the rig that is played on, None if not said, and whether no hardware is. `unix_s` is the
    time of day that was written beside it, which may have been set since the line before.
    """

    at_s: float
    kind: str
    song: str | None = None
    cue: str | None = None
    say: str = ""
    clock_min: float | None = None
    ahead_min: float | None = None
    trim: Trim | None = None
    rig: str | None = None
    simulated: bool = False
    unix_s: float | None = None


class SongPlayed(NamedTuple):
    """A song as played: seconds from the first note of the night, and how long; None where it was not left."""

    song: str
    starts_s: float
    lasted_s: float | None


class ChangePlayed(NamedTuple):
    """From the end of one song to the first note of the next."""

    before: str
    after: str
    took_s: float


class Gone(NamedTuple):
    """A step back, into a song and to which of its cues.

    It came from a cue of `from_song`; without `from_cue` from the changeover to that, or with neither from the end.
    """

    at_s: float
    song: str
    to_cue: str
    from_song: str | None
    from_cue: str | None


class Outage(NamedTuple):
    """A port that was gone, and for how long; None where it did not come back."""

    at_s: float
    port: str
    gone_s: float | None


class TrimPlayed(NamedTuple):
    """One of tonight's trims that was moved on the way: its value before the first move and after the last."""

    trim: str
    before: float
    after: float
    unit: str
    moves: int


class Night(NamedTuple):
    """One performance; all times from its first note.

    That was at `began_min` of a clock `ahead_min` ahead of UTC, minutes, if that is known.
    `others` counts what else is worth a look, by kind.
    """

    songs: tuple[SongPlayed, ...]
    changes: tuple[ChangePlayed, ...]
    backs: tuple[Gone, ...]
    outages: tuple[Outage, ...]
    others: Mapping[str, int]
    lasted_s: float | None
    began_min: float | None = None
    trims: tuple[TrimPlayed, ...] = ()
    ahead_min: float | None = None

    @property
    def finish_min(self) -> float | None:
        """When the last song ended, in minutes of the same clock; None if that is not known."""
        return None if self.began_min is None or self.lasted_s is None else self.began_min + self.lasted_s / 60


WORTH = ("too soon", "taken", "restarted", "loop", "program owed")
STEPS = ("changeover", "song", "cue", "over")


def night_of(lines: Sequence[Line], cues: Mapping[str, Sequence[str]]) -> Night | None:
    """What the log of one performance says; None where no song was begun. `cues` are each song's moments in order."""
    first = next((line for line in lines if line.kind == "song"), None)
    if first is None:
        return None
    starts_s = first.at_s
    rest = [line._replace(at_s=line.at_s - starts_s) for line in lines if line.at_s >= starts_s]
    songs = _songs(rest)
    return Night(
        songs=songs,
        changes=_changes(rest),
        backs=tuple(_backs(rest, cues)),
        outages=_outages([line._replace(at_s=line.at_s - starts_s) for line in lines], rest[-1].at_s),
        others={kind: count for kind in WORTH if (count := sum(line.kind == kind for line in lines))},
        lasted_s=max((song.starts_s + song.lasted_s for song in songs if song.lasted_s is not None), default=None),
        began_min=first.clock_min,
        trims=trims_moved(lines),
        ahead_min=first.ahead_min,
    )


def trims_moved(lines: Sequence[Line]) -> tuple[TrimPlayed, ...]:
    """Every trim that was moved, in the order of their first moves."""
    found: dict[str, TrimPlayed] = {}
    for trim in (line.trim for line in lines if line.trim is not None):
        was = found.get(trim.target, TrimPlayed(trim.target, trim.before, trim.after, trim.unit, 0))
        found[trim.target] = was._replace(after=trim.after, moves=was.moves + 1)
    return tuple(found.values())


def performances(lines: Sequence[Line]) -> list[list[Line]]:
    """A log cut where a run began anew; one that was resumed after everything had ended goes on.

    One with hardware never goes on as one without, nor the other way round.
    """
    found: list[list[Line]] = []
    for index, line in enumerate(lines):
        if not found or (
            line.kind == "began" and (line.simulated != found[-1][0].simulated or not _resumes(lines[index + 1 :]))
        ):
            found.append([])
        found[-1].append(line)
    return found


def _resumes(lines: Sequence[Line]) -> bool:
    """Whether what follows a beginning is the engine of the run before, started again."""
    return next((line.kind for line in lines if line.kind in (*STEPS, "restarted", "began")), "") == "restarted"


def _songs(lines: Sequence[Line]) -> tuple[SongPlayed, ...]:
    """Songs in the order they were begun, from their last beginning; one gone back to lasts until left for good."""
    found: dict[str, SongPlayed] = {}
    here: str | None = None
    for line in lines:
        if line.kind not in (*STEPS, "ended"):
            continue
        if here is not None and (line.kind in ("changeover", "over", "ended") or line.song != here):
            found[here] = found[here]._replace(lasted_s=line.at_s - found[here].starts_s)
            here = None
        if line.kind in ("song", "cue") and line.song is not None:
            here = line.song
            if line.kind == "song" or line.song not in found:
                found[line.song] = SongPlayed(line.song, line.at_s, None)
    return tuple(sorted(found.values(), key=lambda song: song.starts_s))


def _changes(lines: Sequence[Line]) -> tuple[ChangePlayed, ...]:
    found = []
    left: tuple[float, str] | None = None
    here: str | None = None
    for line in lines:
        if line.kind in ("changeover", "over") and here is not None and left is None:
            left = (line.at_s, here)
        elif line.kind in ("song", "cue") and line.song is not None:
            if left is not None and line.song != left[1]:
                found.append(ChangePlayed(left[1], line.song, line.at_s - left[0]))
            elif left is None and here is not None and line.song != here and line.kind == "song":
                found.append(ChangePlayed(here, line.song, 0.0))
            left, here = None, line.song
    return tuple(found)


def _backs(lines: Sequence[Line], cues: Mapping[str, Sequence[str]]) -> list[Gone]:
    steps = [line for line in lines if line.kind in STEPS]
    found = []
    for before, after in pairwise(steps):
        if after.kind != "cue" or after.song is None or after.cue is None:
            continue
        in_song = before.kind in ("song", "cue")
        if in_song and before.song == after.song and not _is_before(after.cue, before.cue, cues.get(after.song, ())):
            continue
        from_song = None if before.kind == "over" else before.song
        found.append(Gone(after.at_s, after.song, after.cue, from_song, before.cue if in_song else None))
    return found


def _is_before(cue: str, other: str | None, names: Sequence[str]) -> bool:
    return cue in names and other in names and names.index(cue) < names.index(other)


def _outages(lines: Sequence[Line], ends_s: float) -> tuple[Outage, ...]:
    found: list[Outage] = []
    lost: dict[str, float] = {}
    for line in lines:
        if line.kind == "port lost":
            lost.setdefault(line.say, line.at_s)
        elif line.kind == "port found" and line.say in lost:
            since_s = lost.pop(line.say)
            found.append(Outage(since_s, line.say, line.at_s - since_s))
    found += (Outage(since_s, port, None) for port, since_s in lost.items() if since_s <= ends_s)
    return tuple(sorted(found, key=lambda one: one.at_s))
