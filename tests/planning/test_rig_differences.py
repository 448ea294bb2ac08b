"""Two rigs beside each other: what the second lacks, adds and has otherwise, and the songs it touches."""

from typing import Any

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.planning.rig_differences import Named, Otherwise, PartDifferences, differences, touched

E, D = ["E2", "A2", "D3", "G3", "B3", "E4"], ["D2", "A2", "D3", "G3", "B3", "E4"]
PEDAL = {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11}
DRIVE = {"port": "host", "channel": 1, "cc": 20, "range": [0, 12]}
SONGS = {
    slug: Song.model_validate({"format": 1, "title": slug, "duration": "4:00"} | keys)
    for slug, keys in {
        "eel": {"curves": {"v": {"swell": {"travel": [0, 100], "moves": {"drive": [0, 12]}}}}},
        "tide": {"start": {"targets": {"drive": 3}}, "instrument": "six", "tuning": "drop D"},
        "ferry": {"program": {"port": "host", "channel": 1, "number": 1}, "instrument": "six"},
        "dock": {"cues": [{"name": "Theme", "by_hand": {"knob": "half"}}]},
    }.items()
}


def rig(**keys: Any) -> Rig:
    return Rig.model_validate({"format": 1, "title": "Rig"} | keys)


def compared(first: dict[str, Any], second: dict[str, Any]) -> tuple[PartDifferences, ...]:
    return differences(Book(songs=SONGS), rig(**first), rig(**second))


def test_a_rig_does_not_differ_from_itself_whatever_it_is_called() -> None:
    same = {"controls": {"swell": PEDAL}, "targets": {"drive": DRIVE}}
    assert differences(Book(songs=SONGS), rig(**same), rig(**same, title="Other")) == ()


def test_a_control_that_is_missing_touches_the_songs_that_move_it_or_set_it_by_hand() -> None:
    (part,) = compared({"controls": {"swell": PEDAL, "knob": {"kind": "knob"}}}, {"controls": {"tilt": PEDAL}})
    assert part.lacks == (Named("swell", ("eel",)), Named("knob", ("dock",)))
    assert part.adds == (Named("tilt", ()),)


def test_a_target_that_is_sent_differently_is_said_key_by_key() -> None:
    (part,) = compared({"targets": {"drive": DRIVE}}, {"targets": {"drive": DRIVE | {"cc": 21, "channel": 2}}})
    assert part.otherwise == (
        Otherwise("drive", "channel", 1, 2, ("eel", "tide")),
        Otherwise("drive", "cc", 20, 21, ("eel", "tide")),
    )


def test_a_port_touches_the_songs_that_send_a_program_there() -> None:
    (part,) = compared({"ports": {"host": {"output": "A*"}}}, {"ports": {"host": {"output": "B*"}}})
    assert part.otherwise == (Otherwise("host", "output", "A*", "B*", ("ferry",)),)


def test_a_tuning_that_is_gone_touches_only_the_songs_in_it() -> None:
    (part,) = compared(
        {"instruments": {"six": {"tunings": {"E standard": E, "drop D": D}}}},
        {"instruments": {"six": {"tunings": {"E standard": E}}}},
    )
    assert [(one.key, one.songs) for one in part.otherwise] == [("tunings", ("tide",))]


def test_steps_mute_trims_gain_and_routing_touch_every_song() -> None:
    first = {
        "controls": {"a": {"kind": "switch"}},
        "steps": {"next": "a"},
        "mute": {"target": "drive", "value": 0},
        "gain": [{"stage": "input", "range_db": [0, 60]}],
    }
    second = {
        "controls": {"a": {"kind": "switch"}},
        "steps": {"next": "a", "hold_ms": 900},
        "gain": [{"stage": "input", "range_db": [0, 50]}, {"stage": "box", "range_db": [0, 1]}],
        "trims": {"input_gain_db": 5},
        "routing": "beside",
    }
    (part,) = compared(first, second)
    assert [(one.name, one.key) for one in part.otherwise] == [
        ("routing", ""),
        ("steps", "hold_ms"),
        ("mute", ""),
        ("gain", "input range_db"),
        ("gain", "box"),
        ("trims", "input_gain_db"),
    ]
    assert {one.songs for one in part.otherwise} == {tuple(sorted(SONGS))}


def test_songs_are_told_with_what_touches_them() -> None:
    parts = compared({"controls": {"swell": PEDAL}, "targets": {"drive": DRIVE}}, {"targets": {"drive": DRIVE}})
    assert touched(parts) == {"eel": {"controls": ["swell"]}}
