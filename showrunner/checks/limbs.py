"""Rules on limbs: two feet and two hands, and what a cue asks of them at once."""

from collections import defaultdict
from collections.abc import Iterator, Mapping

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import PEDAL_TO_PEDAL_S, PEDAL_TO_SWITCH_S, PLACE_PCT
from showrunner.checks.words import listed, seconds
from showrunner.model.rig import Rig
from showrunner.state.moments import Moment

FEET = frozenset(("left foot", "right foot"))


def placed(facts: Facts, moment: Moment) -> Mapping[str, float]:
    """The controls a cue wants elsewhere than the moment before said, with their travel; nothing at the start."""
    if moment.cue is None or not moment.cue.controls:
        return {}
    before = facts.piece.moments[moment.number - 1].controls
    return {name: to for name, to in moment.cue.controls.items() if before.get(name) != to}


def _limb(rig: Rig, name: str | None) -> str | None:
    control = rig.controls.get(name) if name is not None else None
    return control.limb if control is not None else None


def _by_limb(facts: Facts, rig: Rig, moment: Moment) -> Mapping[str, list[str]]:
    """The controls a cue places, by the limb that moves them."""
    found: defaultdict[str, list[str]] = defaultdict(list)
    for name in placed(facts, moment):
        limb = _limb(rig, name)
        if limb is not None:
            found[limb].append(name)
    return found


