from typing import Any

import pytest

from showrunner.model.checklist import Checklist
from showrunner.model.library import Book
from showrunner.model.references import broken_references
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue

RIG: dict[str, Any] = {
    "format": 1,
    "title": "Full rig",
    "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}},
    "controls": {
        "swell": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11},
        "sw 1": {"kind": "switch", "port": "floor", "channel": 1, "cc": 80},
        "lever": {"kind": "switch"},
        "driver": {"kind": "selector", "positions": ["off", "octave"]},
        "tone": {"kind": "knob"},
    },
    "targets": {"drive": {"port": "host", "channel": 1, "cc": 70, "range": [0, 100]}},
    "instruments": {"baritone": {"tunings": {"B standard": ["B1", "E2"]}}},
    "batteries": {"cell": {"capacity_mah": 500, "load_ma": 18}},
}
SONG: dict[str, Any] = {"format": 1, "title": "Tin Lantern", "duration": "4:00"}
SHOW: dict[str, Any] = {"format": 1, "title": "Friday", "sets": [{"songs": [{"song": "tin-lantern"}]}]}
CURVES = {"verse": {"swell": {"travel": [0, 100], "moves": {"drive": [0, 50]}}}}


def book(
    song: dict[str, Any] | None = None, rig: dict[str, Any] | None = None, show: dict[str, Any] | None = None
) -> Book:
    return Book(
        songs={"tin-lantern": Song.model_validate(SONG | (song or {}))},
        rigs={"full": Rig.model_validate(RIG | (rig or {}))},
        shows={"friday": Show.model_validate(SHOW | (show or {}))},
    )


def broken(of: Book, unread: tuple[tuple[str, str], ...] = ()) -> list[tuple[tuple[str | int, ...], str, str]]:
    return [(found.key, found.what, found.mend) for found in broken_references(of, unread)]


def keys(of: Book) -> list[tuple[str | int, ...]]:
    return [found.key for found in broken_references(of)]


def test_a_book_whose_names_all_point_somewhere_is_whole() -> None:
    whole = {
        "instrument": "baritone",
        "tuning": "B standard",
        "program": {"port": "host", "channel": 1, "number": 3},
        "curves": CURVES,
        "start": {"curves": "verse", "controls": {"swell": 0}, "targets": {"drive": 3}, "by_hand": {"driver": "off"}},
        "cues": [{"name": "Theme", "curves": "verse"}, {"name": "Solo", "open": True, "back_to": "Theme"}],
    }
    assert keys(book(whole)) == []


def test_a_target_that_no_rig_has_is_named_with_the_nearest() -> None:
    assert broken(book({"start": {"targets": {"drve": 3}}})) == [
        (("start", "targets", "drve"), 'no rig has a target "drve"', 'did you mean "drive"?')
    ]


@pytest.mark.parametrize(
    ("song", "key"),
    [
        ({"start": {"controls": {"strip": 0}}}, ("start", "controls", "strip")),
        ({"start": {"by_hand": {"strip": "up"}}}, ("start", "by_hand", "strip")),
        ({"start": {"by_hand": {"driver": "high"}}}, ("start", "by_hand", "driver")),
        ({"start": {"curves": "verse"}}, ("start", "curves")),
        ({"cues": [{"name": "Theme", "curves": "lead"}]}, ("cues", 0, "curves")),
        ({"cues": [{"name": "Theme", "targets": {"mix": 3}}]}, ("cues", 0, "targets", "mix")),
        ({"curves": {"verse": {"strip": CURVES["verse"]["swell"]}}}, ("curves", "verse", "strip")),
        (
            {"curves": {"verse": {"swell": {"travel": [0], "moves": {"mix": [1]}}}}},
            ("curves", "verse", "swell", "moves", "mix"),
        ),
        ({"instrument": "banjo"}, ("instrument",)),
        ({"instrument": "baritone", "tuning": "C"}, ("tuning",)),
        ({"program": {"port": "guest", "channel": 1, "number": 3}}, ("program", "port")),
        ({"program": {"port": "floor", "channel": 1, "number": 3}}, ("program", "port")),
    ],
)
def test_a_songs_names_must_be_known(song: dict[str, Any], key: tuple[str | int, ...]) -> None:
    assert keys(book(song)) == [key]


