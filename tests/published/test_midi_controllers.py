"""Controller numbers and their 14-bit pairs against the MIDI 1.0 Detailed Specification v4.2.1 (MMA, 1996)."""

import pytest

from showrunner.curves.message import messages
from showrunner.model.midi import CONTROLLERS, is_reserved, lsb_of
from showrunner.model.rig import Target

# Table III, read in the primary text.
NAMES = {
    0: "bank select",
    1: "modulation",
    2: "breath",
    4: "foot",
    5: "portamento time",
    6: "data entry",
    7: "channel volume",
    8: "balance",
    10: "pan",
    11: "expression",
    12: "effect control 1",
    13: "effect control 2",
    16: "general purpose 1",
    19: "general purpose 4",
    64: "damper",
    65: "portamento",
    66: "sostenuto",
    67: "soft",
    68: "legato",
    69: "hold 2",
    70: "sound controller 1",
    79: "sound controller 10",
    80: "general purpose 5",
    83: "general purpose 8",
    84: "portamento control",
    91: "effects 1 depth",
    95: "effects 5 depth",
    96: "data increment",
    97: "data decrement",
    98: "non-registered parameter number LSB",
    99: "non-registered parameter number MSB",
    100: "registered parameter number LSB",
    101: "registered parameter number MSB",
}


def _target(cc, bits):
    return Target.model_validate({"port": "host", "channel": 1, "cc": cc, "bits": bits, "range": [0, 1]})


@pytest.mark.parametrize("cc", NAMES)
def test_a_controller_has_the_standards_name(cc):
    assert CONTROLLERS[cc].name == NAMES[cc]


def test_the_table_has_each_number_once():
    assert [controller.cc for controller in CONTROLLERS] == list(range(128))


def test_undefined_numbers_are_the_standards():
    # Table III; 88, undefined in 1996, later became the high-resolution velocity prefix (CA-031, from memory).
    undefined = {c.cc for c in CONTROLLERS if c.kind == "undefined"}
    assert undefined == {3, 9, 14, 15, *range(20, 32), *range(85, 88), 89, 90, *range(102, 120)}
    assert CONTROLLERS[88].kind == "prefix"


def test_bank_data_entry_parameter_numbers_and_channel_modes_are_reserved():
    # Tables III and IV: bank select 0 and 32, data entry 6 and 38, inc and dec, NRPN and RPN, channel mode 120–127.
    assert {cc for cc in range(128) if is_reserved(cc)} == {0, 32, 6, 38, *range(96, 102), *range(120, 128)}


def test_channel_modes_have_the_standards_names():
    # Table IV, read in the primary text.
    names = [c.name for c in CONTROLLERS if c.kind == "mode"]
    assert names == [
        "all sound off",
        "reset all controllers",
        "local control",
        "all notes off",
        "omni mode off",
        "omni mode on",
        "mono mode on",
        "poly mode on",
    ]


def test_the_first_32_controllers_have_their_lsb_32_further_on():
    # P. 12 and Table III: 32–63 are the LSBs of 0–31.
    assert [lsb_of(cc) for cc in range(32)] == list(range(32, 64))
    assert [CONTROLLERS[cc + 32].name for cc in range(32)] == [f"{CONTROLLERS[cc].name} LSB" for cc in range(32)]


def test_lsbs_and_controllers_from_64_have_no_lsb():
    # P. 12.
    assert {lsb_of(cc) for cc in range(32, 128)} == {None}


def test_switches_are_64_to_69():
    # P. 12 and Table III.
    assert [c.cc for c in CONTROLLERS if c.kind == "switch"] == list(range(64, 70))


@pytest.mark.parametrize("cc", range(32))
def test_the_msb_goes_out_before_the_lsb(cc):
    # P. 12: a received MSB sets the LSB to zero, so the LSB has to follow.
    assert messages(_target(cc, 14), 0x2A55) == (bytes([0xB0, cc, 0x54]), bytes([0xB0, cc + 32, 0x55]))


def test_msb_and_lsb_join_to_every_number_of_fourteen_bits():
    target = _target(7, 14)
    joined = [msb[2] * 128 + lsb[2] for msb, lsb in (messages(target, n) for n in range(16384))]
    assert joined == list(range(16384))


def test_no_data_byte_has_its_top_bit_set():
    # Table I: data bytes are 0–127.
    sent = [message for n in range(0, 16384, 61) for message in messages(_target(7, 14), n)]
    assert all(message[0] == 0xB0 and max(message[1:]) < 128 for message in sent)
