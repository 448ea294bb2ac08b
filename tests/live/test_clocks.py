"""A night whose clock is set, whose machine is started again, or whose summer time ends: only times of day change."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from showrunner.book.read import read_book
from showrunner.live.closing import battery_uses
from showrunner.live.runs import Run, read_run
from showrunner.model.library import Book
from showrunner.places import demo_book
from showrunner.planning.night import Night

SHOW, DATE = "pellmarsh-hall", "2026-11-28"
HOUR_S, YEAR_S = 3600.0, 365 * 86400.0
ENDS = ("eel-road", "the-long-sluice")
"""Songs after which the clock is set, or the machine started again."""

Entry = dict[str, Any]


@pytest.fixture(scope="module")
def book() -> Book:
    return read_book(demo_book()).book


@pytest.fixture(scope="module")
def logged() -> list[Entry]:
    text = (demo_book() / f"runs/{SHOW}/{DATE}.jsonl").read_text(encoding="utf-8")
    return [json.loads(line) for line in text.splitlines()]


def read(folder: Path, entries: list[Entry], book: Book) -> tuple[Run, Night]:
    file = folder / f"runs/{SHOW}/{DATE}.jsonl"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text("".join(f"{json.dumps(entry)}\n" for entry in entries), encoding="utf-8")
    ((run, night),) = read_run(folder, file).played(book)
    return run, night


def lengths(run: Run, night: Night, book: Book) -> list[Any]:
    """Every length that a night leaves: songs, changeovers, outages, the whole, hours on batteries."""
    uses = battery_uses(run, book, book.rigs["full"])
    return [
        *((song.song, song.starts_s, song.lasted_s) for song in night.songs),
        *((change.before, change.after, change.took_s) for change in night.changes),
        *((outage.port, outage.gone_s) for outage in night.outages),
        *((back.song, back.at_s) for back in night.backs),
        ("the whole", night.lasted_s),
        *((use.battery, use.hours) for use in uses),
    ]


def same(found: list[Any], wanted: list[Any], abs_s: float = 0.002) -> None:
    assert len(found) == len(wanted)
    for mine, theirs in zip(found, wanted, strict=True):
        for a, b in zip(mine, theirs, strict=True):
            assert a == (pytest.approx(b, abs=abs_s) if isinstance(b, float) else b)


def at_each(entries: list[Entry], does: Callable[[Entry, int], Entry]) -> Iterator[Entry]:
    """Every line, and how many of `ENDS` have been begun before it."""
    passed = 0
    for entry in entries:
        passed += entry["kind"] == "song" and entry.get("song") in ENDS
        yield does(dict(entry), passed)


def set_by(*steps_s: float) -> Callable[[Entry, int], Entry]:
    """The time of day is set by so much in the middle of each of those songs, one after the other."""

    def does(entry: Entry, passed: int) -> Entry:
        return {**entry, "unix_s": round(entry["unix_s"] + sum(steps_s[:passed]), 3)}

    return does


def old(entry: Entry) -> Entry:
    """A line as it was written before a run had a clock of its own: by the machine's, and none in two."""
    kept = {name: value for name, value in entry.items() if name != "run"}
    if entry["kind"] in ("began", "ended"):
        return {name: value for name, value in kept.items() if name != "at_s"}
    return {**kept, "at_s": entry["at_s"] + 54321.5}


SETS = [(HOUR_S,), (-HOUR_S,), (YEAR_S,), (-YEAR_S,), (HOUR_S, -HOUR_S), (-YEAR_S, YEAR_S), (0.5, -2.0)]


@pytest.mark.parametrize("steps_s", SETS)
@pytest.mark.parametrize("written", ["now", "before"])
def test_no_time_of_day_that_is_set_changes_a_length(
    tmp_path: Path, book: Book, logged: list[Entry], steps_s: tuple[float, ...], written: str
) -> None:
    was = [old(entry) for entry in logged] if written == "before" else logged
    wanted = lengths(*read(tmp_path, was, book), book)
    same(lengths(*read(tmp_path, list(at_each(was, set_by(*steps_s))), book), book), wanted)


