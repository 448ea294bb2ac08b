"""Rules on programs: what a song recalls, where it goes, and the time it takes to settle."""

from collections.abc import Iterator

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.words import offer, seconds
from showrunner.state.receiver import force, in_force
from showrunner.state.values import Program as InForce

PROGRAMS = 128
"""Program numbers on the wire: seven bits."""


def _program_range(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        program = facts.piece.song.program
        if program is not None and not 0 <= program.number < PROGRAMS:
            port = context.rig.ports.get(program.port)
            copied = program.number == PROGRAMS and port is not None and port.programs_count_from == 1
            yield PROGRAM_RANGE.in_song(
                facts,
                ("program", "number"),
                what=f"program {program.number} doesn't exist: on the wire they are 0 to {PROGRAMS - 1}",
                why="Nothing is recalled, and the song starts with the sound of the one before.",
                mend=f"Write {PROGRAMS - 1}: the host counts from 1 on its screen, the wire from 0."
                if copied
                else "Write the number as on the wire; what lies beyond is reached by bank_msb and bank_lsb.",
            )


PROGRAM_RANGE = Rule(
    name="program-range",
    level="error",
    find=_program_range,
    looks_for="A song's program number outside 0 to 127, which is what the wire carries.",
    because="A program change has seven bits: what is beyond cannot be sent.",
    such_as='program = { port = "host", channel = 1, number = 128 }, copied from a screen that counts from 1.',
    fix="Write one less than a screen that counts from 1 shows, and use banks beyond that.",
)


def _program_nowhere(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        program = facts.piece.song.program
        port = context.rig.ports.get(program.port) if program is not None else None
        if program is not None and (port is None or not port.sends):
            lacks = f'has no port "{program.port}"' if port is None else f'sends nothing on "{program.port}"'
            sending = (name for name, other in context.rig.ports.items() if other.sends)
            yield PROGRAM_NOWHERE.in_song(
                facts,
                ("program", "port"),
                what=f"{context.rig.title} {lacks}, where this song's program {program.number} should go"
                + offer(sending, "it sends on"),
                why="Nothing is recalled, and the song starts with the sound of the one before.",
                mend="Name a port of this rig that has an output, or give the port one.",
            )


PROGRAM_NOWHERE = Rule(
    name="program-nowhere",
    level="error",
    find=_program_nowhere,
    looks_for="A song's program for a port that the rig does not have, or that nothing can be sent to.",
    because="A program that goes nowhere leaves the host as it was.",
    such_as='program = { port = "hsot", … }',
    fix="Use the rig's own name of a port with an output.",
)


def _half_bank(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        program = facts.piece.song.program
        if program is not None and (program.bank_msb is None) != (program.bank_lsb is None):
            there, missing = ("bank_lsb", "bank_msb") if program.bank_msb is None else ("bank_msb", "bank_lsb")
            yield HALF_BANK.in_song(
                facts,
                ("program", there),
                what=f"the program has {there} and no {missing}",
                why="The receiver keeps the other half from an earlier song, so the bank depends on what was played "
                "before.",
                mend=f"Write {missing} too, 0 if the host has no use for it.",
            )


HALF_BANK = Rule(
    name="half-bank",
    level="warning",
    find=_half_bank,
    looks_for="A program with one half of a bank and not the other.",
    because="A bank is chosen by both halves, sent as a pair before the program (MIDI 1.0, pages 13 and 14).",
    such_as='program = { port = "host", channel = 1, bank_lsb = 2, number = 5 }',
    fix="Give both halves, or none.",
)


def _bank_from_before(context: Context) -> Iterator[Finding]:
    if context.show is None:
        return
    banked: dict[tuple[str, int], Facts] = {}
    reserve = [facts for facts in context.songs if facts not in context.order]
    for facts in (*context.order, *reserve):
        program = facts.piece.song.program
        if program is None:
            continue
        place = (program.port, program.channel)
        if program.bank_msb is not None or program.bank_lsb is not None:
            banked[place] = facts
        elif place in banked:
            before = banked[place]
            yield BANK_FROM_BEFORE.in_song(
                facts,
                ("program",),
                what=f'"{facts.title}" has a program without a bank on "{program.port}", channel {program.channel}, '
                f'and comes after "{before.title}", which selects one',
                why=f'Its program is taken from the bank that "{before.title}" left in force; without that song before '
                "it, it is another sound.",
                mend="Write bank_msb and bank_lsb for this song too, 0 for the host's first bank.",
            )


BANK_FROM_BEFORE = Rule(
    name="bank-from-before",
    level="warning",
    find=_bank_from_before,
    looks_for="A program without a bank in a show where a song before it selects one on the same port and channel; "
    "songs of the reserve may come after any.",
    because="A bank holds until the next one is selected (MIDI 1.0, pages 13 and 14), so that what sounds depends on "
    "which songs were played before.",
    such_as='program = { port = "host", channel = 1, number = 5 } after a song with bank_msb = 1 and bank_lsb = 0.',
    fix="Give every program on that port and channel its bank, or none of them.",
)


def _no_time_to_settle(context: Context) -> Iterator[Finding]:
    there: dict[tuple[str, int], InForce] = {}
    segued = {after.slug: before for before, after, place in context.follows if place.pause.kind == "segue"}
    for facts in context.order:
        program, before = facts.piece.song.program, segued.get(facts.slug)
        if program is None:
            continue
        place = (program.port, program.channel)
        port = context.rig.ports.get(program.port)
        settle_s, has_s = port.settle_ms / 1000 if port is not None else 0.0, _count_in_s(facts)
        if before is not None and settle_s > has_s and not in_force(there.get(place), program):
            yield NO_TIME_TO_SETTLE.in_song(
                facts,
                ("program",),
                what=f'"{facts.title}" follows "{before.title}" by segue with another program; "{program.port}" needs '
                f"{seconds(settle_s)} to settle and has {seconds(has_s)}",
                why="The first notes meet a sound that is half recalled, and the tail of the song before is cut.",
                mend="Use one program for both and set the difference by targets, count in, or give the pair a gap.",
            )
        there[place] = force(there.get(place), program)


def _count_in_s(facts: Facts) -> float:
    song = facts.piece.song
    if song.count_in is None or song.tempo_bpm is None:
        return 0.0
    return song.count_in.bars * song.meter.quarters * 60 / song.tempo_bpm


NO_TIME_TO_SETTLE = Rule(
    name="no-time-to-settle",
    level="warning",
    find=_no_time_to_settle,
    looks_for="A song that follows by segue with another program than the one in force, on a port that needs more "
    "time after a program change than the count-in gives it.",
    because="Nothing is sent until the program has settled, and a new program cuts the tail of the old one.",
    such_as='{ song = "low-lantern", then = "segue" }, where the next song has a program of its own.',
    fix="Let songs that run into each other share a program, or count the second one in.",
)
