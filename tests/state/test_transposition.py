"""Key and first chord of a song with another capo or tuning tonight."""

from typing import Any

import pytest

from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.state.moments import prepare_song
from showrunner.state.transposition import moved

GUITARS = {
    "six": {
        "tunings": {
            "E standard": ["E2", "A2", "D3", "G3", "B3", "E4"],
            "Eb standard": ["D#2", "G#2", "C#3", "F#3", "A#3", "D#4"],
            "drop D": ["D2", "A2", "D3", "G3", "B3", "E4"],
        }
    },
    "other six": {"tunings": {"D standard": ["D2", "G2", "C3", "F3", "A3", "D4"]}},
}


def tonight(make_rig: Any, make_song: Any, usual: dict[str, Any], changes: dict[str, Any]) -> tuple[Any, Any]:
    rig = make_rig(instruments=GUITARS)
    book = Book(songs={"one": make_song(**usual, cues=[])}, rigs={"r": rig})
    sets = [{"songs": [{"song": "one"}]}]
    show = Show.model_validate({"format": 1, "title": "F", "sets": sets, "tonight": {"one": changes}})
    song = prepare_song(book, "one", rig, show).song
    return song.key, song.first_chord


@pytest.mark.parametrize(
    ("usual", "changes", "sounds"),
    [
        ({"key": "B", "first_chord": "A shape", "capo": 2}, {"capo": 1}, ("Bb", "A shape")),
        ({"key": "D minor", "first_chord": "Dm"}, {"capo": 2}, ("E minor", "Em (Dm shape)")),
        ({"key": "B", "first_chord": "B", "capo": 2}, {"capo": 0}, ("A", "A")),
        ({"key": "B", "first_chord": "A", "capo": 2}, {"capo": 0}, ("A", "A")),
        ({"key": "E", "first_chord": "E7"}, {"tuning": "Eb standard"}, ("Eb", "Eb7 (E7 shape)")),
        ({"key": "E", "first_chord": "E7"}, {"tuning": "Eb standard", "capo": 1}, ("E", "E7")),
        ({"key": "E", "first_chord": "E7"}, {"tuning": "drop D"}, ("E", "E7")),
        ({"key": "E", "first_chord": "E7"}, {"instrument": "other six", "tuning": "D standard"}, ("E", "E7")),
        ({"key": "E", "first_chord": "E7"}, {"capo": 0}, ("E", "E7")),
        ({"key": "modal", "first_chord": None}, {"capo": 1}, ("modal", None)),
    ],
)
def test_the_key_follows_capo_and_tuning_as_far_as_it_can_be_told(
    make_rig: Any, make_song: Any, usual: dict[str, Any], changes: dict[str, Any], sounds: tuple[str, str | None]
) -> None:
    """Worked by hand; a fret and a step of a tuning are a semitone (equal temperament)."""
    usual = {"instrument": "six", "tuning": "E standard", **usual}
    assert tonight(make_rig, make_song, usual, changes) == sounds


@pytest.mark.parametrize(
    ("name", "by", "is_called"),
    [
        ("C", 1, "Db"),
        ("C minor", 1, "C# minor"),
        ("F#m", -1, "Fm"),
        ("Gmaj7", 1, "Abmaj7"),
        ("B♭ major", 2, "C major"),
        ("A", 12, "A"),
        ("none", 3, "none"),
    ],
)
def test_a_key_keeps_its_kind_and_gets_the_name_that_is_usual(name: str, by: int, is_called: str) -> None:
    """Fewest sharps or flats: common practice, no source."""
    assert moved(name, by) == is_called


def test_the_only_guitar_of_a_rig_moves_the_key_of_a_song_that_names_none(make_rig, make_song):
    rig = make_rig(instruments={"six": GUITARS["six"]})
    book = Book(songs={"one": make_song(key="E", cues=[])}, rigs={"r": rig})
    changes = {"one": {"tuning": "Eb standard"}}
    show = Show.model_validate({"format": 1, "title": "F", "sets": [{"songs": [{"song": "one"}]}], "tonight": changes})
    assert prepare_song(book, "one", rig, show).song.key == "Eb"
