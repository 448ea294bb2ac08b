"""When the show ends: songs, pauses, sets and encore against the slot and the curfew."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import zip_longest
from math import sqrt
from types import MappingProxyType
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.planning.changeover import changeover_times
from showrunner.planning.evidence import Length, expected_length
from showrunner.planning.lineup import WALK_OFF_S, Pause, Place, line_up

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

    `expected_s` from the set's first note to its last, `over_s` against the set's own slot, None without one.
    """

    title: str
    songs: tuple[SongTime, ...]
    number: int
    expected_s: float
    slot_s: float | None = None

    @property
    def over_s(self) -> float | None:
        """Seconds over the set's slot, negative with time to spare."""
        return None if self.slot_s is None else self.expected_s - self.slot_s

    @property
    def drop(self) -> tuple[str, ...]:
        """The optional songs to leave out so that the set fits its slot."""
        return () if self.over_s is None else what_to_drop(self.songs, self.over_s)


class RunningTime(NamedTuple):
    """When the show ends.

    From the first note to the last: `planned_s` as written, `expected_s` on the night, `spread_s` its standard
    deviation. `starts`, `finish` and `curfew` in minutes after the midnight that starts the date, None if not known.
    `over_s` against the tighter of slot and curfew, negative with time to spare, None without a limit; the slot has to
    hold the walk off as well. `early_s` is what is missing of ending three minutes early. `drop` is what to leave out
    for that and for the slots of single sets, and `missing` the songs that the book does not have.
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

    @property
    def is_over(self) -> bool:
        """Whether the show is over its slot or the curfew, or a set over its own slot."""
        return any(over_s is not None and over_s > 0 for over_s in (self.over_s, *(part.over_s for part in self.sets)))


def running_time(
    book: Book,
    show: Show,
    *,
    played: Mapping[str, Sequence[float]] = NOTHING,
    needs: Mapping[tuple[str, str], float] | None = None,
) -> RunningTime:
    """The show's running time; `played` seconds by song from runs and takes.

    A pause lasts as long as the changeover in it, where that takes longer; `needs` are their seconds by the songs
    before and after, worked out on the show's rig if left out.
    """
    if needs is None:
        needs = changeover_times(book, show, rig) if (rig := book.rigs.get(book.rig_of(show) or "")) else {}
    places = line_up(show)
    known = [place for place in places if place.song in book.songs]
    lengths = {place.song: song_length(book, show, place.song, played.get(place.song, ())) for place in known}
    songs = [
        SongTime(
            song=place.song,
            starts_s=starts_s,
            duration_s=written_length(book, show, place.song),
            expected_s=length.expected_s,
            rests_on=length.rests_on,
            pause=place.pause,
            pause_s=pause_s,
            optional=place.optional,
        )
        for place, length, starts_s, pause_s in _in_time(known, lengths, needs)
    ]
    expected_s = songs[-1].starts_s + songs[-1].expected_s if songs else 0.0
    venue = book.venues.get(show.venue) if show.venue is not None else None
    curfew = venue.curfew if venue is not None else None
    over_s = _over(show, curfew, expected_s)
    early_s = None if over_s is None else over_s + FINISH_EARLY_S
    sets = _by_set(show, known, songs)
    return RunningTime(
        planned_s=sum(song.duration_s for song in songs) + sum(song.pause.seconds for song in songs[:-1]),
        expected_s=expected_s,
        spread_s=_spread_s(songs, lengths),
        slot_s=show.slot,
        starts=show.start,
        finish=None if show.start is None else show.start + expected_s / 60,
        curfew=curfew,
        over_s=over_s,
        early_s=early_s,
        sets=sets,
        drop=_drop(sets, songs, early_s),
        missing=tuple(place.song for place in places if place.song not in book.songs),
    )


def _in_time(
    places: Sequence[Place], lengths: Mapping[str, Length], needs: Mapping[tuple[str, str], float]
) -> Iterator[tuple[Place, Length, float, float]]:
    """Each song with its length, when it starts, and how long what follows it takes; nothing follows the last."""
    at_s = 0.0
    for place, following in zip_longest(places, places[1:]):
        length, pause_s = lengths[place.song], 0.0
        if following is not None:
            pause_s = max(place.pause.seconds, needs.get((place.song, following.song), 0.0))
        yield place, length, at_s, pause_s
        at_s += length.expected_s + pause_s


def _spread_s(songs: Iterable[SongTime], lengths: Mapping[str, Length]) -> float:
    return sqrt(sum(lengths[song.song].spread_s ** 2 + (song.pause_s * PAUSE_SPREAD) ** 2 for song in songs))


def written_length(book: Book, show: Show, song: str) -> float:
    """Seconds a song is written to last tonight."""
    tonight = show.tonight.get(song)
    return float(book.songs[song].duration if tonight is None or tonight.duration is None else tonight.duration)


def song_length(book: Book, show: Show, song: str, played_s: Sequence[float]) -> Length:
    """A song's expected length tonight, from its written duration and what was played."""
    return expected_length(float(book.songs[song].duration), played_s, written_length(book, show, song))


def what_to_drop(songs: Sequence[SongTime], over_s: float) -> tuple[str, ...]:
    """The optional songs to leave out; a dropped song takes the pause after it along."""
    return fewest([(song.song, song.expected_s + song.pause_s) for song in songs if song.optional], over_s)


def fewest(optional: Sequence[tuple[str, float]], over_s: float) -> tuple[str, ...]:
    """The fewest songs that win back `over_s`, of those the ones that lose least; all if that's not enough.

    `optional` is each song with the seconds it saves. Of equals, the later in the show goes.
    """
    if over_s <= 0 or not optional:
        return ()
    best: dict[tuple[int, int], tuple[str, ...]] = {(0, 0): ()}
    for name, saves_s in reversed(optional):
        for (count, saved_s), names in list(best.items()):
            best.setdefault((count + 1, saved_s + int(saves_s)), (name, *names))
    enough = [key for key in best if key[1] >= over_s]
    return best[min(enough)] if enough else tuple(name for name, _ in optional)


def _over(show: Show, curfew: int | None, expected_s: float) -> float | None:
    over = []
    if show.slot is not None:
        over.append(expected_s + WALK_OFF_S - show.slot)
    if curfew is not None and show.start is not None:
        over.append(show.start * 60 + expected_s - curfew * 60)
    return max(over) if over else None


def _drop(sets: Sequence[SetTime], songs: Sequence[SongTime], early_s: float | None) -> tuple[str, ...]:
    """What single sets have to lose, then what the show still has to."""
    gone = {song for part in sets for song in part.drop}
    if early_s is not None:
        saved_s = sum(song.expected_s + song.pause_s for song in songs if song.song in gone)
        gone |= set(what_to_drop([song for song in songs if song.song not in gone], early_s - saved_s))
    return tuple(song.song for song in songs if song.song in gone)


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
