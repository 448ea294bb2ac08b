"""What the sheets say, against a small book worked by hand."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.model.library import Book
from showrunner.sheets.errors import SheetError
from showrunner.sheets.render import content


def songs(book: Book, audience: Any) -> dict[str, dict[str, Any]]:
    return {song["slug"]: song for part in content(book, "dock", audience)["parts"] for song in part["songs"]}


def test_songs_are_numbered_through_the_sets_with_the_encore_and_the_reserve_apart(book: Book) -> None:
    assert {slug: song["label"] for slug, song in songs(book, "floor").items()} == {
        "tide": "1",
        "ferry": "2",
        "lamp": "3",
        "last": "E1",
        "spare": "R1",
    }


def test_an_only_set_without_a_title_needs_none(book: Book) -> None:
    assert [part["title"] for part in content(book, "dock", "floor")["parts"]] == ["", "encore", "reserve"]


def test_two_sets_without_titles_are_told_apart(files: Any, book_of: Callable[[Any], Book]) -> None:
    files["show"]["dock"]["sets"] = [{"songs": [{"song": "tide"}]}, {"songs": [{"song": "ferry"}]}]
    titles = [part["title"] for part in content(book_of(files), "dock", "floor")["parts"]]
    assert titles == ["set 1", "set 2", "encore", "reserve"]


def test_a_head_says_what_the_player_must_know_before_the_first_note(book: Book) -> None:
    tide = songs(book, "floor")["tide"]
    said = [
        tide[name] for name in ("short", "first_chord", "tempo", "meter", "count_in", "outfit", "duration", "clock")
    ]
    assert said == ["TIDE OVER", "Dm", "120", "4/4", "2 bars, drums", "low, B standard", "4:00", "21:00"]
    assert (tide["hands"], tide["pedals"]) == (["string driver: fundamental"], ["swell: heel"])


def test_clock_times_go_on_by_songs_as_long_as_they_run_live_and_what_is_between_them(book: Book) -> None:
    # 4:00 × 1.04 + 1:30 = 5:39.6 after 21:00; 3:00 × 1.04 = 3:07.2 more (common practice, no source: 4 % long live)
    assert [song["clock"] for song in songs(book, "desk").values()] == ["21:00", "21:06", "21:09", "21:13", ""]


def test_without_a_start_nothing_has_a_clock_time(files: Any, book_of: Callable[[Any], Book]) -> None:
    del files["show"]["dock"]["start"]
    sheet = content(book_of(files), "dock", "crew")
    assert {song["clock"] for part in sheet["parts"] for song in part["songs"]} == {""}
    assert sheet["times"] == "slot 30:00, curfew 23:00"


def test_a_cue_says_what_hands_and_feet_do_and_what_the_machine_sends(book: Book) -> None:
    theme, solo, out = songs(book, "player")["tide"]["cues"]
    assert theme["does"] == ["string driver: octave", "swell: toe", "hold the note", "“eight bars”"]
    assert (theme["place"], theme["curves"], theme["sends"]) == ("1:12", "lead", ["drive 9 dB"])
    # Bar 61 of 4/4 at 120 starts after 60 bars of 2 s.
    assert (solo["place"], solo["does"]) == ("bar 61 (2:00)", ["open", "or back to Theme"])
    assert (out["place"], out["does"]) == ("", ["damp: picking hand", "string driver: off"])


def test_a_cue_at_the_start_belongs_to_what_is_set_before_the_first_note(
    files: Any, book_of: Callable[[Any], Book]
) -> None:
    cue = {"name": "First note", "at": "0:00", "by_hand": {"string driver": "octave"}, "controls": {"wah": 100}}
    files["song"]["last"]["cues"] = [cue]
    last = songs(book_of(files), "floor")["last"]
    assert (last["hands"], last["pedals"]) == (["string driver: octave"], ["wah: toe"])
    assert last["cues"][0]["does"] == []


def test_what_changes_between_songs_is_said_of_guitar_tuning_and_capo(book: Book) -> None:
    changes = {slug: song["changes"] for slug, song in songs(book, "floor").items()}
    assert changes == {
        "tide": [],
        "ferry": ["change to high", "tune to drop D", "capo 2"],
        "lamp": ["tune to standard", "capo off"],
        "last": ["change to low"],
        "spare": [],
    }


def test_a_pedal_that_the_song_before_left_elsewhere_is_named(book: Book) -> None:
    assert songs(book, "floor")["ferry"]["pedals"] == ["swell: heel"]
    assert songs(book, "floor")["lamp"]["pedals"] == []


def test_a_switch_that_the_song_before_left_on_is_turned_back(files: Any, book_of: Callable[[Any], Book]) -> None:
    files["song"]["tide"]["cues"].pop()
    assert songs(book_of(files), "floor")["ferry"]["hands"] == ["string driver: off"]


def test_what_follows_a_song_is_said_in_its_own_words(book: Book) -> None:
    follows = [song["follows"] for song in songs(book, "floor").values()]
    assert follows == ["talk 1:30", "segue, straight on", "break, off stage", "", ""]


def test_tonights_changes_are_played_and_named(files: Any, book_of: Callable[[Any], Book]) -> None:
    files["show"]["dock"]["tonight"] = {"ferry": {"capo": 0, "tempo_bpm": 99, "duration": "2:30", "trim_db": -1}}
    ferry = songs(book_of(files), "floor")["ferry"]
    assert (ferry["capo"], ferry["tempo"], ferry["duration"]) == ("", "99", "2:30")
    assert ferry["tonight"] == [
        "capo none, usually 2",
        "tempo 99, usually free",
        "length 2:30, usually 3:00",
        "trim -1 dB, usually 0 dB",
    ]


def test_a_stand_in_is_named_and_takes_the_place_of_what_it_stands_in_for(
    files: Any, book_of: Callable[[Any], Book]
) -> None:
    files["show"]["dock"]["stand_ins"] = {"tide": {"swell": "wah"}}
    tide = songs(book_of(files), "player")["tide"]
    assert tide["tonight"] == ["wah does the work of swell"]
    assert tide["pedals"] == ["wah: heel"]
    assert [view["control"] for cs in tide["sets"] for view in cs["curves"]] == ["wah", "wah"]


def test_what_the_rig_lacks_is_named_as_lacking(files: Any, book_of: Callable[[Any], Book]) -> None:
    del files["rig"]["small"]["controls"]["swell"], files["rig"]["small"]["targets"]["echo"]
    tide = songs(book_of(files), "player")["tide"]
    assert tide["pedals"] == ["swell (not on this rig): heel"]
    assert tide["start_sends"] == []
    assert tide["sets"][0]["curves"][0]["rows"][1]["target"] == "echo (not on this rig)"


def test_a_song_that_the_book_does_not_have_keeps_its_place(files: Any, book_of: Callable[[Any], Book]) -> None:
    del files["song"]["ferry"]
    of_show = songs(book_of(files), "floor")
    assert of_show["ferry"]["tonight"] == ["not in the book"]
    assert of_show["lamp"]["changes"] == ["change to high"]


def test_the_player_sees_what_moves_where_along_a_pedal(book: Book) -> None:
    verse, lead = songs(book, "player")["tide"]["sets"]
    (swell,) = verse["curves"]
    drive, echo = swell["rows"]
    assert (verse["used"], lead["used"]) == (["from the start"], ["from Theme"])
    assert swell["travel"] == ["0", "40", "50", "100"]
    assert drive["values"] == ["3", "3", "3", "12"]
    assert echo["values"] == ["60", "20", "20", "20"]
    assert drive["moves"] == "rests at 3 dB up to 50 %, rises to 12 dB"
    assert echo["moves"] == "falls from 60 % to 20 % at 40 %, rests at 20 %"
    assert echo["points"] == ["0 %: 60 %", "40 %: 20 %"]
    assert drive["ruler"] == "·" * 20 + "╱" * 20


def test_a_row_is_drawn_from_its_lowest_to_its_highest_value(book: Book) -> None:
    drive = songs(book, "player")["tide"]["sets"][0]["curves"][0]["rows"][0]
    points = [tuple(map(float, point.split(","))) for point in drive["line"].split(" ")]
    assert points[0] == (0, 10)
    assert points[-1] == (100, 0)
    assert dict(points)[75] == 5


def test_a_step_jumps(files: Any, book_of: Callable[[Any], Book]) -> None:
    curve = files["song"]["tide"]["curves"]["verse"]["swell"]
    curve["moves"] = {"drive": {"values": [3, 6, 2], "shape": "step"}}
    row = songs(book_of(files), "player")["tide"]["sets"][0]["curves"][0]["rows"][0]
    said = "rests at 3 dB up to 50 %, jumps up to 6 dB at 50 %, rests at 6 dB, jumps down to 2 dB at 100 %"
    assert row["moves"] == said


def test_a_program_is_numbered_as_the_host_shows_it(book: Book) -> None:
    assert songs(book, "player")["tide"]["program"] == "program 13 on host, channel 1"


def test_the_crew_see_each_guitar_with_its_tunings_songs_battery_and_spare(book: Book) -> None:
    low, high = content(book, "dock", "crew")["guitars"]
    assert (low["name"], low["spare"], low["battery"], low["carries"]) == (
        "low",
        "other low",
        "cell",
        ["string driver"],
    )
    assert low["tunings"] == [
        {"tuning": "B standard", "strings": "B1 E2 A2 D3 F#3 B3", "songs": ["1 Tide Over Everything", "E1 Last"]}
    ]
    assert [(tuned["tuning"], tuned["songs"]) for tuned in high["tunings"]] == [
        ("drop D", ["2 Ferry (capo 2)"]),
        ("standard", ["3 Lamp"]),
    ]


def test_the_crew_hand_guitars_over_and_the_player_does_the_rest(book: Book) -> None:
    steps = {slug: [(s["who"], s["what"]) for s in song["steps"]] for slug, song in songs(book, "crew").items()}
    assert steps["tide"] == [
        ("crew", "have ready: low, B standard"),
        ("picking hand", "string driver: fundamental"),
        ("right foot", "swell: heel"),
    ]
    assert steps["ferry"] == [("crew", "hand over: high, drop D, capo 2"), ("right foot", "swell: heel")]
    assert steps["lamp"] == [("player", "tune to standard"), ("player", "capo off")]
    assert songs(book, "crew")["ferry"]["time_before"] == "talk 1:30"
    assert songs(book, "crew")["last"]["time_before"] == "break, off stage"


def test_the_crew_see_batteries_and_checklists(book: Book) -> None:
    sheet = content(book, "dock", "crew")
    assert sheet["batteries"] == [
        {
            "name": "cell",
            "guitars": "low",
            "capacity": "550 mAh",
            "load": "18 mA",
            "fitted": "2027-01-02",
            "used": "1.5 h",
        }
    ]
    (doors,) = sheet["checklists"]
    assert doors["items"][0] == {"ask": "Strings", "answer": "stretched", "critical": True, "who": "crew"}


def test_the_desk_sees_where_the_guitar_gets_louder(book: Book) -> None:
    desk = songs(book, "desk")
    levels = [(moment["name"], moment["levels"]) for moment in desk["tide"]["moments"]]
    assert levels == [
        ("start", ["swell moves drive 3 to 12 dB"]),
        ("Theme", ["drive to 9 dB", "swell moves drive 9 to 12 dB", "a held note rings on from here"]),
        ("Out", ["the held note ends"]),
    ]
    assert [moment["levels"] for moment in desk["ferry"]["moments"]] == [["drive to 6 dB, up 6 dB"]]


def test_the_desk_sees_how_loud_songs_are_as_far_as_it_is_known(book: Book) -> None:
    desk = songs(book, "desk")
    assert desk["tide"]["loudness"] == "-18.2 LUFS, -3.1 dBTP"
    assert {slug: song["mark"] for slug, song in desk.items() if song["mark"]} == {
        "tide": "loudest",
        "ferry": "quietest",
    }
    assert desk["lamp"]["loudness"] == ""


def test_one_measured_song_is_neither_loudest_nor_quietest(files: Any, book_of: Callable[[Any], Book]) -> None:
    del files["song"]["ferry"]["level"]
    assert {song["mark"] for song in songs(book_of(files), "desk").values()} == {""}


def test_the_desk_is_told_the_limit_and_to_protect_hearing(book: Book) -> None:
    desk = content(book, "dock", "desk")
    assert desk["sound_limit"] == "97 dB(A) averaged over 1:00:00"
    # ISO 9613-1: 349.00 m/s at 30 °C, so 34.9 m take 100 ms.
    assert desk["back_wall"] == "100 ms to the back wall, 34.9 m at 30 °C, as last time"
    assert "Protect your hearing" in desk["caution"]
    assert "the law" in desk["caution"]
    assert desk["muted"] is True


def test_the_latest_visit_is_remembered_on_one_line(book: Book) -> None:
    assert content(book, "dock", "crew")["last_time"] == "2026-09-01: Better with the curtain shut."


def test_an_unknown_show_names_the_nearest_or_those_there_are(book: Book) -> None:
    with pytest.raises(SheetError, match=r'the book has no show "dork"; did you mean "dock"\?'):
        content(book, "dork", "floor")
    with pytest.raises(SheetError, match="it has dock"):
        content(book, "summer-tour", "floor")


def test_a_show_on_an_unknown_rig_says_which(files: Any, book_of: Callable[[Any], Book]) -> None:
    files["show"]["dock"]["rig"] = "large"
    with pytest.raises(SheetError, match=r'the rig "large" is not in the book.*there are small'):
        content(book_of(files), "dock", "floor")
