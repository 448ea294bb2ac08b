"""Rules on numbers used twice: one target under two names, and a low byte that is something else's number."""

from collections.abc import Iterator

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.midi import Address, control_addresses, shared, target_addresses
from showrunner.checks.words import listed
from showrunner.model.midi import lsb_of


def _same_target(context: Context) -> Iterator[Finding]:
    for users in shared(target_addresses(context.rig)).values():
        yield SAME_TARGET.in_file(
            "rig",
            context.rig_slug,
            users[-1].key,
            what=f"{listed(user.name for user in users)} are one and the same: {users[0].words}",
            why="A curve on one undoes what a cue set by the other, and no rule can see that they clash.",
            mend="Keep one name, and use it in the songs; or mend the number of the one that was miscopied.",
        )


SAME_TARGET = Rule(
    name="same-target",
    level="warning",
    find=_same_target,
    looks_for="Two targets with one port, channel and controller.",
    because="The receiver has one parameter there; two names hide that songs fight over it.",
    such_as="[targets.drive] and [targets.gain], both cc = 70 on channel 1 of the host.",
    fix="Keep one of the names; where units differ, choose the one the songs are written in.",
)


def _low_byte_taken(context: Context) -> Iterator[Finding]:
    for addresses in (control_addresses(context.rig), target_addresses(context.rig)):
        low = {
            (fine.port, fine.channel, number): fine
            for fine in addresses
            if fine.bits == 14 and (number := lsb_of(fine.cc)) is not None
        }
        for address in addresses:
            fine = low.get((address.port, address.channel, address.cc))
            if fine is not None:
                yield LOW_BYTE_TAKEN.in_file(
                    "rig",
                    context.rig_slug,
                    address.key,
                    what=f'"{address.name}" is {address.words}, which carries the low seven bits of "{fine.name}" '
                    f"({fine.cc} + 32)",
                    why=f'Every fine step of "{fine.name}" moves "{address.name}" all over its range.',
                    mend=_elsewhere(address, fine),
                )


def _elsewhere(address: Address, fine: Address) -> str:
    return f'Give "{address.name}" another number, or be content with bits = 7 on "{fine.name}".'


LOW_BYTE_TAKEN = Rule(
    name="low-byte-taken",
    level="error",
    find=_low_byte_taken,
    looks_for="A control or target on the number, 32 higher, that a 14-bit one of the same port and channel sends "
    "its low bits on.",
    because="The two share a number: the low bits of one are read as the value of the other.",
    such_as='[controls.swell] cc = 11, bits = 14, and [controls."sw 3"] cc = 43.',
    fix="Keep the numbers 32 above those of 14-bit controls and targets free.",
)
