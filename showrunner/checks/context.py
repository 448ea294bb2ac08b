"""What the rules look at: one rig with the songs played on it, and the show where there is one."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from types import MappingProxyType
from typing import NamedTuple

from showrunner.checks.finding import Key
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Curve, Move, Song
from showrunner.planning.lineup import Place, line_up
from showrunner.planning.timing import RunningTime, running_time
from showrunner.state.moments import Moment, Piece, Rests, prepare_song, rests_of

NO_RIG = Rig.model_construct(format=1, title="no rig")


class SystemPorts(NamedTuple):
    """What the system has plugged in, and whether programs can make ports of their own there."""

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    virtual: bool = True


class TargetRow(NamedTuple):
    """One target's row in one control's curve, with the columns that count for it."""

    of_set: str
    control: str
    target: str
    curve: Curve
    move: Move
    travel: tuple[float, ...]
    low: float
    high: float


class Facts(NamedTuple):
    """A prepared song, with what several rules want to know of it."""

    slug: str
    written: Song
    piece: Piece
    rows: tuple[TargetRow, ...]
    naming: tuple[Moment, ...]
    """The moments that set targets themselves."""
    placing: tuple[Moment, ...]
    """The moments that want controls somewhere themselves."""
    gaps: tuple[tuple[Moment, Moment, float], ...]
    """Neighbouring cues that are each stepped to, with the seconds between them, where both have a place."""
    controls: Mapping[str, str | Moment]
    """Every control it wants, with the first curve set that moves it, else the first moment that places it."""
    targets: Mapping[str, TargetRow | Moment]
    """Every target it sends, with the first row that moves it, else the first moment that sets it."""
    show: str | None
    tonight: frozenset[str]
    wanted: Mapping[str, str]

    @property
    def title(self) -> str:
        """The song's title."""
        return self.piece.song.title

    @property
    def first(self) -> Moment:
        """The moment the song begins at."""
        return self.piece.moments[self.piece.first]

    @property
    def last(self) -> Moment:
        """How the song leaves everything."""
        return self.piece.moments[-1]

    def named(self, moment: Moment) -> Mapping[str, float]:
        """The targets that a moment itself sets."""
        return moment.cue.targets if moment.cue is not None else self.piece.song.start.targets

    def placed(self, moment: Moment) -> Mapping[str, float]:
        """The controls that a moment itself wants somewhere, with their travel."""
        return moment.cue.controls if moment.cue is not None else self.piece.song.start.controls

    def place(self, key: Key) -> tuple[str, str, Key]:
        """Kind, slug and key of what a key of the song means: the show's file where tonight changes that field."""
        if self.show is not None and key and key[0] in self.tonight:
            return "show", self.show, ("tonight", self.slug, *key)
        return "song", self.slug, key

    def control_key(self, of_set: str, control: str) -> Key:
        """Where a control's curve stands in the song's file, under the control that the file names."""
        wanted = self.wanted.get(control)
        return ("curves", of_set, wanted if wanted is not None and wanted in self.written.curves[of_set] else control)

    def row_key(self, row: TargetRow) -> Key:
        """Where a row stands in the song's file."""
        return (*self.control_key(row.of_set, row.control), "moves", row.target)

    def cue_key(self, moment: Moment, *inside: str) -> Key:
        """Where a moment stands in the song's file."""
        return ("start", *inside) if moment.number == 0 else ("cues", moment.number - 1, *inside)


class Follow(NamedTuple):
    """A song and the one after it, with what the show says comes between."""

    before: Facts
    after: Facts
    place: Place


@dataclass(frozen=True)
class Context:
    """One rig with the songs to be checked on it; with a show, its songs as they are tonight and in its order."""

    book: Book
    rig_slug: str
    rig: Rig
    songs: tuple[Facts, ...]
    show_slug: str | None = None
    show: Show | None = None
    order: tuple[Facts, ...] = ()
    follows: tuple[Follow, ...] = ()
    ports: SystemPorts | None = None
    rules: frozenset[str] = frozenset()
    fired: set[tuple[str, str]] = field(default_factory=set)
    """(song, rule) of every finding so far; rules run in their order, so a later one can ask."""

    @property
    def usual_rig(self) -> Rig | None:
        """The book's usual rig, where that is another than this."""
        usual = self.book.rig_of()
        return self.book.rigs.get(usual) if usual is not None and usual != self.rig_slug else None

    @cached_property
    def time(self) -> RunningTime | None:
        """When the show ends, with changeovers as long as they take on this rig; None without songs to play."""
        if self.show is None or not self.order:
            return None
        return running_time(self.book, self.show, rig=self.rig)

    def carriers(self) -> Mapping[str, frozenset[str]]:
        """The guitars that each control lives on, for those that live on one."""
        found: defaultdict[str, set[str]] = defaultdict(set)
        for guitar, instrument in self.rig.instruments.items():
            for control in instrument.carries:
                found[control].add(guitar)
        return MappingProxyType({control: frozenset(guitars) for control, guitars in found.items()})


