"""A show's songs as parts of sets: what they cost after one another, how long they make a set, and what holds them."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.carried import Carried
from showrunner.planning.changeover import least_between_s
from showrunner.planning.lineup import APPLAUSE_S, BREAK_S, Place, line_up
from showrunner.planning.rearrange import before_breaks
from showrunner.planning.task import Pairs
from showrunner.planning.timing import song_length
from showrunner.state.moments import Piece, prepare_song

KEEPS_S = 60.0
"""How far a set's length may move where songs move between sets; our own figure, no source."""

Seconds = tuple[tuple[float, ...], ...]


class Parts(NamedTuple):
    """Songs by number as written, and the sets that have any, by number.

    Costs are what no order undercuts; what one order costs, with the stage carried through it, is said by `really`.
    `cost[a][b]` within a set and `short` what the pause there lacks, `over[k][a][b]` from the last song of set k to the
    first of the next, `end[a]` from the last of all to the encore, whose own changeovers take `encore_s` and lack
    `encore_short_s`; all in seconds. A set's length is what `lasts_ms` its songs come to, with what follows them, less
    `pause_ms` of its last; it has to be between `least_ms` and `most_ms`.
    `opens` and `closes` are songs pinned first and last in a set, `here` songs pinned to a set and a place in it.
    `tied` follow each other within a set, `tied_over` over the break after set k, `apart` never.
    """

    songs: tuple[str, ...]
    sets: tuple[int, ...]
    written: tuple[tuple[int, ...], ...]
    cost: Seconds
    short: Seconds
    over: tuple[Seconds, ...]
    end: tuple[float, ...]
    encore_s: float
    encore_short_s: float
    lasts_ms: tuple[int, ...]
    pause_ms: tuple[int, ...]
    least_ms: tuple[int, ...]
    most_ms: tuple[int, ...]
    opens: Mapping[int, int]
    closes: Mapping[int, int]
    here: Mapping[int, tuple[int, int]]
    tied: Pairs
    tied_over: tuple[tuple[int, int, int], ...]
    apart: Pairs
    encore_pauses_s: tuple[float, ...]
    breaks_s: tuple[float, ...]
    carried: Carried

    def length_ms(self, songs: Sequence[int]) -> int:
        """How long a set of these songs lasts, with the pauses as written."""
        return sum(self.lasts_ms[song] for song in songs) - self.pause_ms[songs[-1]]

    def really(self, sets: Sequence[Sequence[int]]) -> tuple[float, float]:
        """Seconds that the changeovers of these sets and the encore take, and seconds that pauses do not hold."""
        encore = range(len(self.songs), len(self.songs) + len(self.encore_pauses_s))
        pauses_s: list[tuple[float, bool]] = []
        for songs, break_s in zip(sets, self.breaks_s, strict=True):
            pauses_s += [*((self.pause_ms[song] / 1000, True) for song in songs[:-1]), (break_s, False)]
        pauses_s += [(pause_s, True) for pause_s in self.encore_pauses_s]
        took_s = short_s = 0.0
        needs = self.carried.needs_s([*(song for songs in sets for song in songs), *encore])
        for needs_s, (has_s, on_stage) in zip(needs, pauses_s, strict=False):
            over_s = max(0.0, needs_s - has_s)
            took_s, short_s = took_s + (needs_s if on_stage else over_s), short_s + over_s
        return took_s, short_s


def parts_of(book: Book, show: Show, rig: Rig, played: Mapping[str, Sequence[float]]) -> Parts:
    """The parts of a show that has songs in its sets; those that the book does not have are left out.

    A set keeps its length to a minute either way; with a slot of its own it may grow up to that, and one that is over
    its slot has to shrink into it.
    """
    line = _line_of(book, show)
    pieces = {place.song: prepare_song(book, place.song, rig, show) for place in (*line.places, *line.encore)}
    pauses = line.pauses_s
    lengths = [song_length(book, show, place.song, played.get(place.song, ())).expected_s for place in line.places]
    tied, tied_over = _ties(line)
    opens, closes, here, after, apart = _pins(show, line)
    parts = Parts(
        songs=tuple(line.numbers),
        sets=line.sets,
        written=line.written,
        **_costs(line, pieces)._asdict(),
        lasts_ms=tuple(round(1000 * (s + pause)) for s, pause in zip(lengths, pauses, strict=True)),
        pause_ms=tuple(round(1000 * pause) for pause in pauses),
        least_ms=(),
        most_ms=(),
        opens=opens,
        closes=closes,
        here=here,
        tied=(*tied, *after),
        tied_over=tied_over,
        apart=apart,
        encore_pauses_s=tuple(place.pause.seconds for place in line.encore),
        breaks_s=tuple(line.breaks_s),
        carried=Carried([pieces[place.song] for place in (*line.places, *line.encore)]),
    )
    bounds = [_bounds(parts, show, number) for number in range(len(line.sets))]
    return parts._replace(least_ms=tuple(least for least, _ in bounds), most_ms=tuple(most for _, most in bounds))


class _Line(NamedTuple):
    """Songs of the sets in a line, those of the encore after them, and which numbers stand in each set that has any.

    `ends` lead into a break as written, `lacking_s` has the longest pause there may be for each set with songs that the
    book lacks.
    """

    places: tuple[Place, ...]
    encore: tuple[Place, ...]
    numbers: Mapping[str, int]
    sets: tuple[int, ...]
    written: tuple[tuple[int, ...], ...]
    ends: frozenset[str]
    lacking_s: Mapping[int, float]

    @property
    def breaks_s(self) -> list[float]:
        """What is written after each set, and the most it may be where a song that the book lacks may stand there."""
        return [
            self.lacking_s.get(part, self.places[songs[-1]].pause.seconds)
            for part, songs in zip(self.sets, self.written, strict=True)
        ]

    @property
    def pauses_s(self) -> list[float]:
        """What follows each song inside its set."""
        return [own_pause_s(place, place.song in self.ends) for place in self.places]


