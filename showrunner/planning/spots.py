"""The moments of a show that a soundcheck can play: what each lets be heard, how long it and the way to it take."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from showrunner.levels.gain import loudness_lufs
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.handwork import Step, needed_s, steps_to
from showrunner.planning.song_levels import Levels, targets_at
from showrunner.planning.stage import UNKNOWN, Stage, after_playing, at_rest
from showrunner.state.moments import Moment, Piece, prepare_song

HEARD_S = 15.0
"""How long a moment is played in a soundcheck at the most; our own figure, no source."""

LEAST_S = 8.0
"""How long a moment is played at the least, its cue held back by foot, so that a pedal can be swept; our own figure."""

JUMP_S = 2.0
"""Choosing another song or cue by foot; our own figure, no source."""

ASSUMED_LUFS = -18.0
"""Loudness of a song that was not measured, for the soundcheck alone: the alignment level of EBU R 68, as quoted."""

LOUDEST, QUIETEST, TAIL = "loudest", "quietest", "longest tail"

_SECONDS = {"s": 1.0, "ms": 0.001}
_SAME_DB = 0.01


class Spot(NamedTuple):
    """A moment to play from, until the next: how long, and what it lets be heard.

    `whole` says whether it is played until the next comes; `piece` is the song with this moment alone.
    """

    song: str
    number: int
    name: str
    to: str
    seconds: float
    whole: bool
    covers: frozenset[str]
    guitar: str | None
    tuning: str | None
    capo: int
    piece: Piece


class _Heard(NamedTuple):
    """A moment with its level in dB and the longest its sound can ring on, in seconds."""

    piece: Piece
    moment: Moment
    level_db: float
    tail_s: float


def spots(book: Book, show: Show, rig: Rig) -> tuple[Spot, ...]:
    """Every moment of every song of the sets and the encore, in order."""
    songs = [slug for slug in (*show.set_songs, *show.encore) if slug in book.songs]
    heard = [one for slug in songs for one in _heard(prepare_song(book, slug, rig, show))]
    if not heard:
        return ()
    loud, quiet = max(one.level_db for one in heard), min(one.level_db for one in heard)
    tail = max(one.tail_s for one in heard)
    return tuple(_spot(one, loud, quiet, tail) for one in heard)


def hands(plan: Iterable[Spot]) -> Iterator[tuple[Step, ...]]:
    """What hands and feet have to do before each spot of a plan, as those before it leave everything.

    Before the first all is at rest, and no guitar in hand.
    """
    stage: Stage | None = None
    for spot in plan:
        piece = spot.piece
        if stage is None:
            stage = at_rest(piece.rig, piece)._replace(guitar=None, tuning=None)
        yield steps_to(stage, piece)
        stage = after_playing(stage, piece)


def getting_to_s(before: Spot | None, after: Spot, todo: Sequence[Step] | None = None) -> float:
    """Seconds from the end of one spot to the start of another; 0 where one plays straight into the other.

    Before the first, what its guitar, tuning and all else set by hand or foot take. `todo` is what hands and feet have
    to do; without it what the spot before does not say is taken to be set anew.
    """
    if before is None:
        return needed_s(next(hands([after])) if todo is None else todo)
    if before.song == after.song and before.whole and before.number + 1 == after.number:
        return 0.0
    return JUMP_S + needed_s(steps_to(after_playing(UNKNOWN, before.piece), after.piece) if todo is None else todo)


def _heard(piece: Piece) -> Iterator[_Heard]:
    levels, measured = Levels(piece), loudness_lufs(piece.song)
    loudness = ASSUMED_LUFS + piece.song.trim_db if measured is None else measured
    at = [(moment, targets_at(piece, moment)) for moment in piece.moments[piece.first :]]
    found = [(moment, values, levels.at(values, levels.written)) for moment, values in at]
    loudest = max(level_db for _, _, level_db in found)
    for moment, values, level_db in found:
        yield _Heard(piece, moment, loudness + level_db - loudest, _tail_s(piece, moment, values))


def _tail_s(piece: Piece, moment: Moment, values: Mapping[str, float]) -> float:
    """Longest time that a target of the song at this moment can be set to, in seconds; 0 where none is a time."""
    known = {name: [value] for name, value in values.items()}
    for control in piece.song.curves.get(moment.curves or "", {}):
        curve = piece.curve(moment, control)
        for name, move in curve.moves.items() if curve is not None else ():
            known.setdefault(name, []).extend(move.values)
    units = {name: _SECONDS.get(target.unit, 0.0) for name, target in piece.rig.targets.items()}
    return max((units.get(name, 0.0) * max(of) for name, of in known.items()), default=0.0)


def _spot(one: _Heard, loud_db: float, quiet_db: float, tail_s: float) -> Spot:
    piece, moment = one.piece, one.moment
    song = piece.song
    last = moment.number + 1 == len(piece.moments)
    following = None if last else piece.moments[moment.number + 1]
    ends_s = float(song.duration) if following is None else following.at_s
    span = HEARD_S if moment.at_s is None or ends_s is None or ends_s <= moment.at_s else ends_s - moment.at_s
    guitar = piece.rig.instruments.get(song.instrument) if song.instrument is not None else None
    tuning = song.tuning if song.tuning is not None or guitar is None else guitar.home_tuning
    covers = set(_covers(piece, moment))
    if song.instrument is not None:
        covers |= {f"guitar {song.instrument}", f"tuning {tuning} on {song.instrument}"}
    covers |= {LOUDEST} if one.level_db > loud_db - _SAME_DB else set()
    covers |= {QUIETEST} if one.level_db < quiet_db + _SAME_DB else set()
    rings = 0 < tail_s == one.tail_s
    covers |= {TAIL} if rings else set()
    return Spot(
        song=piece.slug,
        number=moment.number,
        name=moment.name,
        to="end" if following is None else following.name,
        seconds=min(max(span, LEAST_S), HEARD_S) + (one.tail_s if rings else 0.0),
        whole=span <= HEARD_S,
        covers=frozenset(covers),
        guitar=song.instrument,
        tuning=tuning,
        capo=song.capo,
        piece=piece._replace(moments=(moment,)),
    )


def _covers(piece: Piece, moment: Moment) -> Iterator[str]:
    """Curve set, controls, targets and states of the string driver that can be heard at a moment."""
    cue = moment.cue if moment.cue is not None else piece.song.start
    named = {*cue.targets}
    controls = {*cue.controls, *cue.by_hand}
    if moment.curves is not None:
        yield f"curves {moment.curves} of {piece.slug}"
    for control in piece.song.curves.get(moment.curves or "", {}):
        curve = piece.curve(moment, control)
        if curve is not None and control in piece.rig.controls:
            controls.add(control)
            named |= curve.moves.keys()
    yield from (f"control {name}" for name in controls if name in piece.rig.controls)
    yield from (f"target {name}" for name in named if name in piece.rig.targets)
    if piece.driver is not None and moment.by_hand.get(piece.driver, "off") != "off":
        yield f"{piece.driver} at {moment.by_hand[piece.driver]}"
