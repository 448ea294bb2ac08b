"""What there is to rehearse, how it went until now, and how the player wants it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, NamedTuple, TypeVar

from textual.message import Message

from showrunner.model.cells import fit
from showrunner.model.library import Book, title_of
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.planning.practice import Go, Review, Spot, go_of, to_practise
from showrunner.planning.practice_words import (
    ALL_CLEAN,
    CLEAN,
    NOBODY,
    NOT_CLEAN,
    UNHEARD,
    course_of,
    place_of,
    practise_next,
)
from showrunner.planning.rehearsals import Wanted
from showrunner.takes.reviewing import Kept
from showrunner.takes.shelved import Practised
from showrunner.tui.widgets.course import course

T = TypeVar("T")
TIMES: tuple[int | None, ...] = (1, 2, 3, 5, 10, None)
CHANGE_TIMES = 5
"""How often a changeover is offered to be played, since one alone is hardly practice; our own figure."""
DRAWN = 8
"""So many of the latest takes are drawn in the list."""
CHART_ROWS = 5
ONLY_FOR_OTHERS = {"song": (), "changeover": ("start_at", "stop_at"), "show": ("start_at", "stop_at", "times")}
"""What can't be chosen of a kind of thing: only a song is played from cue to cue, and a whole show once."""


class TakesRead(Message):
    """All takes have been read."""


class Choice(NamedTuple):
    """One thing to rehearse: a whole show, one of its changeovers by the songs on both sides, or a song."""

    kind: Literal["show", "changeover", "song"]
    slug: str
    before: str | None = None

    def title(self, book: Book) -> str:
        """What it is called."""
        if self.kind == "show":
            return "the whole show"
        into = title_of(book.songs, self.slug)
        return into if self.kind == "song" else f"  into {into}"

    def goes(self, found: Practised) -> list[Go]:
        """How each take of it went, oldest first."""
        goes = []
        for one in found.kept:
            review = found.reviews.get(one.name)
            if review is not None and review.played and (places := self._places(one, review)):
                goes.append(go_of(places))
        return goes

    def places(self, found: Practised) -> list[Spot]:
        """Its places over all takes, those that fail most first."""
        if self.kind == "changeover":
            return [s for s in found.spots if (s.song, s.before) == (self.slug, self.before)]
        if self.kind == "song":
            return [spot for spot in found.spots if spot.song == self.slug]
        songs = {song for one in found.kept if one.filed_under("show", self.slug) for song in one.songs}
        return [spot for spot in found.spots if spot.song in songs]

    def takes(self, found: Practised) -> list[Kept]:
        """The takes that go through it, newest first."""
        if self.kind == "show":
            return [one for one in reversed(found.kept) if one.filed_under("show", self.slug)]
        mine = [one for one in reversed(found.kept) if self.slug in {*one.songs, one.path.parent.name}]
        if self.kind == "song":
            return mine
        return [one for one in mine if {self.slug, self.before} <= {*one.songs, one.path.parent.name}]

    def _places(self, one: Kept, review: Review) -> tuple[tuple[str, ...], ...]:
        """What was wrong at each of its places in a take, nothing where the take has none of them."""
        if self.kind == "song":
            return review.moments_of(self.slug)
        if self.kind == "changeover":
            return review.changes_of(self.before or "", self.slug)
        return review.places if one.filed_under("show", self.slug) else ()


def choices(book: Book, show: str | None) -> list[Choice]:
    """What there is to rehearse: the show at hand, its songs and changeovers in their order, then all other songs."""
    the_show = book.shows.get(show or "")
    order = [slug for slug in (*the_show.set_songs, *the_show.encore) if slug in book.songs] if the_show else []
    found = [Choice("show", show)] if show is not None and order else []
    for before, song in pairwise([None, *order]):
        if before is not None and song is not None:
            found.append(Choice("changeover", song, before))
        if song is not None:
            found.append(Choice("song", song))
    return found + [Choice("song", slug) for slug in book.songs if slug not in order]


def of_spot(spot: Spot, there: Sequence[Choice]) -> Choice | None:
    """What to rehearse for a place to get better, None where it is not to be had."""
    wanted = Choice("song", spot.song) if spot.before is None else Choice("changeover", spot.song, spot.before)
    return wanted if wanted in there else None


