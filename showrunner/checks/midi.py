"""Rules on what goes over the wire: controller numbers, their low bytes, programs and banks."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Key, Rule
from showrunner.checks.words import listed
from showrunner.model.midi import CONTROLLERS, is_reserved, lsb_of
from showrunner.model.rig import Rig


class Address(NamedTuple):
    """A controller number in use: who uses it, and where the rig's file says so."""

    table: str
    name: str
    port: str
    channel: int
    cc: int
    bits: int

    @property
    def key(self) -> Key:
        """Where its number stands in the rig's file."""
        return (self.table, self.name, "cc")

    @property
    def words(self) -> str:
        """The number as a player reads it off a device."""
        return f"controller {self.cc} on channel {self.channel} of {self.port}"


def control_addresses(rig: Rig) -> list[Address]:
    """What each control that sends sends, by name."""
    return [
        Address("controls", name, c.port, c.channel, c.cc, c.bits)
        for name, c in sorted(rig.controls.items())
        if c.port is not None and c.channel is not None and c.cc is not None
    ]


def target_addresses(rig: Rig) -> list[Address]:
    """What each target is sent as, by name."""
    return [Address("targets", name, t.port, t.channel, t.cc, t.bits) for name, t in sorted(rig.targets.items())]


def shared(addresses: list[Address]) -> Mapping[tuple[str, int, int], list[Address]]:
    """The numbers that more than one uses, with their users."""
    by_number: defaultdict[tuple[str, int, int], list[Address]] = defaultdict(list)
    for address in addresses:
        by_number[address.port, address.channel, address.cc].append(address)
    return {number: users for number, users in by_number.items() if len(users) > 1}


def _same_controller(context: Context) -> Iterator[Finding]:
    for users in shared(control_addresses(context.rig)).values():
        first, *others = users
        yield SAME_CONTROLLER.in_file(
            "rig",
            context.rig_slug,
            others[-1].key,
            what=f"{listed(user.name for user in users)} all send {first.words}"
            if len(users) > 2
            else f"{listed(user.name for user in users)} both send {first.words}",
            why="They can't be told apart: moving one moves whatever the other should.",
            mend=f"Give each a number of its own on the board and in the rig; {_free(context.rig, first)}",
        )


def _free(rig: Rig, near: Address) -> str:
    taken = {
        number
        for address in control_addresses(rig)
        if (address.port, address.channel) == (near.port, near.channel)
        for number in (address.cc, lsb_of(address.cc) if address.bits == 14 else None)
    }
    free = [c.cc for c in CONTROLLERS if c.kind == "undefined" and c.cc not in taken]
    return f"{', '.join(map(str, free[:4]))} are free there" if free else "another channel has free ones"


SAME_CONTROLLER = Rule(
    name="same-controller",
    level="error",
    find=_same_controller,
    looks_for="Two controls that send the same controller on one channel and port.",
    because="Nothing on the wire says which was moved.",
    such_as='swell and wash both have port = "floor", channel = 1, cc = 11.',
    fix="Set the board so that each control sends a number, or a channel, of its own.",
)


def _reserved_controller(context: Context) -> Iterator[Finding]:
    for address in (*control_addresses(context.rig), *target_addresses(context.rig)):
        if is_reserved(address.cc):
            verb = "sends" if address.table == "controls" else "is sent as"
            yield RESERVED_CONTROLLER.in_file(
                "rig",
                context.rig_slug,
                address.key,
                what=f'"{address.name}" {verb} controller {address.cc}, which is {CONTROLLERS[address.cc].name}',
                why="Receivers take it for that: a bank changes, notes are cut or another parameter is set "
                "while the player only moves a control.",
                mend="Use a number without such a meaning, for instance one of 14, 15, 20 to 31 or 102 to 119.",
            )


RESERVED_CONTROLLER = Rule(
    name="reserved-controller",
    level="error",
    find=_reserved_controller,
    looks_for="A control or target on a number that MIDI keeps for bank select (0, 32), data entry (6, 38), "
    "stepping (96, 97), parameter numbers (98 to 101) or channel mode (120 to 127).",
    because="These numbers command something: sweeping over 123 silences every note, over 0 it changes banks.",
    such_as='[targets.drive] cc = 120 — MIDI 1.0, Table III, has "all sound off" there.',
    fix="Move it to an undefined number (14, 15, 20 to 31, 102 to 119), on the device and in the rig.",
)


def _no_lsb(context: Context) -> Iterator[Finding]:
    for address in (*control_addresses(context.rig), *target_addresses(context.rig)):
        if address.bits == 14 and lsb_of(address.cc) is None:
            yield NO_LSB.in_file(
                "rig",
                context.rig_slug,
                (address.table, address.name, "bits"),
                what=f'"{address.name}" wants 14 bits on controller {address.cc}, which has no LSB; only 0 to 31 have',
                why="The low bits go to a controller that means something else, and the fine steps are lost.",
                mend="Move it to a number below 32, for instance 14, 15 or 20 to 31, or write bits = 7.",
            )


NO_LSB = Rule(
    name="no-lsb",
    level="error",
    find=_no_lsb,
    looks_for="A control or target with bits = 14 on a controller number from 32 up.",
    because="MIDI pairs only 0 to 31 with a second number for the low seven bits, 32 above them (MIDI 1.0, page 12).",
    such_as="[controls.swell] cc = 70, bits = 14.",
    fix="Use a number below 32, or be content with 7 bits.",
)
