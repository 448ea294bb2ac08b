"""A guitar swapped for its spare: what changes, what is lost, who does the work of what it lacks."""

from typing import Any

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning.spare import SwappedSong, guitars_of, on_spare

E = ["E2", "A2", "D3", "G3", "B3", "E4"]
D = ["D2", "A2", "D3", "G3", "B3", "E4"]
SWEEP = {"travel": [0, 100], "moves": {"drive": [0, 12]}}


def rig(**spare: Any) -> Rig:
    on_floor = {"port": "floor", "channel": 1}
    return Rig.model_validate(
        {
            "format": 1,
            "title": "Full",
            "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}},
            "controls": {
                "strip": {"kind": "strip", "limb": "picking hand", **on_floor, "cc": 16},
                "swell": {"kind": "pedal", "limb": "right foot", **on_floor, "cc": 11},
                "driver": {"kind": "selector", "positions": ["off", "octave"], "rest": "off"},
            },
            "targets": {"drive": {"port": "host", "channel": 1, "cc": 20, "range": [0, 12]}},
            "batteries": {"cell": {"capacity_mah": 500, "load_ma": 10}},
            "instruments": {
                "main": {
                    "tunings": {"E standard": E, "drop D": D},
                    "trim_db": -3,
                    "carries": ["strip", "driver"],
                    "battery": "cell",
                    "spare": "old one",
                },
                "old one": {"tunings": {"E standard": E, "drop D": D}, "trim_db": -1} | spare,
                "other": {"tunings": {"E standard": E}},
            },
        }
    )


def swapped(song: dict[str, Any], tonight: dict[str, Any] | None = None, **spare: Any) -> tuple[SwappedSong, ...]:
    the = Song.model_validate({"format": 1, "title": "Low Lantern", "duration": "4:00", "instrument": "main"} | song)
    show = Show.model_validate({"format": 1, "title": "Friday", "sets": [{"songs": [{"song": "a"}]}]} | (tonight or {}))
    full = rig(**spare)
    return on_spare(Book(songs={"a": the}, rigs={"full": full}, rig="full"), show, full, "old one")


def test_a_spare_knows_whose_it_is() -> None:
    assert guitars_of(rig(), "old one") == ("main",)
    assert guitars_of(rig(), "main") == ()


def test_trim_tuning_and_battery_change() -> None:
    (song,) = swapped({"tuning": "drop D"})
    assert song.changes == (
        "input gain +2 dB: old one is at -1 dB, main at -3 dB",
        "old one comes in E standard: 1 string to retune to drop D, about 8 s",
        "battery: none instead of cell",
    )
    assert song.losses == ()


def test_a_strip_it_does_not_carry_is_stood_in_for() -> None:
    (song,) = swapped({"curves": {"verse": {"strip": SWEEP}}})
    assert song.found.stand_ins == {"strip": "swell"}


def test_a_strip_it_does_carry_is_not() -> None:
    (song,) = swapped({"curves": {"verse": {"strip": SWEEP}}}, carries=["strip"])
    assert song.found.stand_ins == {}


def test_without_the_driver_held_notes_die_away() -> None:
    (song,) = swapped({"cues": [{"name": "Theme", "hold": True, "by_hand": {"driver": "octave"}}]})
    assert song.losses == (
        'in Low Lantern no driver keeps the note ringing at cue 1 "Theme": it dies away by itself',
        'in Low Lantern nothing takes driver: a hand should set it to "octave" at cue 1 "Theme", and old one has none',
    )
    assert list(song.found.unplayable) == ["driver"]


def test_a_tuning_it_does_not_have_is_lost() -> None:
    (song,) = swapped({"tuning": "drop D"}, tunings={"E standard": E})
    assert song.losses == ("in Low Lantern old one has no drop D",)


def test_a_tuning_of_the_same_name_with_other_strings_is_said() -> None:
    (song,) = swapped({"tuning": "drop D"}, tunings={"E standard": E, "drop D": E})
    assert song.losses == ("in Low Lantern drop D is another tuning on old one: E2 A2 D3 G3 B3 E4",)


def test_a_song_on_another_guitar_tonight_is_left_alone() -> None:
    assert swapped({}, {"tonight": {"a": {"instrument": "other"}}}) == ()
    assert len(swapped({"instrument": "other"}, {"tonight": {"a": {"instrument": "main"}}})) == 1


def test_a_spare_that_the_rig_does_not_describe_plays_nothing() -> None:
    full = rig()
    without = full.model_copy(update={"instruments": {"main": full.instruments["main"]}})
    song = Song.model_validate({"format": 1, "title": "Low Lantern", "duration": "4:00", "instrument": "main"})
    show = Show.model_validate({"format": 1, "title": "Friday", "reserve": ["a"]})
    (only,) = on_spare(Book(songs={"a": song}), show, without, "old one")
    assert only.losses == ("in Low Lantern there is no old one to play it on",)
