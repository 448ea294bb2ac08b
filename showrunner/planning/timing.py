"""When the show ends: songs, pauses, sets and encore against the slot and the curfew."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import pairwise
from math import sqrt
from types import MappingProxyType
from typing import Literal, NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.carried import Carried
from showrunner.planning.dropping import Drop, Droppable, Left, Reaches, fewest, what_to_drop
from showrunner.planning.evidence import Length, expected_length
from showrunner.planning.lineup import WALK_OFF_S, Pause, Place, line_up
from showrunner.planning.rearrange import without
from showrunner.state.moments import prepare_song

FINISH_EARLY_S = 180.0
"""How long before the limit a show should end; common practice, no source."""

PAUSE_SPREAD = 0.25
"""Standard deviation of a pause as a share of it; our own figure, no source."""

NOTHING: Mapping[str, Sequence[float]] = MappingProxyType({})


class SongTime(NamedTuple):
    """One song in the show's time: seconds from the first note, and what it rests on."""

    song: str
    starts_s: float
    duration_s: float
    expected_s: float
    rests_on: int
    pause: Pause
    pause_s: float
    optional: bool


class SetTime(NamedTuple):
    """A set, or the encore, with its songs: `number` counts the show's sets from 0, the encore after them.

    `expected_s` from the set's first note to its last, `over_s` against the set's own slot, None without one. `drop`
    are the fewest optional songs to leave out so that it fits its slot.
    """

    title: str
    songs: tuple[SongTime, ...]
    number: int
    expected_s: float
    slot_s: float | None = None
    drop: tuple[str, ...] = ()

    @property
    def over_s(self) -> float | None:
        """Seconds over the set's slot, negative with time to spare."""
        return None if self.slot_s is None else self.expected_s - self.slot_s


class RunningTime(NamedTuple):
    """When the show ends.

    From the first note to the last: `planned_s` as written, `expected_s` on the night, `spread_s` its standard
    deviation. `starts`, `finish` and `curfew` in minutes after the midnight that starts the date, None if not known.
    `over_s` against the tighter of slot and curfew, negative with time to spare, None without a limit; the slot has to
    hold the walk off as well. `early_s` is what is missing of ending three minutes early. `drop` is what to leave out
    for that and for the slots of single sets, `drop_reaches` what that comes to, and `missing` the songs that the book
    does not have.
    """

    planned_s: float
    expected_s: float
    spread_s: float
    slot_s: float | None
    starts: int | None
    finish: float | None
    curfew: int | None
    over_s: float | None
    early_s: float | None
    sets: tuple[SetTime, ...]
    drop: tuple[str, ...]
    missing: tuple[str, ...]
    drop_reaches: Reaches = "early"

    @property
    def is_over(self) -> bool:
        """Whether the show is over its slot or the curfew, or a set over its own slot."""
        return any(over_s is not None and over_s > 0 for over_s in (self.over_s, *(part.over_s for part in self.sets)))

    @property
    def limit(self) -> Literal["slot", "curfew"] | None:
        """The tighter of slot and curfew, None without either."""
        slot_s = None if self.slot_s is None else self.expected_s + WALK_OFF_S - self.slot_s
        return None if self.over_s is None else "slot" if slot_s == self.over_s else "curfew"

    @property
    def optional(self) -> tuple[str, ...]:
        """The songs that may be left out, in the show's order."""
        return tuple(song.song for part in self.sets for song in part.songs if song.optional)


def running_time(
    book: Book,
    show: Show,
    *,
    played: Mapping[str, Sequence[float]] = NOTHING,
    rig: Rig | None = None,
) -> RunningTime:
    """The show's running time; `played` seconds by song from runs and takes.

    A pause lasts as long as the changeover in it, where that takes longer, on the rig given, else on the show's own.
    """
    night = _Night(book, show, played, rig if rig is not None else book.rigs.get(book.rig_of(show) or ""))
    songs = night.songs(show)
    sets = night.sets(show, songs)
    expected_s = _ends_s(songs)
    over_s = night.over_s(expected_s)
    drop, sets = night.drops(songs, sets)
    return RunningTime(
        planned_s=sum(song.duration_s for song in songs) + sum(song.pause.seconds for song in songs[:-1]),
        expected_s=expected_s,
        spread_s=_spread_s(songs, night.lengths),
        slot_s=show.slot,
        starts=show.start,
        finish=None if show.start is None else show.start + expected_s / 60,
        curfew=night.curfew,
        over_s=over_s,
        early_s=None if over_s is None else over_s + FINISH_EARLY_S,
        sets=sets,
        drop=drop.songs,
        missing=tuple(place.song for place in line_up(show) if place.song not in book.songs),
        drop_reaches=drop.reaches,
    )


