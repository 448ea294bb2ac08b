"""The sum: how everything stands at the start of a song and at each of its cues, whichever way one got there."""

from collections.abc import Mapping
from typing import NamedTuple, TypeVar

from showrunner.curves.tables import NO_TRIMS
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Cue, Curve, Song
from showrunner.model.tempo import cues_at_s
from showrunner.state.tonight import on_a_guitar, song_tonight, stand_in_starts
from showrunner.state.transposition import in_tonights_key

V = TypeVar("V")

RESTS = -1
"""Where a value comes from when no moment names it: the rig's rest."""


class Moment(NamedTuple):
    """How everything stands at one moment: the start (number 0) and every cue up to it, summed."""

    number: int
    name: str
    cue: Cue | None
    at_s: float | None
    curves: str | None
    curves_since: int
    targets: Mapping[str, float]
    targets_since: Mapping[str, int]
    controls: Mapping[str, float]
    by_hand: Mapping[str, str]
    ringing: bool


class Piece(NamedTuple):
    """A song on this rig tonight, with its moments.

    `added` is what trims add to each target, in its unit: the moments' values have it in them, the curves' have not.
    """

    slug: str
    song: Song
    rig: Rig
    moments: tuple[Moment, ...]
    added: Mapping[str, float] = NO_TRIMS

    @property
    def driver(self) -> str | None:
        """The string driver's switch on this song's guitar, if it has one."""
        return self.rig.driver_of(self.song.instrument)

    @property
    def first(self) -> int:
        """Index of the moment the song begins at: the first cue where that is at the start, else the start."""
        return 1 if len(self.moments) > 1 and self.moments[1].at_s == 0 else 0

    def curve(self, moment: Moment, control: str) -> Curve | None:
        """The curve of a control that is in force at a moment."""
        return self.song.curves.get(moment.curves, {}).get(control) if moment.curves is not None else None

    def changed_by_hand(self, index: int) -> dict[str, str]:
        """What the hands have to set at a moment as the song is written, where they come from the moment before."""
        before = self.moments[index - 1].by_hand if index else rest_by_hand(self.rig)
        return {name: to for name, to in self.moments[index].by_hand.items() if before.get(name) != to}


def rest_by_hand(rig: Rig) -> dict[str, str]:
    """Where everything set by hand stands between songs, as far as the rig says."""
    return {name: c.rest for name, c in rig.controls.items() if c.by_hand and isinstance(c.rest, str)}


class Rests(NamedTuple):
    """What a rig says everything rests at; the same for all of its songs, so that whoever prepares many asks once."""

    targets: Mapping[str, float]
    since: Mapping[str, int]
    controls: Mapping[str, float]
    by_hand: Mapping[str, str]


def rests_of(rig: Rig) -> Rests:
    """Where everything on a rig rests, as far as it says."""
    targets = {name: target.rest for name, target in rig.targets.items() if target.rest is not None}
    controls = {
        name: float(c.rest) for name, c in rig.controls.items() if not c.by_hand and isinstance(c.rest, int | float)
    }
    return Rests(targets, dict.fromkeys(targets, RESTS), controls, rest_by_hand(rig))


def prepare(slug: str, song: Song, rig: Rig, rests: Rests | None = None) -> Piece:
    """A song on this rig as it is, with the sum at its start and at each of its cues."""
    return Piece(slug, song, rig, tuple(sums(song, rig, rests)))


def prepare_song(book: Book, slug: str, rig: Rig, show: Show | None = None, rests: Rests | None = None) -> Piece:
    """A song of the book with tonight's changes, and stand-ins where the controls rest that they stand in for.

    Where a rig has just one guitar, that is the one it is played on.
    """
    usual = on_a_guitar(book.songs[slug], rig)
    song = in_tonights_key(song_tonight(usual, show, slug), usual, rig)
    starts = stand_in_starts(book, slug, rig, show) if show is not None and slug in show.stand_ins else {}
    if starts:
        start = song.start.model_copy(update={"controls": {**song.start.controls, **starts}})
        song = song.model_copy(update={"start": start})
    return prepare(slug, song, rig, rests)


def prepare_show(book: Book, show: Show, rig: Rig) -> dict[str, Piece]:
    """Every song of a show that the book has, prepared, by slug in the show's order."""
    rests = rests_of(rig)
    return {slug: prepare_song(book, slug, rig, show, rests) for slug in show.songs if slug in book.songs}


def sums(song: Song, rig: Rig, rests: Rests | None = None) -> list[Moment]:
    """The sum at the start of a song and at each of its cues; what a cue leaves alone is the same mapping as before."""
    start, driver, rests = song.start, rig.driver_of(song.instrument), rests or rests_of(rig)
    targets, controls = _with(rests.targets, start.targets), _with(rests.controls, start.controls)
    since, by_hand = _with(rests.since, dict.fromkeys(start.targets, 0)), _with(rests.by_hand, start.by_hand)
    moment = Moment(0, "start", None, 0.0, song.start_set, 0, targets, since, controls, by_hand, False)
    moments = [moment]
    for index, (cue, at_s) in enumerate(zip(song.cues, cues_at_s(song), strict=True), 1):
        by_hand = _with(moment.by_hand, cue.by_hand)
        if cue.stop is not None and cue.stop.driver == "off" and driver is not None and driver not in cue.by_hand:
            by_hand = {**by_hand, driver: "off"}
        moment = Moment(
            number=index,
            name=cue.name,
            cue=cue,
            at_s=at_s,
            curves=moment.curves if cue.curves is None else cue.curves,
            curves_since=moment.curves_since if cue.curves is None else index,
            targets=_with(moment.targets, cue.targets),
            targets_since=_with(moment.targets_since, dict.fromkeys(cue.targets, index)),
            controls=_with(moment.controls, cue.controls),
            by_hand=by_hand,
            ringing=cue.hold or (moment.ringing and cue.stop is None),
        )
        moments.append(moment)
    return moments


def _with(before: Mapping[str, V], more: Mapping[str, V]) -> Mapping[str, V]:
    return {**before, **more} if more else before