def test_a_knob_set_by_hand_without_positions_may_stand_anywhere() -> None:
    assert keys(book({"start": {"by_hand": {"tone": "half way"}}})) == []


def test_a_position_that_one_of_two_rigs_has_is_known() -> None:
    other = Rig.model_validate(RIG | {"controls": {"driver": {"kind": "selector", "positions": ["high"]}}})
    of = book({"start": {"by_hand": {"driver": "high"}}})
    assert keys(of._replace(rigs={**of.rigs, "other": other})) == []


def test_nothing_is_missing_from_rigs_where_there_are_none_yet() -> None:
    of = book({"instrument": "banjo", "start": {"targets": {"mix": 3}, "by_hand": {"driver": "high"}}})
    assert keys(of._replace(rigs={})) == []


def test_a_rig_that_could_not_be_read_might_have_what_the_others_lack() -> None:
    of = book({"instrument": "banjo", "start": {"targets": {"mix": 3}, "by_hand": {"driver": "high"}}})
    assert broken(of, (("rig", "small"),)) == []


@pytest.mark.parametrize(
    ("cues", "key"),
    [
        ([{"name": "A", "at": "1:00"}, {"name": "B", "at": "0:59"}], ("cues", 1, "at")),
        ([{"name": "A", "at": "1:00"}, {"name": "B"}, {"name": "C", "bar": 30}], ("cues", 2, "bar")),
        ([{"name": "A"}, {"name": "A"}], ("cues", 1, "name")),
        ([{"name": "A", "open": True, "back_to": "A"}], ("cues", 0, "back_to")),
        ([{"name": "A", "open": True, "back_to": "B"}, {"name": "B"}], ("cues", 0, "back_to")),
        ([{"name": "A"}, {"name": "B", "back_to": "A"}], ("cues", 1, "back_to")),
    ],
)
def test_cues_that_cannot_be_so_are_found(cues: list[dict[str, Any]], key: tuple[str | int, ...]) -> None:
    assert keys(book({"tempo_bpm": 120, "cues": cues})) == [key]


@pytest.mark.parametrize(
    "cues",
    [
        [{"name": "A", "at": "1:00"}, {"name": "B", "at": "1:00"}],
        [{"name": "A", "at": "1:00"}, {"name": "B", "bar": 31}],
        [{"name": "A", "at": "1:00"}, {"name": "B"}, {"name": "C", "at": "1:01"}],
    ],
)
def test_cues_in_the_order_they_are_played_are_left_alone(cues: list[dict[str, Any]]) -> None:
    assert keys(book({"tempo_bpm": 120, "cues": cues})) == []


def test_without_a_tempo_bars_are_compared_with_bars_only() -> None:
    cues = [{"name": "A", "bar": 9}, {"name": "B", "at": "0:01"}, {"name": "C", "bar": 8}]
    assert keys(book({"cues": cues})) == [("cues", 2, "bar")]


@pytest.mark.parametrize(
    ("show", "key"),
    [
        ({"venue": "barn"}, ("venue",)),
        ({"rig": "small"}, ("rig",)),
        ({"checklists": ["doors"]}, ("checklists", 0)),
        ({"reserve": ["tin"]}, ("reserve", 0)),
        ({"encore": ["tin"]}, ("encore", 0)),
        ({"sets": [{"songs": [{"song": "tin-lantern", "pin": "after tin"}]}]}, ("sets", 0, "songs", 0, "pin")),
        ({"stand_ins": {"tin": {"swell": "swell"}}}, ("stand_ins", "tin")),
        ({"stand_ins": {"tin-lantern": {"swell": "strip"}}}, ("stand_ins", "tin-lantern", "swell")),
        ({"stand_ins": {"tin-lantern": {"strip": "swell"}}}, ("stand_ins", "tin-lantern", "strip")),
        ({"tonight": {"tin": {"capo": 2}}}, ("tonight", "tin")),
        ({"tonight": {"tin-lantern": {"instrument": "banjo"}}}, ("tonight", "tin-lantern", "instrument")),
        ({"tonight": {"tin-lantern": {"tuning": "C"}}}, ("tonight", "tin-lantern", "tuning")),
        ({"trims": {"targets": {"mix": 1}}}, ("trims", "targets", "mix")),
    ],
)
def test_a_shows_names_must_be_known(show: dict[str, Any], key: tuple[str | int, ...]) -> None:
    assert keys(book({"instrument": "baritone"}, show=show)) == [key]


