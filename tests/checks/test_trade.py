"""What players know of string drivers, as the rules take it: common practice, no source."""

from collections.abc import Callable
from typing import Any

from showrunner.checks.run import check
from showrunner.model.library import Book

BookOf = Callable[..., Book]
RING = {"name": "Ring", "at": "1:00", "hold": True, "by_hand": {"octave switch": "octave"}}
ALONE = {"shows/friday/sets/0/songs": [{"song": "eel"}]}


def rules(book: Book) -> set[str]:
    return {finding.rule for finding in check(book, show="friday")}


def test_muting_the_output_does_not_stop_a_driven_string(healthy: dict[str, Any], book_of: BookOf) -> None:
    """Common practice, no source: a driver runs from its own battery with nothing plugged in."""
    quiet = {"name": "Silence", "at": "4:00", "targets": {"output": -90}}
    assert rules(book_of(healthy, ALONE | {"songs/eel/cues": [RING, quiet]})) == {"note-never-stopped"}


def test_a_driven_note_never_ends_by_itself(healthy: dict[str, Any], book_of: BookOf) -> None:
    """Common practice, no source: the driver feeds the string as long as it is on, however long the song is."""
    edits = ALONE | {"songs/eel/cues": [RING], "songs/eel/duration": "15:00"}
    assert rules(book_of(healthy, edits)) == {"note-never-stopped"}


def test_a_hand_that_damps_the_string_ends_a_driven_note(healthy: dict[str, Any], book_of: BookOf) -> None:
    """Common practice, no source."""
    damp = {"name": "Damp", "at": "4:00", "stop": {"by": "fretting hand", "driver": "off"}}
    assert rules(book_of(healthy, ALONE | {"songs/eel/cues": [RING, damp]})) == set()


def test_changing_the_sound_or_the_octave_does_not_end_a_driven_note(healthy: dict[str, Any], book_of: BookOf) -> None:
    """Common practice, no source: another program, curve or octave is only another sound of the same string."""
    other = {"name": "Other", "at": "4:00", "targets": {"room": 30}, "by_hand": {"octave switch": "fundamental"}}
    assert rules(book_of(healthy, ALONE | {"songs/eel/cues": [RING, other]})) == {"note-never-stopped"}


def test_a_guitar_put_down_undamped_with_its_driver_on_starts_to_ring(healthy: dict[str, Any], book_of: BookOf) -> None:
    """Common practice, no source: undamped strings start to ring between notes, so damping alone is not enough."""
    damped = {"songs/lantern/cues/2/stop": {"by": "picking hand", "driver": "on"}}
    switched_off = {"songs/lantern/cues/2/stop": {"by": "picking hand", "driver": "off"}}
    assert "driver-left-on" in rules(book_of(healthy, damped))
    assert "driver-left-on" not in rules(book_of(healthy, switched_off))


def test_a_driver_without_its_battery_is_not_counted_on(healthy: dict[str, Any], book_of: BookOf) -> None:
    """Common practice, no source."""
    assert rules(book_of(healthy, without=("rigs/full/batteries/driver cell",))) == {"driver-unfed"}
