"""What a show's songs cost after one another with each in its own set, and the pins as places and neighbours.

Across a break the players leave the stage, so only what takes longer than the break counts there. The matrix holds what
no order undercuts; what one order costs, with the stage carried through it, is said by `Matrix.really`.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import inf
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show, Slot
from showrunner.planning.carried import Carried
from showrunner.planning.changeover import least_between_s
from showrunner.planning.lineup import Place, line_up
from showrunner.planning.rearrange import before_breaks
from showrunner.planning.setparts import guitars_of, own_pause_s
from showrunner.planning.task import NoOrderError
from showrunner.state.moments import prepare_song


class Matrix(NamedTuple):
    """The least that every changeover there could be takes, in seconds, and the pins as places and neighbours.

    `short` are the seconds of each that its pause does not hold. `parts` is the number of each song's set, `pauses_s`
    what follows each inside it, `breaks_s` what follows its set if the song is its last. `ends` are the songs that end
    a set as written and lead into a break: in the middle one of them takes over the pause of whichever is last now.
    """

    songs: tuple[str, ...]
    cost: tuple[tuple[float, ...], ...]
    fixed: Mapping[int, int]
    after: tuple[tuple[int, int], ...]
    not_after: tuple[tuple[int, int], ...]
    short: tuple[tuple[float, ...], ...]
    parts: tuple[int, ...]
    pauses_s: tuple[float, ...]
    breaks_s: tuple[float, ...]
    ends: frozenset[int]
    carried: Carried

    @property
    def parts_are_apart(self) -> bool:
        """Whether no break costs or holds anything, so that each set can be ordered by itself."""
        places = range(len(self.songs))
        over = (self.cost[a][b] for a in places for b in places if self.parts[a] != self.parts[b])
        held = (self.parts[a] == self.parts[b] for a, b in (*self.after, *self.not_after))
        return all(s in (0, inf) for s in over) and all(held)

    def beside(self, song: int) -> list[int]:
        """The other songs of a song's set."""
        return [other for other, part in enumerate(self.parts) if part == self.parts[song] and other != song]

    def with_pauses(self, after_ends_s: Mapping[int, float]) -> "Matrix":
        """The matrix with what is short where the songs in `ends` are followed by so many seconds inside their sets."""
        has_s = [after_ends_s.get(song, pause_s) for song, pause_s in enumerate(self.pauses_s)]
        short = (
            tuple(
                s if s == inf or self.parts[a] != self.parts[b] else max(0.0, s - has_s[a]) for b, s in enumerate(row)
            )
            for a, row in enumerate(self.cost)
        )
        return self._replace(short=tuple(short))

    def really(self, order: Sequence[int]) -> tuple[float, float]:
        """Seconds that the changeovers of an order take, and seconds that their pauses do not hold."""
        took_s = short_s = 0.0
        parts, ends, needs = self.parts, self.ends, self.carried.needs_s(order)
        last = {parts[song]: song for song in order} if ends else {}
        for a, b, needs_s in zip(order, order[1:], needs, strict=False):
            if parts[a] != parts[b]:
                over_s = max(0.0, needs_s - self.breaks_s[a])
                took_s, short_s = took_s + over_s, short_s + over_s
            else:
                has_s = self.pauses_s[last[parts[a]] if a in ends else a]
                took_s += needs_s
                if needs_s > has_s:
                    short_s += needs_s - has_s
        return took_s, short_s


def matrix_of(book: Book, show: Show, rig: Rig) -> Matrix:
    """The costs and pins of a show's songs, those that the book has, numbered in the show's line."""
    places = [place for place in line_up(show) if place.song in book.songs]
    pieces = [prepare_song(book, place.song, rig, show) for place in places]
    parts, guitars = sorted({place.part for place in places}), guitars_of(pieces)
    following = {a: {a, b} for a, b in pairwise([*parts, -1])}
    leads_on = set(before_breaks(show).values())
    ends = frozenset(number for number, place in enumerate(places) if place.song in leads_on)
    pauses_s = tuple(own_pause_s(place, number in ends) for number, place in enumerate(places))
    kept_s = {place.part: place.pause.seconds for place in places if place.song in leads_on}
    breaks_s = tuple(kept_s.get(place.part, pause_s) for place, pause_s in zip(places, pauses_s, strict=True))
    cost = []
    for a, (place, before) in enumerate(zip(places, pieces, strict=True)):
        row = [
            least_between_s(before, after, guitars) if b.part in following[place.part] and place is not b else inf
            for b, after in zip(places, pieces, strict=True)
        ]
        cost.append(
            tuple(
                s if b.part == place.part or s == inf else max(0.0, s - breaks_s[a])
                for s, b in zip(row, places, strict=True)
            )
        )
    index = {place.song: number for number, place in enumerate(places)}
    slots = [slot for part in show.sets for slot in part.songs if slot.song in index]
    encore = {number: number for number, place in enumerate(places) if place.part >= len(show.sets)}
    after, not_after = _neighbours(places, slots, index)
    matrix = Matrix(
        songs=tuple(index),
        cost=tuple(cost),
        fixed=encore | _fixed(show, slots, index),
        after=after,
        not_after=not_after,
        short=(),
        parts=tuple(place.part for place in places),
        pauses_s=pauses_s,
        breaks_s=breaks_s,
        ends=ends,
        carried=Carried(pieces),
    )
    longest = {end: max((pauses_s[song] for song in matrix.beside(end)), default=0.0) for end in ends}
    return matrix.with_pauses(longest)


def counts_s(before: Place, after: Place, needs_s: float) -> float:
    """What a changeover counts: within a set all of it, over a break what the break does not hold."""
    return needs_s if before.part == after.part else max(0.0, needs_s - before.pause.seconds)


def _fixed(show: Show, slots: Sequence[Slot], index: Mapping[str, int]) -> dict[int, int]:
    """Places of the songs pinned first or last in their set, or here."""
    places: dict[int, int] = {}
    for part in show.sets:
        here = [slot for slot in part.songs if slot.song in index]
        for slot in here:
            ends = {"first": index[here[0].song], "last": index[here[-1].song], "here": index[slot.song]}
            place = ends.get(slot.pin.kind) if slot.pin is not None else None
            if place is not None and places.setdefault(place, index[slot.song]) != index[slot.song]:
                other = slots[places[place]].song
                raise NoOrderError(f'"{other}" and "{slot.song}" are pinned to the same place')
    return places


def _neighbours(
    places: Sequence[Place], slots: Sequence[Slot], index: Mapping[str, int]
) -> tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]:
    """Pairs that must and pairs that must not follow each other; a written segue holds its two songs together."""
    after = [(index[a.song], index[b.song]) for a, b in pairwise(places) if a.pause.kind == "segue"]
    not_after = []
    for slot in slots:
        other = slot.pin.song if slot.pin is not None else None
        if slot.pin is None or other is None or other not in index or other == slot.song:
            continue
        pair = (index[other], index[slot.song])
        if slot.pin.kind == "not after":
            not_after.append(pair)
        elif pair not in after:
            after.append(pair)
    return tuple(after), tuple(not_after)
