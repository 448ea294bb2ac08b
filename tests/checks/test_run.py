"""Which songs are looked at on which rig, in what order findings come, and what silences do."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.book.read import read_book
from showrunner.checks.run import check, check_song
from showrunner.model.library import Book
from showrunner.places import demo_book

BookOf = Callable[..., Book]


def on_small(healthy: dict[str, Any], without: str) -> dict[str, Any]:
    controls = {name: control for name, control in healthy["rigs"]["full"]["controls"].items() if name != without}
    healthy["rigs"]["small"] = healthy["rigs"]["full"] | {"title": "Small rig", "controls": controls}
    return healthy


def test_a_book_without_a_show_named_is_checked_on_its_usual_rig_and_each_show_on_its_own(
    healthy: dict[str, Any], book_of: BookOf
) -> None:
    book = book_of(on_small(healthy, "wash"), {"shows/friday/rig": "small"})
    assert [(f.rule, f.song) for f in check(book)] == [("missing-control", "eel")]


def test_a_rig_named_takes_the_place_of_the_shows_own(healthy: dict[str, Any], book_of: BookOf) -> None:
    book = book_of(on_small(healthy, "wash"), {"shows/friday/rig": "small"})
    assert check(book, show="friday", rig="full") == ()
    assert [f.what for f in check(book, rig="small")] == ['Small rig has no "wash", wanted to move "room" in "main"']


def test_a_show_is_checked_with_its_own_songs_only(healthy: dict[str, Any], book_of: BookOf) -> None:
    book = book_of(on_small(healthy, "wash"), {"shows/friday/sets/0/songs": [{"song": "lantern"}]})
    assert check(book, show="friday", rig="small") == ()


def test_the_same_thing_is_found_once_however_many_shows_have_it(healthy: dict[str, Any], book_of: BookOf) -> None:
    healthy["shows"]["saturday"] = healthy["shows"]["friday"] | {"title": "Saturday"}
    findings = check(book_of(healthy, {"songs/harbour/cues/0/targets/shimmer": 3}))
    assert [f.rule for f in findings] == ["missing-target"]


def test_a_show_or_rig_that_is_not_there_is_said_with_the_nearest_name(
    healthy: dict[str, Any], book_of: BookOf
) -> None:
    with pytest.raises(ValueError, match=r'no show "firday"; did you mean "friday"\?'):
        check(book_of(healthy), show="firday")
    with pytest.raises(ValueError, match='no rig "x"'):
        check(book_of(healthy), rig="x")


def test_a_book_that_names_no_rig_says_that_nothing_was_checked(healthy: dict[str, Any], book_of: BookOf) -> None:
    book = book_of(healthy)._replace(rig=None, rigs={}, shows={})
    assert [(f.rule, f.kind, f.key) for f in check(book)] == [("missing-rig", "book", ("rig",))]


def test_an_empty_book_has_nothing_to_find() -> None:
    assert check(Book()) == ()


def test_findings_come_by_level_then_in_the_shows_order(healthy: dict[str, Any], book_of: BookOf) -> None:
    edits = {
        "songs/lantern/quiet": {"two-curves": "no reason"},
        "songs/eel/start/targets": {"shimmer": 1},
        "songs/harbour/start/targets": {"shimmer": 1},
        "songs/lantern/curves/lead/strip/entry": "meet",
    }
    findings = check(book_of(healthy, edits), show="friday")
    assert [(f.level, f.song) for f in findings] == [
        ("error", "harbour"),
        ("error", "eel"),
        ("warning", "lantern"),
        ("note", "lantern"),
    ]


def test_findings_do_not_depend_on_the_order_of_files(healthy: dict[str, Any], book_of: BookOf) -> None:
    edits = {
        "songs/eel/start/targets": {"shimmer": 1},
        "songs/harbour/start/targets": {"shimmer": 1},
        "rigs/full/controls/wash/cc": 11,
    }
    book = book_of(on_small(healthy, "strip"), edits)
    backwards = book._replace(
        songs=dict(reversed(book.songs.items())),
        rigs=dict(reversed(book.rigs.items())),
        shows=dict(reversed(book.shows.items())),
    )
    assert check(book) == check(backwards)
    assert check(book, rig="small") == check(backwards, rig="small")


def test_a_silenced_finding_is_reported_with_its_reason(healthy: dict[str, Any], book_of: BookOf) -> None:
    edits = {
        "songs/lantern/curves/lead/strip/entry": "meet",
        "songs/lantern/quiet": {"meet-springs-back": "starts at rest anyway"},
    }
    (finding,) = check(book_of(healthy, edits))
    assert finding.silenced == "starts at rest anyway"


def test_a_silence_is_for_its_own_song_only(healthy: dict[str, Any], book_of: BookOf) -> None:
    edits = {
        "songs/eel/start/targets": {"shimmer": 1},
        "songs/harbour/start/targets": {"shimmer": 1},
        "songs/eel/quiet": {"missing-target": "comes with the next host"},
    }
    assert [(f.song, f.silenced) for f in check(book_of(healthy, edits), show="friday")] == [
        ("harbour", None),
        ("eel", "comes with the next host"),
    ]


def test_without_the_systems_ports_none_is_called_unplugged(healthy: dict[str, Any], book_of: BookOf) -> None:
    book = book_of(healthy, {"rigs/full/ports/host/output": "Elsewhere"})
    assert check(book) == ()


def test_a_silence_for_ports_is_not_called_unused_where_ports_were_not_looked_at(
    healthy: dict[str, Any], book_of: BookOf
) -> None:
    assert check(book_of(healthy, {"songs/eel/quiet": {"unplugged": "bought tomorrow"}})) == ()


def test_what_is_different_tonight_is_found_in_the_shows_file(healthy: dict[str, Any], book_of: BookOf) -> None:
    book = book_of(healthy, {"shows/friday/tonight": {"harbour": {"tuning": "drop D"}}})
    (finding,) = check(book, show="friday")
    assert (finding.rule, finding.kind, finding.slug) == ("missing-tuning", "show", "friday")
    assert finding.key == ("tonight", "harbour", "tuning")


def test_a_stand_in_that_is_there_mends_a_missing_control(healthy: dict[str, Any], book_of: BookOf) -> None:
    book = book_of(on_small(healthy, "wash"), {"shows/friday/stand_ins": {"eel": {"wash": "swell"}}})
    assert check(book, show="friday", rig="small") == ()


def test_a_stand_in_that_is_not_there_is_placed_at_what_the_song_wants(
    healthy: dict[str, Any], book_of: BookOf
) -> None:
    book = book_of(healthy, {"shows/friday/stand_ins": {"eel": {"wash": "tilt"}}})
    (finding,) = check(book, show="friday")
    assert finding.what == 'Full rig has no "tilt", wanted as the stand-in for "wash" to move "room" in "main"'
    assert finding.key == ("curves", "main", "wash")


@pytest.mark.parametrize("rig", ["full", "small"])
def test_what_is_found_in_one_song_is_what_is_found_in_it_among_all(rig: str) -> None:
    book = read_book(demo_book()).book._replace(rig=rig)
    found = check(book)
    for song in book.songs:
        assert check_song(book, song) == tuple(finding for finding in found if finding.song == song)
    assert {finding.song for finding in found} & set(book.songs)


def test_a_song_that_is_not_there_is_said_with_the_nearest_name(healthy: dict[str, Any], book_of: BookOf) -> None:
    with pytest.raises(ValueError, match="this book has no song"):
        check_song(book_of(healthy), "nowhere")
