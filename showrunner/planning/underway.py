"""A show under way: how late it is, the new finish after a skip, a song put in or a late start, and what to drop."""

import datetime
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.batteries import BatteryLife, battery_lives
from showrunner.planning.changeover import between_s, changeover_times
from showrunner.planning.dropping import Droppable, Left, what_to_drop
from showrunner.planning.evidence import Length
from showrunner.planning.lineup import APPLAUSE_S, WALK_OFF_S, line_up
from showrunner.planning.timing import (
    FINISH_EARLY_S,
    NOTHING,
    PAUSE_SPREAD,
    RunningTime,
    running_time,
    song_length,
)
from showrunner.state.moments import prepare_show
from showrunner.state.values import State

TRIES = 500
"""Ways to leave songs out that are tried while a screen waits for the answer; five optional songs have 31."""


class Ahead(NamedTuple):
    """What is still to come: seconds and their standard deviation, the finish in minutes after midnight.

    `late_s` against the finish expected before the show, negative when early; `over_s`, `early_s` and `drop` as in
    `RunningTime`, of the songs not begun yet. Of a set after the first, what was played is taken to have lasted as
    long as expected.
    """

    remaining_s: float
    spread_s: float
    finish: float
    late_s: float
    over_s: float | None
    early_s: float | None
    drop: tuple[str, ...]


@dataclass(frozen=True)
class Plan:
    """What the arithmetic of a night rests on, worked out once so that asking is quick.

    `weak` are the batteries that are played and won't last.
    """

    date: datetime.date | None
    time: RunningTime
    lengths: Mapping[str, Length]
    pauses: Mapping[str, float]
    breaks: Mapping[int, float]
    segues: Mapping[str, str]
    parts: Mapping[str, int]
    slots: Mapping[int, float]
    needs: Mapping[tuple[str, str], float]
    optional: frozenset[str]
    weak: tuple[BatteryLife, ...]

    def ahead(
        self,
        order: Sequence[str],
        place: int,
        now_min: float,
        began_min: float,
        into_s: float | None,
        set_min: float = 0.0,
    ) -> Ahead:
        """The rest of tonight's order from the song at `place`, which has been played for `into_s`, None if not begun.

        `now_min` and `began_min`, when the first song began, in minutes after the midnight that starts the date. The
        order may hold songs of the reserve and lack songs of the show. A pause that has begun is counted as over.
        `set_min` is how far the time of day was set since it began: the finish and a curfew go by it, no length does.
        """
        played = [song for song in order[:place] if song in self.lengths]
        songs = [song for song in order[place:] if song in self.lengths]
        left = {song: self.lengths[song].expected_s for song in songs}
        variance = sum(self.lengths[song].spread_s ** 2 for song in songs)
        if into_s is not None and songs and order[place] == songs[0]:
            left[songs[0]] = max(0.0, left[songs[0]] - into_s)
        pauses = self.pauses_s(played, songs)
        remaining_s = sum(left.values()) + sum(pauses)
        variance += sum((PAUSE_SPREAD * pause) ** 2 for pause in pauses)
        finish = now_min + remaining_s / 60
        over_s = self._over(finish, began_min, set_min)
        early_s = None if over_s is None else over_s + FINISH_EARLY_S
        planned = (began_min if self.time.starts is None else self.time.starts) + self.time.expected_s / 60

        def without(gone: Collection[str]) -> Left:
            rest = [song for song in songs if song not in gone]
            between = self.pauses_s(played, rest)
            end = now_min + (sum(left[song] for song in rest) + sum(between)) / 60
            since_s = self._gone_s(played, rest, (now_min - began_min) * 60, into_s)
            sets = self._sets(self._parts(played, rest), [left[song] for song in rest], between, since_s)
            then_s = self._over(end, began_min, set_min)
            return Left(then_s, None if then_s is None else then_s + FINISH_EARLY_S, sets)

        begun = songs[:1] if into_s is not None else []
        optional = [
            Droppable(song, part, left[song] + after, left[song] + before + after)
            for song, part, before, after in zip(
                songs, self._parts(played, songs), [0.0, *pauses], [*pauses, 0.0], strict=False
            )
            if song in self.optional and song not in begun
        ]
        drop = what_to_drop(optional, without, TRIES).songs
        return Ahead(remaining_s, sqrt(variance), finish + set_min, (finish - planned) * 60, over_s, early_s, drop)

    def ahead_of(
        self, state: State, at_s: float, began_s: float | None, now_min: float | None, began_min: float | None = None
    ) -> Ahead:
        """The rest of the show as the machine has it at `at_s` of the run's clock, begun at `began_s` if it has.

        `now_min` is the time of day as for `ahead`, and `began_min` what it was as the show began: so late it stays
        whatever is done to the time of day later. Both are None on another day than the show's, when its clock is
        taken to have begun in time, so that a rehearsal is late or early by its songs alone.
        """
        gone_min = (at_s - (at_s if began_s is None else began_s)) / 60
        if began_min is None or began_s is None:
            began_min = float(self.time.starts or 0) if now_min is None else now_min - gone_min
        set_min = 0.0 if now_min is None else now_min - began_min - gone_min
        playing = state.clock.elapsed_s(at_s) if state.phase == "song" and state.clock is not None else None
        place = len(state.order) if state.phase == "over" else state.place
        return self.ahead(state.order, place, began_min + gone_min, began_min, playing, set_min)

    def pauses_s(self, played: Sequence[str], songs: Sequence[str]) -> list[float]:
        """Seconds between songs to come, after those played: as written where that still fits, or what they need.

        A song of the reserve belongs to the set it is played in; a segue holds only with the song it was written for.
        """
        parts = self._parts(played, songs)
        found = []
        for (before, part), (after, then) in pairwise(zip(songs, parts, strict=True)):
            written = self.pauses.get(before, APPLAUSE_S)
            if then != part:
                written = self.breaks[part]
            elif self.segues.get(before, after) != after:
                written = APPLAUSE_S
            found.append(max(written, self.needs.get((before, after), 0.0)))
        return found

    def _parts(self, played: Sequence[str], songs: Sequence[str]) -> list[int]:
        """The set that each song to come is played in."""
        found, part = [], 0
        for song in (*played, *songs):
            part = self.parts.get(song, part)
            found.append(part)
        return found[len(played) :]

    def _gone_s(self, played: Sequence[str], songs: Sequence[str], show_s: float, into_s: float | None) -> float:
        """Seconds since the first note of the set that goes on, `show_s` those since the show's."""
        parts = self._parts((), played)
        if not songs or not parts or self._parts(played, songs)[0] != parts[-1]:
            return into_s or 0.0
        if len(set(parts)) == 1:
            return show_s
        of_set = [song for song, part in zip(played, parts, strict=True) if part == parts[-1]]
        pauses = self.pauses_s(played[: -len(of_set)], [*of_set, songs[0]])
        return sum(self.lengths[song].expected_s for song in of_set) + sum(pauses) + (into_s or 0.0)

    def _sets(
        self, parts: Sequence[int], left_s: Sequence[float], pauses: Sequence[float], gone_s: float
    ) -> dict[int, float]:
        """Seconds by which each set to come that has a slot of its own will be over, the songs' given by place."""
        found = {}
        for part, slot_s in self.slots.items():
            of_set = [place for place, its in enumerate(parts) if its == part]
            if of_set:
                lasts_s = sum(left_s[place] for place in of_set) + sum(pauses[place] for place in of_set[:-1])
                begun_s = gone_s if part == parts[0] else 0.0
                found[part] = begun_s + lasts_s - slot_s
        return found

    def _over(self, finish: float, began_min: float, set_min: float) -> float | None:
        over = []
        if self.time.slot_s is not None:
            starts = began_min if self.time.starts is None else self.time.starts
            over.append((finish - starts) * 60 + WALK_OFF_S - self.time.slot_s)
        if self.time.curfew is not None:
            over.append((finish + set_min - self.time.curfew) * 60)
        return max(over) if over else None


