"""What hands and feet have to do between two songs, and how long each thing takes."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from showrunner.model.rig import Control, Instrument, Rig
from showrunner.planning.sidebyside import Job, least_time_s, no_less_s
from showrunner.planning.stage import (
    Stage,
    carried,
    guitar_for,
    on_some_guitar,
    stays_where_it_is_put,
    tuning_for,
)
from showrunner.state.moments import Piece, rest_by_hand

SWAP_S = 30.0
"""To another guitar that the rig does not know; common practice, no source."""

SELECTOR_S = 1.0
KNOB_S = 2.0
"""To set by hand what the rig gives no seconds for; common practice, no source."""

PARK_S = 1.0
"""To put a pedal or a switch where it belongs; common practice for a foot's way from pedal to switch, no source."""

BOTH_HANDS = ("fretting hand", "picking hand")

State = str | float | None


class Step(NamedTuple):
    """One thing to do: from one state to another (tunings by name, capo by fret, controls by travel in %).

    `limbs` are all needed at once; `waits_for` are the indices of the steps that come first. `detail` says what the
    names do not, such as which strings are turned.
    """

    what: str
    before: State
    after: State
    limbs: tuple[str, ...]
    seconds: float
    waits_for: tuple[int, ...] = ()
    detail: str = ""

    @property
    def limb(self) -> str:
        """What does it, in words."""
        return "both hands" if self.limbs == BOTH_HANDS else self.limbs[0]

    @property
    def change(self) -> str:
        """From which state to which, in words."""
        detail = f" ({self.detail})" if self.detail else ""
        return f"{self._words(self.before)} → {self._words(self.after)}{detail}"

    def _words(self, state: State) -> str:
        if state is None:
            return "?"
        if self.what == "capo":
            return "no capo" if state == 0 else f"fret {state}"
        return state if isinstance(state, str) else f"{round(state, 4):g} %"


def steps_to(stage: Stage, piece: Piece) -> tuple[Step, ...]:
    """Everything to do from a stage to a song's first note.

    A running driver off first, then the guitar, its tuning, its capo, the switches on it, its driver last; pedals and
    what stands on the floor at any time. What the rig does not have is left out.
    """
    rig, wanted = piece.rig, piece.moments[piece.first].by_hand
    guitar, by_hand = guitar_for(stage, piece), dict(stage.by_hand)
    steps: list[Step] = []
    handling, running = list(_onto_guitar(stage, piece, guitar)), rig.driver_of(stage.guitar)
    if handling and running is not None and by_hand.get(running, "off") != "off":
        steps.append(_by_hand(rig, running, by_hand[running], "off"))
        by_hand[running] = "off"
    for step in handling:
        steps.append(step._replace(waits_for=_last(steps)))
    if guitar != stage.guitar:
        rests = rest_by_hand(rig)
        by_hand |= {name: rests[name] for name in carried(rig, guitar) if name in rests}
    ready, driver, mine = _last(steps), rig.driver_of(guitar), carried(rig, guitar)
    changes = [name for name, to in wanted.items() if name in rig.controls and by_hand.get(name) != to]
    on_guitar = [name for name in changes if name in mine and name != driver]
    steps += [_by_hand(rig, name, by_hand.get(name), wanted[name], ready) for name in on_guitar]
    if driver is not None and driver in changes:
        steps.append(_by_hand(rig, driver, by_hand.get(driver), wanted[driver], tuple(range(len(steps)))))
    on_floor = [name for name in changes if not on_some_guitar(rig, name)]
    steps += [_by_hand(rig, name, by_hand.get(name), wanted[name]) for name in on_floor]
    return (*steps, *_parking(stage, piece))


def needed_s(steps: Sequence[Step]) -> float:
    """Seconds the steps take, side by side where limbs allow it."""
    return least_time_s([Job(step.seconds, step.limbs, step.waits_for) for step in steps])


def at_least_s(steps: Sequence[Step]) -> float:
    """Seconds that the steps take at least if what stands nobody knows where may stand right already."""
    jobs: list[Job] = []
    stands_for: list[set[int]] = []
    for step in steps:
        waits_for = {job for index in step.waits_for for job in stands_for[index]}
        if step.before is not None:
            jobs.append(Job(step.seconds, step.limbs, tuple(sorted(waits_for))))
            waits_for = {len(jobs) - 1}
        stands_for.append(waits_for)
    return no_less_s(jobs)


def _last(steps: Sequence[Step]) -> tuple[int, ...]:
    return (len(steps) - 1,) if steps else ()


def _onto_guitar(stage: Stage, piece: Piece, guitar: str | None) -> Iterator[Step]:
    if guitar is None:
        return
    the = piece.rig.instruments.get(guitar)
    tuning, capo = stage.tuning, stage.capo
    if guitar != stage.guitar:
        yield Step("guitar", stage.guitar, guitar, BOTH_HANDS, SWAP_S if the is None else the.swap_s)
        tuning, capo = None if the is None else the.home_tuning, 0
    if the is None:
        return
    wanted = tuning_for(stage, piece)
    turned = strings_to_turn(the, tuning, wanted)
    if turned:
        detail = ", ".join(turned)
        yield Step("tuning", tuning, wanted, BOTH_HANDS, len(turned) * the.retune_s_per_string, detail=detail)
    if capo != piece.song.capo:
        yield Step("capo", capo, piece.song.capo, BOTH_HANDS, the.capo_s)


def strings_to_turn(guitar: Instrument, before: str | None, after: str | None) -> tuple[str, ...]:
    """The strings whose note differs between two of a guitar's tunings, as `6 B1→A1`, the lowest first.

    Every string where it is not known how the guitar is tuned; none for a tuning that the guitar does not have.
    """
    wanted = guitar.tunings.get(after) if after is not None else None
    if wanted is None:
        return ()
    there = guitar.tunings.get(before) if before is not None else None
    if there is None:
        there = ("?",) * len(wanted)
    short = len(wanted) - len(there)
    there = (*there, *("?",) * short) if short > 0 else there
    return tuple(
        f"{len(wanted) - index} {old}→{new}"
        for index, (old, new) in enumerate(zip(there, wanted, strict=False))
        if old != new
    )


def _by_hand(rig: Rig, name: str, before: str | None, after: str, waits_for: tuple[int, ...] = ()) -> Step:
    control = rig.controls.get(name)
    limb = "picking hand" if control is None or control.limb is None else control.limb
    return Step(name, before, after, (limb,), seconds_to_set(control), waits_for)


def seconds_to_set(control: Control | None) -> float:
    """Seconds to set something by hand: the rig's own figure, else common practice's."""
    if control is not None and control.seconds is not None:
        return control.seconds
    return KNOB_S if control is not None and control.kind == "knob" else SELECTOR_S


def _parking(stage: Stage, piece: Piece) -> Iterator[Step]:
    """Pedals, switches and knobs on a port that stand elsewhere than the song wants them."""
    rig, first = piece.rig, piece.moments[piece.first]
    steps = rig.steps
    stepping = (steps.next, steps.back) if steps is not None else ()
    for name, to in first.controls.items():
        control = rig.controls.get(name)
        if control is None or control.by_hand or name in stepping or not stays_where_it_is_put(control):
            continue
        at = stage.controls.get(name)
        if at != to:
            seconds = control.seconds if control.seconds is not None else PARK_S
            yield Step(name, at, to, (control.limb or "right foot",), seconds)