def test_a_song_whose_file_could_not_be_read_is_not_called_missing() -> None:
    of = book(show={"encore": ["tin"], "reserve": ["gone"]})
    assert broken(of, (("song", "tin"),)) == [
        (("reserve", 0), 'there is no song "gone"', "add songs/gone.toml, or take it out here")
    ]


@pytest.mark.parametrize(
    ("rig", "key"),
    [
        (
            {"controls": {"swell": {"kind": "pedal", "port": "host", "channel": 1, "cc": 1}}},
            ("controls", "swell", "port"),
        ),
        (
            {"controls": {"swell": {"kind": "pedal", "port": "desk", "channel": 1, "cc": 1}}},
            ("controls", "swell", "port"),
        ),
        (
            {"targets": {"drive": {"port": "floor", "channel": 1, "cc": 1, "range": [0, 1]}}},
            ("targets", "drive", "port"),
        ),
        ({"ports": {**RIG["ports"], "floor": {"input": "F", "unmapped": "pass desk"}}}, ("ports", "floor", "unmapped")),
        (
            {"ports": {**RIG["ports"], "floor": {"input": "F", "unmapped": "pass floor"}}},
            ("ports", "floor", "unmapped"),
        ),
        ({"steps": {"next": "sw 2"}}, ("steps", "next")),
        ({"steps": {"next": "sw 1", "back": "swell"}}, ("steps", "back")),
        ({"steps": {"next": "lever"}}, ("steps", "next")),
        ({"mute": {"target": "output", "value": 0}}, ("mute", "target")),
        ({"mute": {"target": "drive", "value": 0, "switch": "sw 2"}}, ("mute", "switch")),
        ({"instruments": {"a": {"tunings": {"B": ["B1"]}, "carries": ["strip"]}}}, ("instruments", "a", "carries", 0)),
        ({"instruments": {"a": {"tunings": {"B": ["B1"]}, "battery": "dry"}}}, ("instruments", "a", "battery")),
        ({"instruments": {"a": {"tunings": {"B": ["B1"]}, "spare": "b"}}}, ("instruments", "a", "spare")),
        ({"instruments": {"a": {"tunings": {"B": ["B1"]}, "spare": "a"}}}, ("instruments", "a", "spare")),
        ({"trims": {"volume_target": "output"}}, ("trims", "volume_target")),
    ],
)
def test_a_rigs_own_names_must_be_known_and_its_ports_face_the_right_way(
    rig: dict[str, Any], key: tuple[str | int, ...]
) -> None:
    assert keys(book(rig=rig)) == [key]


def test_what_a_checklist_can_see_for_itself_must_be_in_a_rig() -> None:
    verify = ["port hst", "control swell", "battery cell", "not doubled swel", "findings"]
    items = [{"ask": "all well", "verify": text} for text in verify]
    of = book()._replace(
        checklists={"doors": Checklist.model_validate({"format": 1, "title": "Doors", "items": items})}
    )
    assert keys(of) == [("items", 0, "verify"), ("items", 3, "verify")]


def test_a_venues_trims_name_targets_that_a_rig_has() -> None:
    venue = {"format": 1, "title": "Barn", "trims": {"targets": {"drive": 1, "mix": 1}}}
    of = book()._replace(venues={"barn": Venue.model_validate(venue)})
    assert keys(of) == [("trims", "targets", "mix")]


def test_the_books_usual_rig_must_be_there() -> None:
    (found,) = broken_references(book()._replace(rig="ful"))
    assert (found.kind, found.key, found.mend) == ("book", ("rig",), 'did you mean "full"?')