def facts_of(
    slug: str, book: Book, rig: Rig, show_slug: str | None = None, show: Show | None = None, rests: Rests | None = None
) -> Facts:
    """A song of the book, prepared on a rig, with its rows."""
    piece = prepare_song(book, slug, rig, show, rests)
    start, moments, curves = piece.song.start, piece.moments, piece.song.curves
    rows = tuple(_rows(piece))
    naming = tuple(m for m in moments if (start.targets if m.cue is None else m.cue.targets))
    placing = tuple(m for m in moments if (start.controls if m.cue is None else m.cue.controls))
    targets: dict[str, TargetRow | Moment] = {row.target: row for row in reversed(rows)}
    for moment in naming:
        for name in start.targets if moment.cue is None else moment.cue.targets:
            targets.setdefault(name, moment)
    controls: dict[str, str | Moment] = {name: of_set for of_set in reversed(tuple(curves)) for name in curves[of_set]}
    for moment in placing:
        for name in start.controls if moment.cue is None else moment.cue.controls:
            controls.setdefault(name, moment)
    stand_ins = show.stand_ins.get(slug) if show is not None else None
    changes = show.tonight.get(slug) if show is not None else None
    return Facts(
        slug,
        book.songs[slug],
        piece,
        rows,
        naming,
        placing,
        tuple(_gaps(piece)),
        controls,
        targets,
        show_slug,
        frozenset(changes.model_fields_set) if changes is not None else frozenset(),
        {used: wanted for wanted, used in stand_ins.items()} if stand_ins else {},
    )


def song_context(book: Book, rig_slug: str, songs: Collection[str] | None = None) -> Context:
    """Every song of the book, or those that are named, on one rig, in the order of their slugs."""
    rig = book.rigs.get(rig_slug)
    if rig is None:
        return Context(book, rig_slug, NO_RIG, ())
    rests = rests_of(rig)
    slugs = sorted(book.songs if songs is None else songs)
    return Context(book, rig_slug, rig, tuple(facts_of(slug, book, rig, rests=rests) for slug in slugs))


def show_context(book: Book, show_slug: str, rig_slug: str) -> Context:
    """A show's songs as they are tonight, on one rig, in the show's order."""
    show, rig = book.shows[show_slug], book.rigs.get(rig_slug)
    if rig is None:
        return Context(book, rig_slug, NO_RIG, (), show_slug, show)
    rests = rests_of(rig)
    songs = {slug: facts_of(slug, book, rig, show_slug, show, rests) for slug in show.songs if slug in book.songs}
    places = line_up(show)
    order = tuple(songs[place.song] for place in places if place.song in songs)
    follows = tuple(
        Follow(songs[place.song], songs[following.song], place)
        for place, following in pairwise(places)
        if place.song in songs and following.song in songs
    )
    return Context(book, rig_slug, rig, tuple(songs.values()), show_slug, show, order, follows)


def _gaps(piece: Piece) -> Iterator[tuple[Moment, Moment, float]]:
    for before, after in pairwise(piece.moments[max(piece.first, 1) :]):
        if before.at_s is not None and after.at_s is not None and before.cue is not None and not before.cue.open:
            yield before, after, after.at_s - before.at_s


def _rows(piece: Piece) -> Iterator[TargetRow]:
    for of_set, curves in piece.song.curves.items():
        for control, curve in curves.items():
            columns = curve.travel
            for target, move in curve.moves.items():
                values, own = move.values, move.travel
                low, high = min(values), max(values)
                yield TargetRow(of_set, control, target, curve, move, columns if own is None else own, low, high)
