"""Control changes as bytes on the wire (MIDI 1.0, Tables II and III)."""

from showrunner.model.midi import lsb_of
from showrunner.model.rig import Target

CONTROL_CHANGE = 0xB0


def control_change(channel: int, cc: int, value: int) -> bytes:
    """One control change of three bytes; channel 1–16, controller and value 0–127, else ValueError."""
    if not (1 <= channel <= 16 and 0 <= cc <= 127 and 0 <= value <= 127):
        raise ValueError(f"no such control change: channel {channel}, controller {cc}, value {value}")
    return bytes((CONTROL_CHANGE | (channel - 1), cc, value))


def messages(target: Target, number: int) -> tuple[bytes, ...]:
    """What sets a target to a number: one control change, or for 14 bits the MSB and then the LSB on cc + 32.

    A controller that has no LSB gets the MSB alone, since cc + 32 would be another parameter.
    """
    if target.bits == 7:
        return (control_change(target.channel, target.cc, number),)
    msb, lsb = divmod(number, 128)
    coarse, fine_cc = control_change(target.channel, target.cc, msb), lsb_of(target.cc)
    return (coarse,) if fine_cc is None else (coarse, control_change(target.channel, fine_cc, lsb))
