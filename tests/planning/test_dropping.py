"""What to leave out, against every choice of optional songs tried, each timed by a walk that shares no code."""

import random
from itertools import combinations

import pytest
from everyorder import APPLAUSE_S, BREAK_S, Night, seconds_of

from showrunner.planning.dropping import Droppable, fewest
from showrunner.planning.timing import FINISH_EARLY_S, running_time

LIVE, WALK_OFF_S = 1.04, 60
"""A song runs 4 % long on the night, and leaving the stage takes a minute; common practice, no source."""


class Timed(Night):
    """A made show in which some songs are optional and songs are of all lengths, too long for its slot or its sets'."""

    def __init__(self, seed: int) -> None:
        super().__init__(seed, seed % 2 == 0, most=6)
        chance = random.Random(seed + 1000)
        self.minutes = {song: chance.choice([1.5, 2, 2.75, 3, 4, 4, 5.5]) for song in self.songs}
        for song, minutes in self.minutes.items():
            self.songs[song]["duration"] = f"{int(minutes)}:{round(minutes % 1 * 60):02}"
        for slot in (slot for part in self.sets for slot in part):
            slot.pop("pin", None)
            if chance.random() < 0.7:
                slot["optional"] = True
        self.optional = [slot["song"] for part in self.sets for slot in part if "optional" in slot]
        full_s, sets_s = self.lasts(())
        self.slot_s = round(full_s + WALK_OFF_S - chance.choice([-300, -100, 30, 200, 400, 700]))
        self.slots_s = [round(s - chance.choice([-60, 10, 150])) if chance.random() < 0.5 else None for s in sets_s]

    def lasts(self, gone: tuple[str, ...]) -> tuple[float, list[float]]:
        """Seconds from the first note to the last without some songs, and those of each set.

        A song keeps what is written after it, but what is written after a set stays at its end.
        """
        slots = [[slot for slot in part if slot["song"] not in gone] for part in self.sets]
        parts = [[slot["song"] for slot in part] for part in slots] + [self.encore]
        thens = {slot["song"]: slot.get("then") for part in self.sets for slot in part}
        leads_on = len(self.sets) if self.encore else len(self.sets) - 1
        ends = [part[-1]["song"] for part in self.sets]
        line = [(song, number) for number, songs in enumerate(parts) for song in songs]
        needs = self.walk([song for songs in parts[:-1] for song in songs]) if line else []
        at_s, sets_s, last = 0.0, [0.0] * len(parts), {}
        for place, (song, number) in enumerate(line):
            took = self.minutes[song] * 60 * LIVE
            sets_s[number] += took + last.get(number, 0.0)
            at_s += took
            if place + 1 == len(line):
                break
            is_break = line[place + 1][1] != number
            if number == len(self.sets):
                then = None
            elif is_break and number < leads_on:
                then = thens[ends[number]]
            else:
                then = thens[song]
            written = BREAK_S if is_break and then is None else APPLAUSE_S if then is None else seconds_of(then)
            pause = max(written, needs[place])
            last[number] = pause
            at_s += pause
        return at_s, sets_s[:-1]

    def over(self, gone: tuple[str, ...]) -> tuple[float, list[float]]:
        """Seconds over the slot, and over each set's own where it has one and any song is left."""
        full_s, sets_s = self.lasts(gone)
        over = [
            s - slot_s
            for s, slot_s, part in zip(sets_s, self.slots_s, self.sets, strict=True)
            if slot_s is not None and any(slot["song"] not in gone for slot in part)
        ]
        return full_s + WALK_OFF_S - self.slot_s, over


def least(night: Timed, margin_s: float) -> int | None:
    """The least number of songs without which the show ends that early and all sets fit; None if none do."""
    for count in range(len(night.optional) + 1):
        for gone in combinations(night.optional, count):
            over_s, sets = night.over(gone)
            if over_s + margin_s <= 0 and all(s <= 0 for s in sets):
                return count
    return None


@pytest.mark.parametrize("block", range(6))
def test_as_few_songs_are_dropped_as_are_enough(make_book, make_show, block):
    for seed in range(block, 240, 6):
        night = Timed(seed)
        book = make_book(night.songs, night.rig())
        show = make_show(*night.sets, encore=night.encore)
        parts = [part.model_copy(update={"slot": s}) for part, s in zip(show.sets, night.slots_s, strict=True)]
        show = show.model_copy(update={"sets": tuple(parts), "slot": night.slot_s})
        time = running_time(book, show)
        now = night.over(())
        case = (seed, night.optional, now, time.drop, time.drop_reaches)
        assert time.over_s == pytest.approx(now[0]), case
        early, in_time = least(night, FINISH_EARLY_S), least(night, 0)
        all_over, sets_over = night.over(tuple(night.optional))
        if early is not None:
            assert (len(time.drop), time.drop_reaches) == (early, "early"), case
        elif in_time is not None:
            assert (len(time.drop), time.drop_reaches) == (in_time, "in time"), case
        elif all_over > 0:
            assert (time.drop, time.drop_reaches) == (tuple(night.optional), "too little"), case
        else:
            assert any(s > 0 for s in sets_over), case
        if early is not None or in_time is not None:
            then = night.over(time.drop)
            assert then[0] + (FINISH_EARLY_S if early is not None else 0) <= 0, case
            assert all(s <= 0 for s in then[1]), case


def test_the_made_shows_need_all_numbers_of_songs_dropped():
    nights = [Timed(seed) for seed in range(240)]
    counts = [least(night, FINISH_EARLY_S) for night in nights]
    assert set(counts) >= {None, 0, 1, 2, 3}
    assert sum(len(night.slots_s) == 2 for night in nights) > 50


def test_seconds_are_not_rounded_away():
    """Three songs of 3:20.9 each; two of them win 6:41.8, which is enough for 6:41."""
    songs = [Droppable(name, 0, 200.9, 200.9) for name in "abc"]
    assert fewest(songs, lambda gone: 401 - 200.9 * len(gone)) == ("c", "b")


def test_of_as_many_the_ones_that_take_least_are_dropped_and_all_where_that_is_too_little():
    songs = [Droppable(name, 0, lasts_s, lasts_s) for name, lasts_s in zip("abcd", (200, 100, 150, 90), strict=True)]
    lasts = {song.song: song.lasts_s for song in songs}
    assert set(fewest(songs, lambda gone: 240 - sum(lasts[name] for name in gone))) == {"c", "d"}
    assert set(fewest(songs, lambda gone: 900 - sum(lasts[name] for name in gone))) == set("abcd")


def test_past_its_tries_the_longest_songs_go():
    songs = [Droppable(str(number), 0, 100 + number, 300) for number in range(20)]
    lasts = {song.song: song.lasts_s for song in songs}
    found = fewest(songs, lambda gone: 1000 - sum(lasts[name] for name in gone), tries=50)
    assert sum(lasts[name] for name in found) >= 1000
