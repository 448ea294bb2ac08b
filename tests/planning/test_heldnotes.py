"""Notes that sound on past their stop."""

import pytest

from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.planning.heldnotes import GRACE_S, with_held
from showrunner.planning.practice import Arrival, Review
from showrunner.state.moments import prepare
from showrunner.state.script import Script

RIG = Rig.model_validate({"format": 1, "title": "Test rig"})
SONG = Song.model_validate(
    {
        "format": 1,
        "title": "Low Lantern",
        "duration": "1:00",
        "cues": [{"name": "Ring", "hold": True}, {"name": "Damp", "stop": {"by": "picking hand"}}],
    }
)
SCRIPT = Script(RIG, {"low": prepare("low", SONG, RIG)}, ("low",))
FOUND = Review((Arrival(10.0, "low", "Ring", None), Arrival(20.0, "low", "Damp", None)), ())
STOP_S = 20.0


def held(*heard: tuple[float, bytes]) -> list[int]:
    return [a.held for a in with_held(FOUND, SCRIPT, [(at_s, "host", data) for at_s, data in heard]).arrivals]


ON = (10.0, b"\x90\x40\x50")


def test_a_note_that_sounds_on_past_its_stop_counts_there_and_nowhere_else():
    assert held(ON) == [0, 1]
    assert with_held(FOUND, SCRIPT, [(10.0, "host", ON[1])]).arrivals[1].faults == ("note held on",)


@pytest.mark.parametrize("off", [b"\x80\x40\x00", b"\x90\x40\x00", b"\xb0\x78\x00", b"\xb0\x7b\x00", b"\xb0\x7f\x00"])
def test_every_way_to_end_a_note_in_time_is_one(off: bytes):
    # MIDI 1.0 Detailed Specification, from memory: velocity 0, all sound off (120), all notes off and modes (123-127).
    assert held(ON, (STOP_S + GRACE_S - 0.1, off)) == [0, 0]
    assert held(ON, (STOP_S + GRACE_S + 0.1, off)) == [0, 1]


def test_another_notes_or_channels_end_is_none():
    assert held(ON, (20.1, b"\x80\x41\x00"), (20.2, b"\x81\x40\x00"), (20.3, b"\xb1\x7b\x00")) == [0, 1]


def test_a_note_begun_after_the_stop_is_another_matter():
    assert held((20.5, ON[1])) == [0, 0]


def test_where_no_note_is_heard_nothing_is_said():
    assert with_held(FOUND, SCRIPT, [(1.0, "host", b"\xb0\x0b\x40")]) == FOUND
