"""The 128 controller numbers of MIDI 1.0 (Tables III and IV), with what each is for: names, LSBs, reserved ones."""

from typing import Literal, NamedTuple

ControllerKind = Literal["msb", "lsb", "switch", "single", "prefix", "reserved", "mode", "undefined"]
"""msb: has an LSB; lsb: is one; switch: off below 64; single: has no LSB; prefix: belongs to the note that follows;
reserved: picks a bank, or names, sets or steps another parameter; mode: a channel mode message; undefined: free.
"""


class Controller(NamedTuple):
    """One controller number: what the standard calls it, and what kind it is."""

    cc: int
    name: str
    kind: ControllerKind


_NAMED: dict[int, tuple[str, ControllerKind]] = {
    0: ("bank select", "reserved"),
    1: ("modulation", "msb"),
    2: ("breath", "msb"),
    4: ("foot", "msb"),
    5: ("portamento time", "msb"),
    6: ("data entry", "reserved"),
    7: ("channel volume", "msb"),
    8: ("balance", "msb"),
    10: ("pan", "msb"),
    11: ("expression", "msb"),
    12: ("effect control 1", "msb"),
    13: ("effect control 2", "msb"),
    16: ("general purpose 1", "msb"),
    17: ("general purpose 2", "msb"),
    18: ("general purpose 3", "msb"),
    19: ("general purpose 4", "msb"),
    64: ("damper", "switch"),
    65: ("portamento", "switch"),
    66: ("sostenuto", "switch"),
    67: ("soft", "switch"),
    68: ("legato", "switch"),
    69: ("hold 2", "switch"),
    **{69 + n: (f"sound controller {n}", "single") for n in range(1, 11)},
    **{75 + n: (f"general purpose {n}", "single") for n in range(5, 9)},
    84: ("portamento control", "prefix"),
    88: ("high-resolution velocity prefix", "prefix"),
    **{90 + n: (f"effects {n} depth", "single") for n in range(1, 6)},
    96: ("data increment", "reserved"),
    97: ("data decrement", "reserved"),
    98: ("non-registered parameter number LSB", "reserved"),
    99: ("non-registered parameter number MSB", "reserved"),
    100: ("registered parameter number LSB", "reserved"),
    101: ("registered parameter number MSB", "reserved"),
    120: ("all sound off", "mode"),
    121: ("reset all controllers", "mode"),
    122: ("local control", "mode"),
    123: ("all notes off", "mode"),
    124: ("omni mode off", "mode"),
    125: ("omni mode on", "mode"),
    126: ("mono mode on", "mode"),
    127: ("poly mode on", "mode"),
}


def _controller(cc: int) -> Controller:
    if 32 <= cc < 64:
        of = _controller(cc - 32)
        return Controller(cc, f"{of.name} LSB", "reserved" if of.kind == "reserved" else "lsb")
    return Controller(cc, *_NAMED.get(cc, ("undefined", "undefined")))


CONTROLLERS: tuple[Controller, ...] = tuple(_controller(cc) for cc in range(128))
"""By number, 0–127."""


def is_reserved(cc: int) -> bool:
    """Whether a controller number is spoken for: bank select, data entry, RPN and NRPN, channel mode."""
    return CONTROLLERS[cc].kind in ("reserved", "mode")


def lsb_of(cc: int) -> int | None:
    """The controller that carries the low seven bits of this one, None for those from 32 up, which have none."""
    return cc + 32 if cc < 32 else None
