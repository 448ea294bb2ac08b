"""Control changes as bytes."""

import pytest

from showrunner.curves.message import control_change, messages


def test_seven_bits_are_one_control_change(target):
    assert messages(target(channel=3, cc=70), 65) == (bytes([0xB2, 70, 65]),)


def test_fourteen_bits_are_the_msb_and_then_the_lsb(target):
    assert messages(target(bits=14, cc=7, channel=16), 8193) == (bytes([0xBF, 7, 64]), bytes([0xBF, 39, 1]))


def test_a_controller_without_an_lsb_never_reaches_into_another(target):
    assert messages(target(bits=14, cc=70), 16383) == (bytes([0xB0, 70, 127]),)


@pytest.mark.parametrize("wrong", [(0, 1, 1), (17, 1, 1), (1, 128, 1), (1, 1, 128), (1, -1, 1)])
def test_what_is_no_control_change_is_refused(wrong):
    with pytest.raises(ValueError, match="no such control change"):
        control_change(*wrong)
