"""Headroom and loudness, from what was measured and from common practice."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.checks.limit import loudest_stretch
from showrunner.checks.run import check
from showrunner.model.library import Book

BookOf = Callable[..., Book]


def test_a_song_that_was_never_measured_is_not_said_to_lack_headroom_at_the_output(
    healthy: dict[str, Any], book_of: BookOf
) -> None:
    edits = {
        "rigs/full/gain/1": {"stage": "interface output", "range_db": [-90, 0]},
        "shows/friday/trims": {"interface_volume_db": 5},
    }
    assert check(book_of(healthy, edits), show="friday") == ()


def test_an_input_turned_up_by_more_than_the_margin_is_found_without_a_measurement(
    healthy: dict[str, Any], book_of: BookOf
) -> None:
    """Common practice, no source: input peaks at -12 dBFS, and 6 dB are kept."""
    edits = {"venues/hall/trims": {"input_gain_db": 4}, "shows/friday/trims": {"input_gain_db": 3}}
    findings = check(book_of(healthy, edits), show="friday")
    assert [f.rule for f in findings] == ["low-headroom"] * 3
    assert findings[0].what.startswith('"interface input" has 5.0 dB left')


@pytest.mark.parametrize(
    ("stage", "edits", "turn"),
    [
        ("interface input", {"venues/hall/trims": {"input_gain_db": 7}}, "the input gain down 1.0 dB: the guitar's"),
        (
            "host",
            {
                "songs/eel/level": {"true_peak_dbtp": -2},
                "rigs/full/gain/1": {"stage": "host", "range_db": [-24, 24]},
                "venues/hall/trims": {"full_house_db": 1},
            },
            "the song in the host down 1.0 dB.",
        ),
        (
            "interface output",
            {
                "songs/eel/level": {"true_peak_dbtp": -4},
                "rigs/full/gain/1": {"stage": "interface output", "range_db": [-90, 0]},
                "venues/hall/trims": {"interface_volume_db": 1, "full_house_db": 1},
            },
            "the interface volume down 1.0 dB: this song's trim_db",
        ),
    ],
)
def test_what_is_to_be_turned_down_is_what_acts_on_that_stage(
    healthy: dict[str, Any], book_of: BookOf, stage: str, edits: dict[str, Any], turn: str
) -> None:
    found = [f for f in check(book_of(healthy, edits), show="friday") if f.rule == "low-headroom" and f.song == "eel"]
    assert [(f.what.split('"')[1], f.mend.startswith(f"Turn {turn}")) for f in found] == [(stage, True)]
    assert ("in a full house" in found[0].what) == (stage == "interface output")


def test_what_only_a_full_house_asks_for_is_said_to_be_for_one(healthy: dict[str, Any], book_of: BookOf) -> None:
    """By hand: the volume stands at -10 dB, a full house adds 8, and the stage ends at -4."""
    edits = {
        "rigs/full/gain/1": {"stage": "interface output", "range_db": [-90, -4]},
        "rigs/full/trims/interface_volume_db": -10,
        "venues/hall/trims": {"full_house_db": 8},
    }
    findings = [f for f in check(book_of(healthy, edits), show="friday") if f.rule == "trim-cut-off"]
    assert len(findings) == 3
    assert all("in a full house, the interface volume is -4 dB where -2 dB was asked for" in f.what for f in findings)
    alone = {**edits, "venues/hall/trims": {"interface_volume_db": 8}}
    found = [f.what for f in check(book_of(healthy, alone), show="friday") if f.rule == "trim-cut-off"]
    assert len(found) == 3
    assert not any("full house" in what for what in found)


def test_an_offset_that_is_cut_off_is_said_for_its_song_where_it_is_written(
    healthy: dict[str, Any], book_of: BookOf
) -> None:
    """By hand: `room` goes from 0 to 100 %, Eel Road sets it to 97, and 5 more leave 2 over."""
    at = {"songs/eel/start/targets": {"room": 97}}
    for kind, place in (("venue", "venues/hall/trims"), ("show", "shows/friday/trims")):
        found = check(book_of(healthy, {**at, place: {"targets": {"room": 5}}}), show="friday")
        (one,) = [each for each in found if each.rule == "trim-cut-off"]
        assert (one.kind, one.song, one.key) == (kind, "eel", ("trims", "targets", "room"))
        assert one.what == "in Eel Road, room gets +5 %, and 2 % of it is lost where that goes past its range"


def test_songs_of_one_level_have_no_stretch_louder_than_the_whole() -> None:
    songs = [(0.0, 100.0, -20.0), (100.0, 100.0, -20.0), (200.0, 100.0, -20.0)]
    over_db, _, _ = loudest_stretch(songs, 150.0)
    assert over_db == pytest.approx(0.0)


def test_a_song_as_long_as_the_window_counts_with_its_own_level() -> None:
    """By hand: powers 1, 1 and 10 over equal lengths average 4; 10 to 4 is 3.98 dB."""
    songs = [(0.0, 60.0, 0.0), (60.0, 60.0, 0.0), (120.0, 60.0, 10.0)]
    assert loudest_stretch(songs, 60.0) == (pytest.approx(3.979, abs=0.001), 2, 2)


def test_pauses_count_as_silence_in_the_whole_and_in_the_stretch() -> None:
    """By hand: powers 1 for 60 of every 120 s; any 120 s up to a song's end hold 60 s of sound."""
    songs = [(0.0, 60.0, 0.0), (120.0, 60.0, 0.0), (240.0, 60.0, 0.0)]
    over_db, first, last = loudest_stretch(songs, 120.0)
    assert (over_db, first, last) == (pytest.approx(-0.792, abs=0.001), 0, 0)


def test_a_window_as_long_as_the_show_is_as_loud_as_the_whole() -> None:
    songs = [(n * 60.0, 60.0, float(n % 3)) for n in range(100)]
    whole_db, first, last = loudest_stretch(songs, 6000.0)
    assert whole_db == pytest.approx(0.0)
    assert (first, last) == (0, 99)