def _limb_clash(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for moment in facts.placing:
            for limb, names in _by_limb(facts, context.rig, moment).items():
                if len(names) > 1:
                    yield LIMB_CLASH.at_cue(
                        facts,
                        moment,
                        "controls",
                        what=f'"{moment.name}" wants {listed(names)} moved at once, all with the {limb}'
                        if len(names) > 2
                        else f'"{moment.name}" wants {listed(names)} moved at once, both with the {limb}',
                        why=f"One of them comes {PEDAL_TO_PEDAL_S:g} s late (common practice), and what it moves "
                        "with it.",
                        mend="Let one control do the work of both at this cue, place one of them at an earlier cue, "
                        "or set its targets by the cue itself.",
                    )


LIMB_CLASH = Rule(
    name="limb-clash",
    level="warning",
    find=_limb_clash,
    looks_for="A cue that places two controls of one limb.",
    because=f"A foot is on one pedal at a time; going to the next takes it {PEDAL_TO_PEDAL_S:g} s (common practice).",
    such_as="controls = { swell = 100, colour = 50 } at a cue, both pedals under the right foot.",
    fix="Put the targets of both on one pedal in a curve set for that part, or let the cue set what stays put.",
)


def _both_feet(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for moment in facts.placing:
            by_limb = _by_limb(facts, context.rig, moment)
            if by_limb.keys() >= FEET:
                names = [name for limb in sorted(FEET) for name in by_limb[limb]]
                yield BOTH_FEET.at_cue(
                    facts,
                    moment,
                    "controls",
                    what=f'"{moment.name}" wants {listed(names)} moved at once: both feet are off the ground',
                    why="Nobody stands on two pedals while playing: one comes late, or the player loses the balance.",
                    mend="Let the cue set the targets of one of them, or place it at another cue.",
                )


BOTH_FEET = Rule(
    name="both-feet",
    level="warning",
    find=_both_feet,
    looks_for="A cue that places controls under both feet.",
    because="The weight has to be on one foot.",
    such_as="controls = { swell = 100, wash = 0 }, one pedal under each foot.",
    fix="Move one pedal at a time; a cue can set targets without any foot.",
)


def _hand_busy(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for moment in facts.placing:
            cue = moment.cue
            if cue is None:
                continue
            changed = facts.piece.changed_by_hand(moment.number)
            hands = {_limb(context.rig, name): f'set "{name}"' for name in changed}
            if cue.stop is not None:
                hands[cue.stop.by] = "damp the strings"
            for name, to in cue.controls.items():
                control = context.rig.controls.get(name)
                if control is None or control.kind != "strip" or control.limb not in hands:
                    continue
                if control.on_release is None or control.on_release.to != to:
                    yield HAND_BUSY.at_cue(
                        facts,
                        moment,
                        "controls",
                        name,
                        what=f'"{moment.name}" wants the {control.limb} on "{name}" at {to:g} % and to '
                        f"{hands[control.limb]}",
                        why="The finger leaves the strip to do the other: the strip lets go, or the other is missed.",
                        mend="Do one of them at another cue, or with the other hand.",
                    )


HAND_BUSY = Rule(
    name="hand-busy",
    level="warning",
    find=_hand_busy,
    looks_for="A cue that wants a hand on a strip and, at the same time, at a switch or damping the strings.",
    because="A strip needs a finger as long as it is to stay where it is.",
    such_as='controls = { strip = 80 } and by_hand = { "octave switch" = "octave" }, both with the picking hand.',
    fix="Set the switch at a cue before, or let a pedal do the strip's work there.",
)


def _step_while_riding(context: Context) -> Iterator[Finding]:
    rig = context.rig
    foot = _limb(rig, rig.steps.next) if rig.steps is not None else None
    if foot not in FEET:
        return
    for facts in context.songs:
        moments = facts.piece.moments
        for moment in facts.placing:
            if not facts.piece.first <= moment.number < len(moments) - 1:
                continue
            after = moments[moment.number + 1]
            for name, at in facts.placed(moment).items():
                riding = PLACE_PCT < at < 100 - PLACE_PCT and facts.piece.curve(moment, name) is not None
                if riding and _limb(rig, name) == foot and rig.controls[name].kind == "pedal":
                    yield STEP_WHILE_RIDING.at_cue(
                        facts,
                        after,
                        what=f'the {foot} has to step to "{after.name}" while it rides "{name}", in mid-travel '
                        f'({at:g} %) since "{moment.name}"',
                        why="Leaving the pedal pushes it on or lets it fall back, and the sound moves with it.",
                        mend=f'Step with the other foot\'s switch, or let "{name}" be at heel or toe before the step.',
                    )


STEP_WHILE_RIDING = Rule(
    name="step-while-riding",
    level="warning",
    find=_step_while_riding,
    looks_for=f"A step wanted of a foot that holds a pedal in mid-travel, more than {PLACE_PCT:g} % from heel and toe "
    "(common practice).",
    because="A foot cannot press a switch and hold a pedal half way; a pedal left in a hurry doesn't stay "
    "where it was.",
    such_as="controls = { wash = 50 } at a cue, with wash and the switch for «next» both under the left foot.",
    fix="Put the switch for steps under the other foot, or the pedal at an end when a step is due.",
)


def _foot_too_quick(context: Context) -> Iterator[Finding]:
    rig = context.rig
    switch = rig.steps.next if rig.steps is not None else None
    stepping = _limb(rig, switch)
    for facts in context.songs:
        last: dict[str, tuple[str, float]] = {}
        first = facts.piece.first
        for moment in facts.piece.moments[1:] if facts.placing else ():
            if moment.at_s is None or (moment.cue is not None and moment.cue.open):
                last.clear()
                continue
            ways = [(stepping, switch)] if moment.number > first else []
            if moment.cue is not None and moment.cue.controls:
                ways += [(limb, names[0]) for limb, names in _by_limb(facts, rig, moment).items()]
            for foot, name in ways:
                if foot is None or name is None or foot not in FEET:
                    continue
                was, since_s = last.get(foot, (name, 0.0))
                has_s, needs_s = moment.at_s - since_s, _way_s(rig, was, name)
                if has_s < needs_s:
                    yield FOOT_TOO_QUICK.at_cue(
                        facts,
                        moment,
                        what=f'at "{moment.name}" the {foot} has {seconds(has_s)} from "{was}" to "{name}" and needs '
                        f"{needs_s:g} s (common practice)",
                        why=f'"{name}" is moved late, or pressed without looking and missed.',
                        mend="Give one of the two to the other foot, or move the cues apart.",
                    )
                last[foot] = (name, moment.at_s)


def _way_s(rig: Rig, was: str, name: str) -> float:
    if was == name:
        return 0.0
    pedals = sum(rig.controls[control].kind == "pedal" for control in (was, name) if control in rig.controls)
    return PEDAL_TO_PEDAL_S if pedals == 2 else PEDAL_TO_SWITCH_S


FOOT_TOO_QUICK = Rule(
    name="foot-too-quick",
    level="warning",
    find=_foot_too_quick,
    looks_for="A way of one foot, from switch to pedal or from pedal to pedal along the song, that has less time "
    "than it takes.",
    because=f"A foot takes {PEDAL_TO_SWITCH_S:g} s from a pedal to a switch, {PEDAL_TO_PEDAL_S:g} s from pedal to "
    "pedal (common practice).",
    such_as="A cue stepped to with the left foot that places the pedal under the left foot at the same moment.",
    fix="Share the work between the feet: steps with one, pedals with the other.",
)
