"""A show's trims, song by song."""

from typing import Any

import pytest

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue
from showrunner.planning.trims import show_levels

RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Bench rig",
        "ports": {"host": {"output": "Host*"}},
        "targets": {
            "output": {"port": "host", "channel": 1, "cc": 7, "unit": "dB", "range": [-60, 6], "level": True},
            "drive": {"port": "host", "channel": 1, "cc": 70, "unit": "dB", "range": [-12, 12], "level": True},
        },
        "instruments": {"baritone": {"tunings": {"B standard": ["B1"]}, "trim_db": -4}},
        "gain": [
            {"stage": "interface input", "range_db": [0, 60]},
            {"stage": "software", "range_db": [0, 0]},
            {"stage": "interface output", "range_db": [-60, 6]},
        ],
        "trims": {"input_gain_db": 32, "interface_volume_db": -12, "volume_target": "output"},
    }
)


def _song(**changes: Any) -> Song:
    return Song.model_validate({"format": 1, "title": "Low Water", "duration": "4:00", **changes})


def _book(venue: dict[str, Any] | None = None, **songs: Song) -> Book:
    room = Venue.model_validate({"format": 1, "title": "The Shed", "kind": "club", **(venue or {})})
    return Book(songs=songs, rigs={"bench": RIG}, venues={"shed": room})


def _show(*songs: str, **changes: Any) -> Show:
    sets = [{"songs": [{"song": slug} for slug in songs]}]
    return Show.model_validate({"format": 1, "title": "Friday", "venue": "shed", "sets": sets, **changes})


def test_each_song_has_its_own_volume_and_number() -> None:
    book = _book(tide=_song(), ebb=_song(trim_db=5.5))
    found = show_levels(book, _show("tide", "ebb"), RIG).songs
    assert [song.trims.interface_volume.set_db for song in found] == [-12, -6.5]
    assert [song.interface_volume_number for song in found] == [92, 103]  # 127·(dB + 60)/66, rounded


def test_tonights_trim_stands_instead_of_the_songs() -> None:
    show = _show("tide", tonight={"tide": {"trim_db": -2}})
    assert show_levels(_book(tide=_song(trim_db=1)), show, RIG).songs[0].trims.interface_volume.set_db == -14


def test_encore_and_reserve_have_trims_too() -> None:
    book = _book(tide=_song(), ebb=_song(), neap=_song())
    found = show_levels(book, _show("tide", encore=["ebb"], reserve=["neap"]), RIG).songs
    assert [song.song for song in found] == ["tide", "ebb", "neap"]


def test_the_song_and_stage_that_clip_first_are_named() -> None:
    book = _book(tide=_song(level={"true_peak_dbtp": -9}), ebb=_song(level={"true_peak_dbtp": -1}))
    first = show_levels(book, _show("tide", "ebb"), RIG).first
    assert first is not None
    assert (first[0], first[1].stage, first[1].headroom_db) == ("ebb", "software", 1)


def test_a_songs_moments_say_how_quiet_it_gets() -> None:
    cues = [{"name": "Lift", "targets": {"drive": 9}}, {"name": "Down", "targets": {"drive": -2}}]
    found = show_levels(_book(tide=_song(cues=cues)), _show("tide"), RIG).songs[0].stages[1]
    assert found.loudest_dbfs - found.quietest_dbfs == 11


def test_a_pedal_that_should_stand_elsewhere_makes_a_moment_louder() -> None:
    song = _song(
        start={"controls": {"swell": 0}},
        curves={"all": {"swell": {"travel": [0, 100], "moves": {"drive": [-6, 6]}}}},
        cues=[{"name": "Lift", "controls": {"swell": 75}}],
    )
    found = show_levels(_book(tide=song), _show("tide"), RIG).songs[0].stages[1]
    assert found.loudest_dbfs - found.quietest_dbfs == 9


def test_a_room_never_played_gets_a_start_from_rooms_like_it() -> None:
    other = Venue.model_validate({"format": 1, "title": "Cellar", "kind": "club", "trims": {"interface_volume_db": -3}})
    book = _book(tide=_song())
    start = show_levels(book._replace(venues={**book.venues, "cellar": other}), _show("tide"), RIG).start
    assert start is not None
    assert (start.rooms, start.interface_volume.middle_db) == (("cellar",), -3)


def test_a_room_that_has_trims_needs_no_start() -> None:
    book = _book({"trims": {"interface_volume_db": 1}}, tide=_song())
    assert show_levels(book, _show("tide"), RIG).start is None


def _number(rig: Rig, song: Song) -> int | None:
    return show_levels(_book(tide=song), _show("tide"), rig).songs[0].interface_volume_number


def test_a_rig_without_a_target_for_the_volume_has_no_number() -> None:
    rig = RIG.model_copy(update={"trims": RIG.trims.model_copy(update={"volume_target": None})})
    assert _number(rig, _song()) is None


@pytest.mark.parametrize("trim_db", [-200, 200])
def test_the_number_stays_on_the_wire(trim_db: float) -> None:
    assert _number(RIG, _song(trim_db=trim_db)) == (0 if trim_db < 0 else 127)
