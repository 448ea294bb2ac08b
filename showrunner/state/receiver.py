"""The receiving end: what it should have, what it is known to have, and the bytes that close the gap."""

from collections.abc import Iterable

from showrunner.curves.laws import inside, to_number
from showrunner.curves.message import messages
from showrunner.curves.tables import Send
from showrunner.model.song import Program as ProgramOf
from showrunner.state.values import Aim, Program, Work

BANK_MSB, BANK_LSB = 0, 32


def curve_value(work: Work, control: str, target: str, assumed: float | None = None) -> float | None:
    """The value a control's curve in force asks of a target where the control stands, or is `assumed` to, travel in %.

    None where neither is known. Trims may take it beyond the target's range, as any value here: what is sent and what
    is compared is held to it.
    """
    table = work.table(control)
    travel = work.travels.get(control, assumed)
    if table is None or travel is None or target not in table.targets:
        return None
    return table.asked(target, travel)


def value_now(work: Work, target: str) -> float | None:
    """The value a target should have now, in its unit, before its range is minded; None where nothing governs it."""
    aim = work.aims.get(target)
    if aim is None:
        return None
    if aim.control is None or aim.how in ("fixed", "stands", "waits"):
        return aim.value
    to = curve_value(work, aim.control, target)
    if to is None:
        return aim.value
    if aim.how == "follows":
        return to
    the = work.script.rig.targets[target]
    start, to = inside(the, aim.value), inside(the, to)
    return start + (to - start) * min(1.0, (work.at_s - aim.since_s) / max(glide_s(work, aim), 1e-9))


def glide_s(work: Work, aim: Aim) -> float:
    """Length of a glide, s, as its curve says."""
    curve = work.piece.curve(work.now, aim.control) if aim.control is not None else None
    return 0.25 if curve is None else curve.glide_ms / 1000


def push(work: Work, targets: Iterable[str] | None = None) -> None:
    """Send what the receiver should have and is not known to have: named values first, curves after them.

    Nothing goes to a port whose program settles, and nothing at all of a song that is still to be brought, but the
    mute. That is lifted only once every program has settled, on whichever port.
    """
    rig = work.script.rig
    names = list(work.aims if targets is None else targets)
    mute = rig.mute.target if rig.mute is not None else None
    if targets is None:
        late = {name for name in names if work.aims[name].how in ("follows", "glides")}
        names.sort(key=lambda name: (not (work.muted and name == mute), name in late))
    for name in names:
        target = rig.targets[name]
        muted = name == mute and work.muted
        if (target.port, "output") in work.missing or target.port in work.settling:
            continue
        if work.brings_s is not None and not muted:
            continue
        aim = work.aims.get(name)
        if aim is not None and aim.control in work.withheld and aim.how in ("follows", "glides"):
            continue
        if muted and rig.mute is not None:
            value: float | None = rig.mute.value
        elif name == mute and work.settling and _is_down(work, name):
            continue
        elif rig.routing == "beside" and aim is not None and aim.how in ("follows", "glides", "waits"):
            work.known.pop(name, None)
            continue
        else:
            value = value_now(work, name)
            if value is None and name == mute:
                value = target.rest
        if value is None:
            continue
        number = to_number(target, value)
        if work.known.get(name) != number:
            work.known[name] = number
            work.sends.extend(Send(target.port, data) for data in messages(target, number))


def silence(work: Work) -> None:
    """Turn the mute target down at once, even while its port settles: then it goes out again once that is over."""
    mute = work.script.rig.mute
    target = work.script.rig.targets.get(mute.target) if mute is not None else None
    if mute is None or target is None:
        return
    if target.port not in work.settling:
        push(work, [mute.target])
    elif (target.port, "output") not in work.missing:
        number = to_number(target, mute.value)
        work.sends.extend(Send(target.port, data) for data in messages(target, number))


def _is_down(work: Work, mute: str) -> bool:
    """Whether the target that mutes may still be down."""
    rig = work.script.rig
    down = to_number(rig.targets[mute], rig.mute.value) if rig.mute is not None else None
    return work.known.get(mute) in (None, down)


def recall_program(work: Work, *, anew: bool = False) -> None:
    """Send the song's program where another is in force, or in any case with `anew`, then let it settle.

    The bank goes with it where that is not in force either: it holds until the next one (MIDI 1.0, pp. 13-14).
    """
    program = work.piece.song.program
    if program is None or program.port not in work.script.rig.ports or not 0 <= program.number <= 127:
        return
    place = (program.port, program.channel)
    if (program.port, "output") in work.missing:
        work.owed |= {program.port}
        return
    there = None if anew else work.programs.get(place)
    if in_force(there, program):
        return
    banked = there is not None and in_force(there, program.model_copy(update={"number": there[2]}))
    work.sends.extend(Send(program.port, data) for data in program_messages(program, banked=banked))
    work.programs[place] = force(work.programs.get(place), program)
    work.owed -= {program.port}
    forget(work, program.port)
    settle_ms = work.script.rig.ports[program.port].settle_ms
    if settle_ms > 0:
        work.settling[program.port] = work.at_s + settle_ms / 1000
    work.show("program", str(program.number))


def in_force(there: Program | None, wanted: ProgramOf) -> bool:
    """Whether a program with its bank is in force; a half of the bank that it leaves out is whatever is there."""
    return there is not None and there == force(there, wanted)


def force(there: Program | None, program: ProgramOf) -> Program:
    """What is in force after a program: halves of the bank that it leaves out stay as they are, None if unknown."""
    msb, lsb = (None, None) if there is None else there[:2]
    return (
        msb if program.bank_msb is None else program.bank_msb,
        lsb if program.bank_lsb is None else program.bank_lsb,
        program.number,
    )


def program_messages(program: ProgramOf, *, banked: bool = False) -> tuple[bytes, ...]:
    """Bank MSB, bank LSB, program change, as they follow each other on the wire; no bank where it is `banked`."""
    channel = program.channel - 1
    banks = ((BANK_MSB, program.bank_msb), (BANK_LSB, program.bank_lsb))
    selects = tuple(bytes((0xB0 | channel, cc, value)) for cc, value in banks if value is not None and not banked)
    return (*selects, bytes((0xC0 | channel, program.number)))


def forget(work: Work, port: str) -> None:
    """Nothing is known any more of what the receiver on a port has."""
    for name in [name for name in work.known if work.script.rig.targets[name].port == port]:
        del work.known[name]
