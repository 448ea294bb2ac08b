"""Bytes from a port: which control they are, and what becomes of those that no control owns."""

from showrunner.curves.tables import Send
from showrunner.model.midi import lsb_of
from showrunner.model.rig import Control
from showrunner.state.values import Work

LSB_WAIT_S = 0.005
"""How long an MSB waits for its LSB before it counts alone; a pair takes 1.92 ms on a DIN wire."""

_CONTROL_CHANGE = 0xB0
_PROGRAM_CHANGE = 0xC0


def read(work: Work, port: str, data: bytes) -> list[tuple[str, int]]:
    """The controls that a message moves, with their raw values; what no control owns is passed on or dropped."""
    if len(data) == 3 and data[0] & 0xF0 == _CONTROL_CHANGE:
        place = (port, (data[0] & 0x0F) + 1, data[1])
        whole = work.script.whole.get(place)
        if whole is not None:
            return [(whole, data[2])]
        half = work.script.halves.get(place)
        if half is not None:
            return _half(work, half, data[2], is_msb=work.script.rig.controls[half].cc == data[1])
    _pass_on(work, port, data)
    return []


def messages_of(control: Control, raw: int) -> list[bytes]:
    """What a control sends when it stands at a raw value; none for one that is on no port."""
    if control.channel is None or control.cc is None:
        return []
    status, fine = _CONTROL_CHANGE | control.channel - 1, lsb_of(control.cc)
    if control.bits == 7 or fine is None:
        return [bytes((status, control.cc, raw))]
    return [bytes((status, control.cc, raw >> 7)), bytes((status, fine, raw & 0x7F))]


def overdue(work: Work) -> list[tuple[str, int]]:
    """Controls of 14 bits whose MSB has waited long enough: it set the LSB to zero (MIDI 1.0, p. 12)."""
    moved = []
    for control, (msb, due_s) in list(work.halves.items()):
        if due_s is not None and work.at_s >= due_s:
            work.halves[control] = (msb, None)
            moved.append((control, msb << 7))
    return moved


def _half(work: Work, control: str, value: int, *, is_msb: bool) -> list[tuple[str, int]]:
    if is_msb:
        work.halves[control] = (value, work.at_s + LSB_WAIT_S)
        return []
    msb, _ = work.halves.get(control, (work.raws.get(control, 0) >> 7, None))
    work.halves[control] = (msb, None)
    return [(control, msb << 7 | value)]


def _pass_on(work: Work, port: str, data: bytes) -> None:
    to = work.script.rig.ports[port].pass_to if port in work.script.rig.ports else None
    if to is not None and data and (to, "output") not in work.missing:
        work.sends.append(Send(to, data))
        if _is_program(data):
            work.programs.pop((to, (data[0] & 0x0F) + 1), None)


def _is_program(data: bytes) -> bool:
    """Whether a message changes the program or the bank, so that what was in force may not be any more."""
    status = data[0] & 0xF0
    return status == _PROGRAM_CHANGE or (status == _CONTROL_CHANGE and data[1:2] in (b"\x00", b"\x20"))