def plan_of(
    book: Book,
    show: Show,
    rig: Rig,
    played: Mapping[str, Sequence[float]] = NOTHING,
    *,
    battery_h: Mapping[str, float] | None = None,
) -> Plan:
    """The plan of a show's sets, encore and reserve; songs that the book does not have are left out.

    `battery_h` is what runs have logged on each battery since it was fitted, hours.
    """
    places = [place for place in line_up(show) if place.song in book.songs]
    pieces = prepare_show(book, show, rig)
    last = {place.part: place.song for place in places}
    as_written = changeover_times(book, show, rig)
    time = running_time(book, show, played=played, rig=rig)
    lives = battery_lives(book, show, rig, time, battery_h)
    following = {a.song: b.song for a, b in pairwise(places)}
    return Plan(
        date=show.date,
        time=time,
        lengths={song: song_length(book, show, song, played.get(song, ())) for song in pieces},
        pauses={place.song: place.pause.seconds for place in places if last[place.part] != place.song},
        breaks={place.part: place.pause.seconds for place in places},
        segues={place.song: following[place.song] for place in places if place.pause.kind == "segue"},
        parts={place.song: place.part for place in places},
        slots={part.number: part.slot_s for part in time.sets if part.slot_s is not None},
        needs={(a, b): between_s(pieces[a], pieces[b]) for a in pieces for b in pieces if a != b} | as_written,
        optional=frozenset(place.song for place in places if place.optional) | frozenset(show.reserve),
        weak=tuple(life for life in lives if life.show_h > 0 and not life.enough),
    )
