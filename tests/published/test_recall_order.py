"""What the machine sends on a recall against the MIDI 1.0 Detailed Specification v4.2.1 (MMA, 1996)."""

from showrunner.model.rig import Rig
from showrunner.model.song import Program, Song
from showrunner.state.machine import open_show
from showrunner.state.moments import prepare
from showrunner.state.receiver import program_messages
from showrunner.state.script import Script


def test_bank_msb_then_lsb_then_program_follow_each_other_at_once() -> None:
    # Pages 13–14: bank select MSB (controller 0) and LSB (controller 32), then the program change.
    program = Program(port="host", channel=3, bank_msb=1, bank_lsb=2, number=12)
    assert program_messages(program) == (b"\xb2\x00\x01", b"\xb2\x20\x02", b"\xc2\x0c")


def test_a_bank_is_never_sent_without_its_program() -> None:
    # Pages 13–14: a bank select alone must not change the program, so alone it is of no use.
    rig = Rig.model_validate({"format": 1, "title": "Rig", "ports": {"host": {"output": "Host", "settle_ms": 0}}})
    banked = {"port": "host", "channel": 1, "bank_msb": 1, "bank_lsb": 2, "number": 12}
    for program, sent in ((banked, [b"\xb0\x00\x01", b"\xb0\x20\x02", b"\xc0\x0c"]), (None, [])):
        song = Song.model_validate({"format": 1, "title": "Song", "duration": "3:00", "program": program})
        _, out = open_show(Script(rig, {"a": prepare("a", song, rig)}, ("a",)), 0.0)
        assert [send.message for send in out.sends] == sent