class _Night:
    """A show's songs in time, with all of them or without some; what is the same for each is worked out once."""

    def __init__(self, book: Book, show: Show, played: Mapping[str, Sequence[float]], rig: Rig | None) -> None:
        self.book, self.show = book, show
        known = [place.song for place in line_up(show) if place.song in book.songs]
        self.lengths = {song: song_length(book, show, song, played.get(song, ())) for song in known}
        self.numbers = {song: number for number, song in enumerate(known)}
        self.carried = None if rig is None else Carried([prepare_song(book, song, rig, show) for song in known])
        venue = book.venues.get(show.venue) if show.venue is not None else None
        self.curfew = venue.curfew if venue is not None else None

    def songs(self, show: Show) -> list[SongTime]:
        """The songs of the show, or of what is left of it, in order."""
        places, at_s, found = self._places(show), 0.0, list[SongTime]()
        order = [self.numbers[place.song] for place in places]
        needs = [0.0] * len(order) if self.carried is None else [*self.carried.needs_s(order), 0.0]
        for number, (place, needs_s) in enumerate(zip(places, needs, strict=False), 1):
            length = self.lengths[place.song]
            pause_s = max(place.pause.seconds, needs_s) if number < len(places) else 0.0
            found.append(
                SongTime(
                    song=place.song,
                    starts_s=at_s,
                    duration_s=written_length(self.book, self.show, place.song),
                    expected_s=length.expected_s,
                    rests_on=length.rests_on,
                    pause=place.pause,
                    pause_s=pause_s,
                    optional=place.optional,
                )
            )
            at_s += length.expected_s + pause_s
        return found

    def sets(self, show: Show, songs: Sequence[SongTime]) -> tuple[SetTime, ...]:
        """The sets of the show, or of what is left of it, and the encore, with their songs."""
        return _by_set(show, self._places(show), songs)

    def over_s(self, expected_s: float) -> float | None:
        """Seconds over the tighter of slot and curfew of a show that takes so long."""
        return _over(self.show, self.curfew, expected_s)

    def drops(self, songs: Sequence[SongTime], sets: Sequence[SetTime]) -> tuple[Drop, tuple[SetTime, ...]]:
        """What to leave out for the show and its sets, and the sets with what to leave out for each alone."""
        longer_s = sum(song.pause_s - song.pause.seconds for song in songs[:-1])
        before = {b.song: a.pause_s for a, b in pairwise(songs)}
        optional = [
            Droppable(
                song.song,
                part.number,
                song.expected_s + song.pause_s,
                song.expected_s + before.get(song.song, 0.0) + song.pause_s + longer_s,
            )
            for part in sets
            for song in part.songs
            if song.optional
        ]
        drop = what_to_drop(optional, self.left)
        return drop, tuple(part._replace(drop=self._drop_of(part, optional, drop)) for part in sets)

    def left(self, gone: Collection[str]) -> Left:
        """How far over the show and its sets are without some songs."""
        show = without(self.show, gone) if gone else self.show
        songs = self.songs(show)
        over_s = self.over_s(_ends_s(songs))
        sets = {part.number: part.over_s for part in self.sets(show, songs) if part.over_s is not None}
        return Left(over_s, None if over_s is None else over_s + FINISH_EARLY_S, sets)

    def _drop_of(self, part: SetTime, optional: Sequence[Droppable], drop: Drop) -> tuple[str, ...]:
        """What a set alone has to lose: of what the show loses anyhow, where that is as few."""
        if part.over_s is None or part.over_s <= 0:
            return ()

        def over_s(gone: Collection[str]) -> float | None:
            return self.left(gone).sets.get(part.number)

        own = [one for one in optional if one.part == part.number]
        alone, too = fewest(own, over_s), fewest([one for one in own if one.song in drop.songs], over_s)
        chosen = too if len(too) == len(alone) and (over_s(too) or 0.0) <= 0 else alone
        return tuple(one.song for one in own if one.song in chosen)

    def _places(self, show: Show) -> list[Place]:
        return [place for place in line_up(show) if place.song in self.book.songs]


def _ends_s(songs: Sequence[SongTime]) -> float:
    return songs[-1].starts_s + songs[-1].expected_s if songs else 0.0


def _spread_s(songs: Iterable[SongTime], lengths: Mapping[str, Length]) -> float:
    return sqrt(sum(lengths[song.song].spread_s ** 2 + (song.pause_s * PAUSE_SPREAD) ** 2 for song in songs))


def written_length(book: Book, show: Show, song: str) -> float:
    """Seconds a song is written to last tonight."""
    tonight = show.tonight.get(song)
    return float(book.songs[song].duration if tonight is None or tonight.duration is None else tonight.duration)


def song_length(book: Book, show: Show, song: str, played_s: Sequence[float]) -> Length:
    """A song's expected length tonight, from its written duration and what was played."""
    return expected_length(float(book.songs[song].duration), played_s, written_length(book, show, song))


def _over(show: Show, curfew: int | None, expected_s: float) -> float | None:
    over = []
    if show.slot is not None:
        over.append(expected_s + WALK_OFF_S - show.slot)
    if curfew is not None and show.start is not None:
        over.append(show.start * 60 + expected_s - curfew * 60)
    return max(over) if over else None


def _by_set(show: Show, places: Sequence[Place], songs: Sequence[SongTime]) -> tuple[SetTime, ...]:
    parts: dict[int, list[SongTime]] = {}
    titles: dict[int, str] = {}
    for place, song in zip(places, songs, strict=True):
        parts.setdefault(place.part, []).append(song)
        titles[place.part] = place.title
    slots = dict(enumerate(part.slot for part in show.sets))
    return tuple(
        SetTime(titles[part], tuple(of_part), part, _lasts_s(of_part), slots.get(part))
        for part, of_part in parts.items()
    )


def _lasts_s(songs: Sequence[SongTime]) -> float:
    return sum(song.expected_s for song in songs) + sum(song.pause_s for song in songs[:-1])