@dataclass(slots=True)
class How:
    """How the player wants to rehearse; `rig` None is the show's or the book's own."""

    start: str | None = None
    stop: str | None = None
    times: int | None = 1
    by_foot: bool = False
    counted: bool = True
    simulated: bool = True
    rig: str | None = None
    clock_to: str | None = None

    def wanted(self, choice: Choice, show: str | None, rig: str) -> Wanted:
        """What is asked for, all told."""
        if choice.kind == "song":
            wanted = Wanted(rig, song=choice.slug, start=self.start, stop=self.stop, times=self.times)
        elif choice.kind == "changeover":
            wanted = Wanted(rig, song=choice.slug, show=show, times=self.times)
        else:
            wanted = Wanted(rig, show=choice.slug)
        clock_to = None if self.simulated else self.clock_to
        return wanted._replace(by_foot=self.by_foot, clock_to=clock_to, counted=self.counted)


def after(there: Sequence[T], now: T) -> T:
    """The one after it, round and round."""
    return there[(there.index(now) + 1) % len(there)] if now in there else there[0]


def starts(book: Book, song: str) -> list[str | None]:
    """Where a song can be started: at its start, or at a cue."""
    return [None, *(cue.name for cue in book.songs[song].cues)]


def stops(book: Book, song: str, start: str | None) -> list[str | None]:
    """Where it can be stopped: at its end, or as a later cue is taken."""
    names = [cue.name for cue in book.songs[song].cues]
    after = names.index(start) + 1 if start in names else 0
    return [None, *names[after:]]


def clocks(rig: Rig) -> list[str | None]:
    """Where MIDI clock can go: nowhere, or to a port that is sent to."""
    return [None, *(name for name, port in rig.ports.items() if port.sends)]


def next_words(book: Book, found: Practised | None) -> str:
    """What to practise next, as far as takes say."""
    if found is None:
        return "reading takes …"
    if found.broken:
        return found.broken[0]
    if not found.kept:
        return "no takes yet: choose what to play, enter starts it"
    hard = to_practise(found.spots)
    if hard:
        return f"practise next (p): {practise_next(book.songs, hard)}"
    return ALL_CLEAN if found.spots else UNHEARD


def how_lines(
    book: Book, choice: Choice, how: How, rig: str | None, show: str | None
) -> Iterator[tuple[str, str, str]]:
    """How it will be rehearsed: the key that changes it, what it is, and what is chosen."""
    if choice.kind == "song":
        yield "f", "from", how.start or "the start"
        yield "t", "to", how.stop or "the end"
    if choice.kind != "show":
        yield "n", "times", "round and round" if how.times is None else str(how.times)
    yield "i", "count", "a count-in first" if how.counted else "no count-in"
    yield "c", "cues", "by foot or key" if how.by_foot else "by the clock"
    if show is not None and show in book.shows:
        yield "s", "show", book.shows[show].title
    yield "o", "rig", book.rigs[rig].title if rig is not None and rig in book.rigs else "no rig"
    yield "r", "ports", "simulated" if how.simulated else "the real ones"
    if not how.simulated:
        yield "m", "clock", "none" if how.clock_to is None else f"MIDI, to {how.clock_to}"


def went_lines(choice: Choice, found: Practised, songs: Mapping[str, Song], width: int) -> list[str]:
    """How it went over all takes, in lines of at most `width` cells: a chart, then place by place."""
    goes, places = choice.goes(found), choice.places(found)
    if not places:
        return [NOBODY if choice.takes(found) else "no takes of it yet"]
    rows = [(place_of(songs, spot), *course_of(spot)) for spot in places]
    name = min(max(len(row[0]) for row in rows), max(8, width - DRAWN - 10))
    lines = [f"{CLEAN} clean, {NOT_CLEAN} not, take by take"[:width], *course(goes, width, CHART_ROWS), ""]
    for place, clean, drawn, faults in rows:
        line = f"{fit(place, name)} {clean:>7} {drawn[-DRAWN:]:<{DRAWN}} "
        if len(line) + len(faults) > width:
            lines.append(line.rstrip())
            line = "  "
        lines.append(line + faults)
    return [line.rstrip() for line in lines]
