"""Rules on reach: what a control on this rig can really be brought to, as it is calibrated."""

from collections.abc import Iterator
from itertools import pairwise

from showrunner.checks.context import Context, TargetRow
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import DEAD_END_PCT, JITTER_RAW, SAME_SHARE
from showrunner.checks.words import amount
from showrunner.curves.shapes import row_in
from showrunner.model.rig import Control

RAWS_OF_7_BITS = 127


def reach(control: Control) -> tuple[float, float]:
    """Least and most travel, %, that a control gets to."""
    return (control.calibration[0][1], control.calibration[-1][1]) if control.calibration else (0.0, 100.0)


def _out_of_reach(context: Context) -> Iterator[Finding]:
    short = {name: reach(c) for name, c in context.rig.controls.items() if reach(c) != (0.0, 100.0)}
    for facts in context.songs if short else ():
        for row in facts.rows:
            target = context.rig.targets.get(row.target)
            if row.control not in short or target is None:
                continue
            value = row_in(row.curve, row.target)
            for at, end in zip((row.travel[0], row.travel[-1]), short[row.control], strict=True):
                beyond = at < end if end == short[row.control][0] else at > end
                wants, gets = value(at), value(end)
                if beyond and abs(wants - gets) > SAME_SHARE * abs(target.range[1] - target.range[0]):
                    yield OUT_OF_REACH.in_song(
                        facts,
                        facts.row_key(row),
                        what=f'"{row.control}" on {context.rig.title} stops at {end:g} % of its travel, so '
                        f'"{row.target}" in "{row.of_set}" gets to {amount(gets, target.unit)} instead of '
                        f"{amount(wants, target.unit)}",
                        why="The end of the movement is missing, however hard the foot pushes.",
                        mend=f'Calibrate "{row.control}" again, or move the column at {at:g} % to {end:g} %.',
                    )


OUT_OF_REACH = Rule(
    name="out-of-reach",
    level="warning",
    find=_out_of_reach,
    looks_for="A column of a row beyond the travel that the calibrated control gets to.",
    because="What lies beyond a control's end is never heard.",
    such_as="calibration = [[2, 0], [118, 92]] in the rig, and a column at 100 in the song.",
    fix="Calibrate the control with its whole movement, or bring the columns inside its reach.",
)


def _dead_end(context: Context) -> Iterator[Finding]:
    raw = {name for name, c in context.rig.controls.items() if not c.calibration and c.kind in ("pedal", "strip")}
    for facts in context.songs if raw else ():
        for row in facts.rows:
            if row.control not in raw or len(row.travel) < 2:
                continue
            heel, toe = row.travel[1] <= DEAD_END_PCT, row.travel[-2] >= 100 - DEAD_END_PCT
            if (heel and _change(row, 0)) or (toe and _change(row, -2)):
                place, end = (row.travel[1], "heel") if heel and _change(row, 0) else (row.travel[-2], "toe")
                yield DEAD_END.in_song(
                    facts,
                    facts.row_key(row),
                    what=f'"{row.control}" is not calibrated, and the first {DEAD_END_PCT:g} % from its {end} '
                    f"(common practice) may not "
                    f'read at all: the column of "{row.target}" at {place:g} % in "{row.of_set}" lies inside',
                    why=f'"{row.target}" jumps past that column, or never gets to its end value.',
                    mend=f'Calibrate "{row.control}", or keep columns {DEAD_END_PCT:g} % away from the ends.',
                )


def _change(row: TargetRow, first: int) -> float:
    return abs(row.move.values[first + 1] - row.move.values[first])


DEAD_END = Rule(
    name="dead-end",
    level="warning",
    find=_dead_end,
    looks_for="A column so near to heel or toe of an uncalibrated pedal or strip that its dead end, "
    f"{DEAD_END_PCT:g} % of travel (common practice), swallows it.",
    because="The last few per cent of a pedal's movement often send nothing new.",
    such_as="travel = [0, 2, 100], on a pedal without a calibration.",
    fix="Calibrate: then heel and toe are where its readings really begin and end.",
)


def finest_pct(control: Control) -> float:
    """Travel, %, that a resting control's reading wavers over, where its calibration is steepest."""
    raws = JITTER_RAW * control.top / RAWS_OF_7_BITS
    pairs = control.calibration or ((0.0, 0.0), (float(control.top), 100.0))
    return 2 * raws * max((after[1] - before[1]) / (after[0] - before[0]) for before, after in pairwise(pairs))


def _columns_too_fine(context: Context) -> Iterator[Finding]:
    finest = {name: finest_pct(c) for name, c in context.rig.controls.items() if c.kind in ("pedal", "strip", "knob")}
    for facts in context.songs:
        for row in facts.rows:
            width = finest.get(row.control)
            if width is None or len(row.travel) < 3:
                continue
            narrow = next(((a, b) for a, b in pairwise(row.travel) if b - a < width), None)
            if narrow is not None:
                yield COLUMNS_TOO_FINE.in_song(
                    facts,
                    facts.row_key(row),
                    what=f'the columns of "{row.target}" at {narrow[0]:g} and {narrow[1]:g} % in "{row.of_set}" are '
                    f'nearer than "{row.control}" can tell apart: its reading wavers over {width:.1f} %',
                    why="At rest between them the sound flutters from one to the other.",
                    mend=f"Put them {width:.1f} % apart or more, or use one column.",
                )


COLUMNS_TOO_FINE = Rule(
    name="columns-too-fine",
    level="warning",
    find=_columns_too_fine,
    looks_for=f"Two neighbouring columns no further apart than a resting control's reading wavers: {JITTER_RAW} raw "
    "value of seven bits up or down (common practice), where its calibration is steepest.",
    because="A foot cannot hold a pedal between two columns that its own jitter spans.",
    such_as="travel = [0, 50, 51, 100] on a seven-bit pedal.",
    fix="Leave some travel between columns; for a switch at a point, use the shape step.",
)


def _switch_no_middle(context: Context) -> Iterator[Finding]:
    switches = {name for name, c in context.rig.controls.items() if c.kind == "switch"}
    for facts in context.songs if switches else ():
        for row in facts.rows:
            target = context.rig.targets.get(row.target)
            if row.control not in switches or target is None:
                continue
            value, near = row_in(row.curve, row.target), SAME_SHARE * abs(target.range[1] - target.range[0])
            ends = value(0), value(100)
            lost = [v for v in row.move.values if min(abs(v - end) for end in ends) > near]
            if lost:
                yield SWITCH_NO_MIDDLE.in_song(
                    facts,
                    facts.row_key(row),
                    what=f'"{row.control}" is a switch and knows only both ends: "{row.target}" in "{row.of_set}" '
                    f"never gets to {amount(lost[0], target.unit)}",
                    why="The sound jumps from one end to the other, and what is between isn't there.",
                    mend="Use a pedal or a strip for it, or write the two sounds that are wanted as the two ends.",
                )


SWITCH_NO_MIDDLE = Rule(
    name="switch-no-middle",
    level="warning",
    find=_switch_no_middle,
    looks_for="A row on a switch whose columns between heel and toe have values that neither end has.",
    because="A switch sends off or on; the middle of the travel is never passed.",
    such_as='[curves.verse."sw 3"] travel = [0, 50, 100], drive = [3, 12, 3]',
    fix="Two columns are enough for a switch; put movements on a pedal.",
)