def test_a_log_of_old_is_read_as_one_of_today(tmp_path: Path, book: Book, logged: list[Entry]) -> None:
    wanted = lengths(*read(tmp_path, logged, book), book)
    same(lengths(*read(tmp_path, [old(entry) for entry in logged], book), book), wanted)
    bare = [{name: value for name, value in old(entry).items() if name != "at_s"} for entry in logged]
    same(lengths(*read(tmp_path, bare, book), book), wanted, abs_s=0.01)


def restarted(entries: list[Entry], off_s: float, set_s: float, *, written: str) -> list[Entry]:
    """The machine goes off for so long in the first of those songs, and comes back with its time of day set."""
    cut = next(i for i, entry in enumerate(entries) if entry.get("song") == ENDS[0] and entry["kind"] == "song") + 1
    began = entries[0]
    before, after = entries[:cut], entries[cut:]
    at_s, unix_s = before[-1]["at_s"] + off_s, before[-1]["unix_s"] + off_s + set_s
    again: list[Entry] = [
        {**began, "at_s": at_s, "unix_s": unix_s},
        {"kind": "restarted", "song": ENDS[0], "cue": "start", "say": "", "at_s": at_s, "unix_s": unix_s, "engine": 9},
    ]
    later = [
        {**entry, "at_s": entry["at_s"] + off_s, "unix_s": round(entry["unix_s"] + off_s + set_s, 3)} for entry in after
    ]
    if written == "before":  # another start of the machine, whose clock begins at 0
        again = [old(began) | {"unix_s": unix_s}, {**again[1], "at_s": 20.0}]
        later = [old(entry) for entry in later]
        later = [{**e, "at_s": e["at_s"] - 54321.5 - at_s + 20.0} if "at_s" in e else e for e in later]
        before = [old(entry) for entry in before]
    return [*before, *again, *later]


@pytest.mark.parametrize("written", ["now", "before"])
def test_a_machine_that_was_off_in_a_song_makes_that_song_as_much_longer(
    tmp_path: Path, book: Book, logged: list[Entry], written: str
) -> None:
    _, wanted = read(tmp_path, logged, book)
    _, night = read(tmp_path, restarted(logged, 90.0, 0.0, written=written), book)
    lasted = {song.song: song.lasted_s for song in night.songs}
    for song in wanted.songs:
        off_s = 90.0 if song.song == ENDS[0] else 0.0
        assert lasted[song.song] == pytest.approx((song.lasted_s or 0.0) + off_s, abs=0.01)
    assert night.lasted_s == pytest.approx((wanted.lasted_s or 0.0) + 90.0, abs=0.01)


@pytest.mark.parametrize("set_s", [HOUR_S, -HOUR_S, YEAR_S, -YEAR_S])
def test_a_time_of_day_that_comes_back_set_changes_no_length_of_the_run(
    tmp_path: Path, book: Book, logged: list[Entry], set_s: float
) -> None:
    wanted = lengths(*read(tmp_path, restarted(logged, 90.0, 0.0, written="now"), book), book)
    same(lengths(*read(tmp_path, restarted(logged, 90.0, set_s, written="now"), book), book), wanted)


@pytest.mark.parametrize("set_s", [-HOUR_S, YEAR_S, -YEAR_S])
def test_in_a_log_of_old_a_time_of_day_that_can_not_be_counts_as_nothing(
    tmp_path: Path, book: Book, logged: list[Entry], set_s: float
) -> None:
    wanted = lengths(*read(tmp_path, restarted(logged, 0.0, 0.0, written="before"), book), book)
    same(lengths(*read(tmp_path, restarted(logged, 90.0, set_s, written="before"), book), book), wanted, abs_s=0.02)