def _line_of(book: Book, show: Show) -> _Line:
    there = [place for place in line_up(show) if place.song in book.songs]
    places = tuple(place for place in there if place.part < len(show.sets))
    encore = tuple(place for place in there if place.part >= len(show.sets))
    index = {place.song: number for number, place in enumerate(places)}
    sets = tuple(sorted({place.part for place in places}))
    written = tuple(tuple(index[place.song] for place in places if place.part == part) for part in sets)
    thens = [float(slot.then.seconds) for part in show.sets for slot in part.songs if slot.then is not None]
    lacking_s = {
        number: max([BREAK_S, *thens])
        for number, part in enumerate(show.sets)
        if any(slot.song not in book.songs for slot in part.songs)
    }
    return _Line(places, encore, index, sets, written, frozenset(before_breaks(show).values()), lacking_s)


class _Costs(NamedTuple):
    """What songs cost after one another, as in `Parts`."""

    cost: Seconds
    short: Seconds
    over: tuple[Seconds, ...]
    end: tuple[float, ...]
    encore_s: float
    encore_short_s: float


def _costs(line: _Line, pieces: Mapping[str, Piece]) -> _Costs:
    guitars, breaks, encore = guitars_of(pieces.values()), line.breaks_s, line.encore

    def least_s(a: str, b: str) -> float:
        return least_between_s(pieces[a], pieces[b], guitars)

    needs = tuple(tuple(least_s(a, b) if a != b else 0.0 for b in line.numbers) for a in line.numbers)
    to_encore = [least_s(song, encore[0].song) if encore else 0.0 for song in line.numbers]
    within_encore = [least_s(a.song, b.song) for a, b in pairwise(encore)]
    return _Costs(
        cost=needs,
        short=tuple(tuple(max(0.0, s - has) for s in row) for row, has in zip(needs, line.pauses_s, strict=True)),
        over=tuple(tuple(tuple(max(0.0, s - has) for s in row) for row in needs) for has in breaks[:-1]),
        end=tuple(max(0.0, s - breaks[-1]) if encore else 0.0 for s in to_encore),
        encore_s=sum(within_encore),
        encore_short_s=sum(max(0.0, s - a.pause.seconds) for s, a in zip(within_encore, encore, strict=False)),
    )


def guitars_of(pieces: Iterable[Piece]) -> frozenset[str | None]:
    """What can be in hand for a song that names no guitar: those that others name, or none yet."""
    return frozenset({None, *(piece.song.instrument for piece in pieces)})


def own_pause_s(place: Place, before_break: bool) -> float:
    """What follows a song inside a set: what is written, but not what is written for the break after it."""
    return APPLAUSE_S if place.then is None or before_break else float(place.then.seconds)


def weighed(cost: Seconds, short: Seconds, of_time: float, of_short: float) -> Seconds:
    """Both costs as one."""
    if not of_short:
        return cost
    return tuple(
        tuple(of_time * c + of_short * s for c, s in zip(*rows, strict=True)) for rows in zip(cost, short, strict=True)
    )


def weighed_parts(parts: Parts, of_time: float, of_short: float) -> Parts:
    """The parts with both costs as one; what counts over a break is what is short there."""
    both = of_time + of_short
    return parts._replace(
        cost=weighed(parts.cost, parts.short, of_time, of_short),
        over=tuple(tuple(tuple(both * s for s in row) for row in rows) for rows in parts.over),
        end=tuple(both * s for s in parts.end),
        encore_s=of_time * parts.encore_s + of_short * parts.encore_short_s,
    )


def _bounds(parts: Parts, show: Show, number: int) -> tuple[int, int]:
    length, slot, keeps = parts.length_ms(parts.written[number]), show.sets[parts.sets[number]].slot, 1000 * KEEPS_S
    if slot is None:
        return round(length - keeps), round(length + keeps)
    return (0 if length > 1000 * slot else round(length - keeps)), round(1000 * slot)


def _ties(line: _Line) -> tuple[Pairs, tuple[tuple[int, int, int], ...]]:
    """Pairs held together by a segue, within a set and over a break."""
    segues = [(a, b) for a, b in pairwise(line.places) if a.pause.kind == "segue"]
    tied = [(line.numbers[a.song], line.numbers[b.song]) for a, b in segues if a.part == b.part]
    over = [
        (line.sets.index(a.part), line.numbers[a.song], line.numbers[b.song]) for a, b in segues if a.part != b.part
    ]
    return tied, tuple(over)


def _pins(
    show: Show, line: _Line
) -> tuple[dict[int, int], dict[int, int], dict[int, tuple[int, int]], list[tuple[int, int]], list[tuple[int, int]]]:
    opens: dict[int, int] = {}
    closes: dict[int, int] = {}
    here: dict[int, tuple[int, int]] = {}
    after: list[tuple[int, int]] = []
    apart: list[tuple[int, int]] = []
    for number, part in enumerate(line.sets):
        for slot in show.sets[part].songs:
            if slot.pin is None or slot.song not in line.numbers:
                continue
            song, other = line.numbers[slot.song], line.numbers.get(slot.pin.song or "")
            if slot.pin.kind == "first":
                opens[song] = number
            elif slot.pin.kind == "last":
                closes[song] = number
            elif slot.pin.kind == "here":
                here[song] = (number, list(line.written[number]).index(song))
            elif other is not None and other != song:
                (after if slot.pin.kind == "after" else apart).append((other, song))
    return opens, closes, here, after, apart
