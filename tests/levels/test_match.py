"""Songs brought to one loudness."""

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.levels.match import Measured, matched

SONG = st.builds(
    Measured, st.floats(min_value=-60, max_value=0, allow_nan=False), st.floats(min_value=-60, max_value=6)
)
SONGS = st.dictionaries(st.text(max_size=3), SONG, max_size=6)
TARGET = st.none() | st.floats(min_value=-40, max_value=0)


def test_songs_are_brought_to_the_loudness_wanted() -> None:
    songs = {"tide": Measured(-18, -9), "ebb": Measured(-23, -14)}
    assert {name: match.trim_db for name, match in matched(songs, -20).items()} == {"tide": -2, "ebb": 3}


def test_a_song_whose_peaks_are_in_the_way_stays_below_and_that_is_said() -> None:
    match = matched({"tide": Measured(-23, -5)}, -18)["tide"]
    assert (match.trim_db, match.short_db) == (2, 3)


def test_without_a_target_songs_meet_in_the_middle() -> None:
    songs = {"tide": Measured(-18, -12), "ebb": Measured(-20, -14), "neap": Measured(-25, -15)}
    assert {name: match.trim_db for name, match in matched(songs).items()} == {"tide": -2, "ebb": 0, "neap": 5}


def test_where_a_song_cant_reach_the_middle_the_others_come_down_to_it() -> None:
    songs = {"tide": Measured(-18, -6), "ebb": Measured(-20, -3.5)}  # ebb can gain 0.5 dB: −19.5
    assert {name: match.trim_db for name, match in matched(songs).items()} == {"tide": -1.5, "ebb": 0.5}


def test_a_song_already_over_the_ceiling_is_turned_down() -> None:
    assert matched({"tide": Measured(-14, -0.5)}, -14)["tide"].trim_db == -2.5


def test_silence_is_left_out() -> None:
    assert matched({"tide": Measured(-math.inf, -math.inf)}) == {}


@given(SONGS, TARGET)
@settings(max_examples=150)
def test_no_proposed_match_clips(songs: dict[str, Measured], target: float | None) -> None:
    for name, match in matched(songs, target).items():
        assert songs[name].true_peak_dbtp + match.trim_db <= -3 + 1e-9


@given(SONGS)
@settings(max_examples=100)
def test_songs_end_within_a_step_of_each_other_without_a_target(songs: dict[str, Measured]) -> None:
    ends = [songs[name].integrated_lufs + match.trim_db for name, match in matched(songs).items()]
    assert not ends or max(ends) - min(ends) <= 0.5 + 0.25 + 1e-9


@given(SONGS, st.floats(min_value=-40, max_value=0))
@settings(max_examples=100)
def test_no_song_ends_louder_than_wanted_by_more_than_the_rounding(songs: dict[str, Measured], target: float) -> None:
    for name, match in matched(songs, target).items():
        assert songs[name].integrated_lufs + match.trim_db <= target + 0.25 + 1e-9
