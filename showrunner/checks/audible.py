"""Steps that are heard: a level that jumps between neighbouring positions of a pedal."""

import math
from collections.abc import Iterator
from itertools import pairwise

from showrunner.checks.context import Context, TargetRow
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import AUDIBLE_STEP_DB, HEARD_DOWN_TO_DB, LOUDEST_OVER_THRESHOLD_DB
from showrunner.checks.words import amount
from showrunner.curves.laws import GM_VOLUME_DB_PER_DECADE, to_number, to_value
from showrunner.curves.steps import Step, in_db, just_noticeable_db, steps
from showrunner.model.rig import Control, Target
from showrunner.model.song import Curve

STEEPEST = {"straight": 1.0, "smooth": 3.0, "equal-power": 1.6}
"""How much steeper than a straight line a shape can be between two columns, at most."""


def _audible_step(context: Context) -> Iterator[Finding]:
    levels = {name: target for name, target in context.rig.targets.items() if in_db(target)}
    controls = {n: c for n, c in context.rig.controls.items() if not c.by_hand and c.kind != "switch"}
    readings = {name: a_reading_pct(control) for name, control in controls.items()}
    for facts in context.songs if levels else ():
        for row in facts.rows:
            if row.target not in levels or row.control not in controls or row.low == row.high:
                continue
            control, target = controls[row.control], levels[row.target]
            if largest_possible_db(row, readings[row.control], target) <= AUDIBLE_STEP_DB:
                continue
            step = heard(control, row.curve, row.target, target)
            if step is not None:
                yield AUDIBLE_STEP.in_song(
                    facts,
                    facts.row_key(row),
                    what=f'"{row.target}" steps by {amount(step.size, "dB")} under "{row.control}" in "{row.of_set}", '
                    f"at {step.travel:.0f} % of its travel",
                    why="A slow movement is heard as a staircase there: up to "
                    f"{AUDIBLE_STEP_DB:g} dB a step is taken for smooth (common practice).",
                    mend=_mend(row, target, step),
                )


def heard(control: Control, curve: Curve, name: str, target: Target) -> Step | None:
    """The largest step of a target's row that is heard where it happens, None if none is; dB targets only."""
    top = max(target.range)
    worst, most = None, 0.0
    for step in steps(control, curve, name, target):
        under_db = top - max(step.from_value, step.to_value)
        if step.size <= most or under_db > HEARD_DOWN_TO_DB:
            continue
        if step.size > max(AUDIBLE_STEP_DB, just_noticeable_db(LOUDEST_OVER_THRESHOLD_DB - under_db)):
            worst, most = step, step.size
    return worst


def a_reading_pct(control: Control) -> float:
    """The most travel, %, from one raw value of a control to the next."""
    pairs = control.calibration or ((0.0, 0.0), (float(control.top), 100.0))
    return max((after[1] - before[1]) / (after[0] - before[0]) for before, after in pairwise(pairs))


def largest_possible_db(row: TargetRow, reading_pct: float, target: Target) -> float:
    """No step of a row is larger than this, dB: a quick bound from its columns, before its numbers are gone through."""
    values, travel = row.move.values, row.travel
    steepest = STEEPEST.get(row.move.shape)
    if steepest is None:
        a_reading = row.high - row.low
    else:
        rises = (abs(values[i] - values[i - 1]) / (travel[i] - travel[i - 1]) for i in range(1, len(values)))
        a_reading = steepest * max(rises) * reading_pct
    return a_reading + _a_number_db(target, row.low, row.high)


def _a_number_db(target: Target, low: float, high: float) -> float:
    """The most that one controller number is worth between two values, dB."""
    if target.law == "linear":
        start, end = target.range
        return abs(end - start) / (127 if target.bits == 7 else 16383)
    if target.law == "table":
        return max((after[1] - before[1]) / (after[0] - before[0]) for before, after in pairwise(target.table))
    if target.law == "gm-volume":
        lowest = target.top * 10 ** (low / GM_VOLUME_DB_PER_DECADE) - 1
        return GM_VOLUME_DB_PER_DECADE * math.log10(1 + 1 / lowest) if lowest > 0 else math.inf
    ends = (to_number(target, value) for value in (low, high))
    return max(abs(to_value(target, number + by) - to_value(target, number)) for number in ends for by in (-1, 1))


def _mend(row: TargetRow, target: Target, step: Step) -> str:
    if row.move.shape == "step":
        return 'Use shape = "straight" if it should glide; if it is meant to step, silence the rule with the reason.'
    if abs(step.to_number - step.from_number) > 1:
        return (
            f"Spread the columns there over more travel, or let a 14-bit control do it: one place of "
            f'"{row.control}" skips {abs(step.to_number - step.from_number)} numbers.'
        )
    if target.bits == 7 and target.cc < 32:
        return f'Write bits = 14 for "{row.target}", if its receiver takes 14 bits, or narrow its range.'
    return f'Narrow the range of "{row.target}", or keep the row where its numbers are finer.'


AUDIBLE_STEP = Rule(
    name="audible-step",
    level="warning",
    find=_audible_step,
    looks_for="A target in dB with level = true whose value jumps, between neighbouring positions of the control, "
    f"by over {AUDIBLE_STEP_DB:g} dB (common practice) and by more than is just noticed there "
    "(Jesteadt and others, 1977), the top of its range taken to be heard at "
    f"{LOUDEST_OVER_THRESHOLD_DB:g} dB, down to {HEARD_DOWN_TO_DB:g} dB under it (common practice).",
    because="Loudness that moves in steps sounds like a broken fader.",
    such_as="A row from -60 to 0 dB by the law of controller 7, in seven bits: at 17 and below each step is over 1 dB.",
    fix="Spread the change over more travel, narrow it, or use 14 bits; silence the rule where a step is meant.",
)
