"""Rules on the wire: what a DIN cable can carry while a pedal is swept."""

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import BOARD_MESSAGES_PER_S, FAST_SWEEP_S, LATE_MS
from showrunner.checks.words import listed
from showrunner.curves.laws import numbering
from showrunner.curves.message import messages
from showrunner.curves.shapes import row_in
from showrunner.model.rig import Rig
from showrunner.model.song import Curve

MESSAGE_S = 0.00096
"""A control change on a DIN wire: three bytes of ten bits at 31,250 baud (MIDI 1.0, pages 1 and 9)."""


def late_s(curve: Curve, names: list[str], rig: Rig) -> float:
    """How long after a fast sweep the last message on a DIN wire lands, in seconds; 0 where the wire keeps up.

    From heel to toe or back, whichever is later. Each reading sends what has changed since the one before and has the
    time until the next; what the wire can't carry by then is still going out when that comes.
    """
    readings = round(FAST_SWEEP_S * BOARD_MESSAGES_PER_S)
    loads = [0.0] * readings
    for name in names:
        target, value = rig.targets[name], row_in(curve, name)
        number, each_s = numbering(target), MESSAGE_S * len(messages(target, 0))
        numbers = [number(value(100 * reading / readings)) for reading in range(readings + 1)]
        for reading, (before, after) in enumerate(pairwise(numbers)):
            loads[reading] += each_s * (before != after)
    return max(_behind(loads), _behind(loads[::-1]))


def _behind(loads: list[float]) -> float:
    behind = 0.0
    for load in loads:
        behind = max(0.0, behind + load - FAST_SWEEP_S / len(loads))
    return behind


def _wire_overrun(context: Context) -> Iterator[Finding]:
    rig = context.rig
    slow = {name for name, port in rig.ports.items() if port.wire == "din" and port.sends}
    if rig.routing != "through" or not slow:
        return
    for facts in context.songs:
        for of_set, curves in facts.piece.song.curves.items():
            for control, curve in curves.items():
                if control not in rig.controls or rig.controls[control].kind == "switch":
                    continue
                by_port: defaultdict[str, list[str]] = defaultdict(list)
                for name in sorted(curve.moves.keys() & rig.targets.keys()):
                    by_port[rig.targets[name].port].append(name)
                for port in sorted(by_port.keys() & slow):
                    late_ms = late_s(curve, by_port[port], rig) * 1000
                    if late_ms > LATE_MS:
                        yield WIRE_OVERRUN.in_song(
                            facts,
                            facts.control_key(of_set, control),
                            what=f'a fast sweep of "{control}" in "{of_set}" sends more than the DIN wire of "{port}" '
                            f"carries; the last message lands {late_ms:.0f} ms late",
                            why=f"The sound of {listed(by_port[port])} drags behind the foot.",
                            mend="Use USB, spread the targets over two ports, or let fewer of them move at once.",
                        )


WIRE_OVERRUN = Rule(
    name="wire-overrun",
    level="warning",
    find=_wire_overrun,
    looks_for="A curve on a DIN wire of which a fast sweep makes more messages than the wire carries at "
    f"{MESSAGE_S * 1000:.2f} ms each, so that the last lands over {LATE_MS:g} ms late. Common practice: the "
    f"sweep takes {FAST_SWEEP_S:g} s, a board sends {BOARD_MESSAGES_PER_S} messages a second at the most, and "
    f"{LATE_MS:g} ms are heard.",
    because="A DIN wire carries about a thousand messages a second; what is more waits in line.",
    such_as='Seven targets on one pedal, on a port with wire = "din".',
    fix="Two or three targets to a pedal are no trouble; for more, use a faster wire.",
)
