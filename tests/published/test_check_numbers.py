"""Which controller numbers the check lets a control or a target have, against the MIDI 1.0 Detailed Specification."""

from showrunner.checks.run import check
from showrunner.checks.wire import MESSAGE_S
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.song import Song

SONG = Song.model_validate({"format": 1, "title": "Any", "duration": "3:00"})


def rules_of(cc: int, bits: int = 7) -> set[str]:
    rig = {
        "format": 1,
        "title": "One target",
        "ports": {"host": {"output": "Host"}},
        "targets": {"one": {"port": "host", "channel": 1, "cc": cc, "bits": bits, "range": [0, 1]}},
    }
    return {f.rule for f in check(Book(rig="one", rigs={"one": Rig.model_validate(rig)}, songs={"any": SONG}))}


def test_exactly_the_numbers_that_midi_keeps_for_other_things_are_called_reserved() -> None:
    """MIDI 1.0 Detailed Specification 4.2.1, Tables III and IV: bank, data entry and steps, NRPN, RPN, channel mode."""
    kept = {0, 32, 6, 38, 96, 97, 98, 99, 100, 101, *range(120, 128)}
    assert {cc for cc in range(128) if "reserved-controller" in rules_of(cc)} == kept


def test_only_numbers_below_32_can_have_14_bits() -> None:
    """MIDI 1.0 Detailed Specification 4.2.1, page 12: controllers 0 to 31 have an LSB, 32 higher."""
    assert {cc for cc in range(128) if "no-lsb" in rules_of(cc, 14)} == set(range(32, 128))


def test_a_control_change_takes_960_microseconds_on_a_din_wire() -> None:
    """MIDI 1.0 Detailed Specification 4.2.1, pages 1 and 9: 31,250 baud, ten bits a byte, three bytes."""
    assert MESSAGE_S == 3 * 10 / 31_250
