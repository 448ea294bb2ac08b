"""The demo book is sound on its own rig, loses what it should on the small one, and shows everything there is."""

from collections.abc import Iterator

import pytest

from showrunner.book.read import Reading
from showrunner.checks.finding import Finding
from showrunner.checks.run import check
from showrunner.model.library import Book
from showrunner.model.song import Cue, Song
from showrunner.model.tempo import cue_at_s
from showrunner.planning.timing import running_time

FULL_RIG_SHOWS = ("pellmarsh-hall", "oxcote-theatre")


def troubles(book: Book, show: str, rig: str | None = None) -> list[Finding]:
    return [f for f in check(book, show=show, rig=rig) if f.level != "note" and f.silenced is None]


def cues(book: Book) -> Iterator[Cue]:
    return (cue for song in book.songs.values() for cue in song.cues)


def test_every_file_can_be_read(reading: Reading) -> None:
    assert reading.problems == ()


def test_it_has_the_size_of_a_real_book(book: Book) -> None:
    assert len(book.songs) >= 14
    assert set(book.rigs) >= {"full", "small"}
    assert (len(book.venues), len(book.shows), len(book.checklists)) == (4, 3, 5)
    assert all(venue.visits for venue in book.venues.values())


@pytest.mark.parametrize("show", FULL_RIG_SHOWS)
def test_nothing_is_wrong_on_the_full_rig(book: Book, show: str) -> None:
    assert troubles(book, show) == []


def test_a_silenced_rule_is_reported_with_its_reason(book: Book) -> None:
    silenced = [f for f in check(book, show="pellmarsh-hall") if f.silenced is not None]
    assert [(f.song, f.rule) for f in silenced] == [("tin-harbour", "cues-too-close")]


def test_the_small_rig_loses_what_it_really_lacks(book: Book) -> None:
    found = {(f.rule, f.song) for f in troubles(book, "pellmarsh-hall", "small")}
    assert found >= {
        ("missing-target", "saltmarsh-signal"),
        ("missing-control", "low-lantern"),
        ("missing-control", "winter-ferry"),
        ("missing-guitar", "the-long-sluice"),
        ("fewer-bits", "heron-clock"),
    }


def test_stand_ins_leave_the_small_show_without_a_missing_control(book: Book) -> None:
    rules = {f.rule for f in troubles(book, "brackwater-field")}
    assert "missing-control" not in rules
    assert "missing-guitar" not in rules


def test_every_show_fits_its_slot_and_its_curfew(book: Book) -> None:
    for show in book.shows.values():
        over_s = running_time(book, show).over_s
        assert over_s is not None
        assert over_s <= 0


def test_the_first_show_is_about_an_hour_and_a_quarter(book: Book) -> None:
    show = book.shows["pellmarsh-hall"]
    assert show.slot == 75 * 60
    assert 62 * 60 < running_time(book, show).planned_s < 72 * 60


def test_cues_lie_in_order_within_their_song(book: Book) -> None:
    for song in book.songs.values():
        places = [at_s for cue in song.cues if (at_s := cue_at_s(song, cue)) is not None]
        assert places == sorted(places)
        assert all(at_s < song.duration for at_s in places)


def test_a_say_is_five_words_at_most(book: Book) -> None:
    assert all(len(cue.say.split()) <= 5 for cue in cues(book) if cue.say is not None)


def test_cues_name_no_target_that_a_curve_in_the_song_moves(book: Book) -> None:
    for song in book.songs.values():
        moved = {target for of_set in song.curves.values() for curve in of_set.values() for target in curve.moves}
        named = {target for cue in song.cues for target in cue.targets} | song.start.targets.keys()
        assert not moved & named


def test_values_lie_in_their_targets_ranges(book: Book) -> None:
    targets = book.rigs["full"].targets
    for song in book.songs.values():
        for name, value in _values(song):
            low, high = sorted(targets[name].range)
            assert low <= value <= high


def _values(song: Song) -> Iterator[tuple[str, float]]:
    for named in (song.start.targets, *(cue.targets for cue in song.cues)):
        yield from named.items()
    for of_set in song.curves.values():
        for curve in of_set.values():
            for name, move in curve.moves.items():
                yield from ((name, value) for value in move.values)
