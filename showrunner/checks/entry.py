"""Rules on how sounds come in: values that jump, that are undone, or that nothing sets."""

from collections.abc import Iterator, Mapping, Set

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import PLACE_PCT, SAME_SHARE
from showrunner.checks.words import amount, listed
from showrunner.curves.shapes import row_in
from showrunner.model.rig import Rig, Target
from showrunner.model.song import Curve
from showrunner.state.moments import Moment


def _same(target: Target, value: float, other: float) -> bool:
    low, high = target.range
    return abs(value - other) <= SAME_SHARE * abs(high - low)


def _curves(facts: Facts, moment: Moment, rig: Rig) -> Mapping[str, Curve]:
    """The curves in force at a moment, of the controls this rig hears."""
    curves = facts.piece.song.curves.get(moment.curves, {}) if moment.curves is not None else {}
    controls = rig.controls
    return {name: c for name, c in curves.items() if name in controls and not controls[name].by_hand}


def _cue_undone(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for moment in facts.naming:
            named = facts.named(moment)
            for control, curve in _curves(facts, moment, context.rig).items():
                for name in named:
                    if name not in curve.moves or name not in context.rig.targets:
                        continue
                    target = context.rig.targets[name]
                    travel = facts.placed(moment).get(control)
                    to = _nearest_to(curve, name, named[name], travel)
                    if curve.entry != "jump" or _same(target, to, named[name]):
                        continue
                    has = f"has {amount(to, target.unit)}" + (
                        f" at {travel:g} %" if travel is not None else " at the nearest"
                    )
                    yield CUE_UNDONE.at_cue(
                        facts,
                        moment,
                        "targets",
                        name,
                        what=f'"{moment.name}" sets "{name}" to {amount(named[name], target.unit)}, and "{control}" '
                        f"still moves it: its curve {has}",
                        why=f"At the first touch of \"{control}\" the value jumps from the cue's to the curve's.",
                        mend=f'Write entry = "meet" or "glide" in the curve, take "{name}" out of it, or let both '
                        "agree.",
                    )


def _nearest_to(curve: Curve, name: str, value: float, travel: float | None) -> float:
    """The curve's value where the control stands, or the one nearest to a value where that isn't known."""
    if travel is not None:
        return row_in(curve, name)(travel)
    values = curve.moves[name].values
    return min(max(value, min(values)), max(values))


CUE_UNDONE = Rule(
    name="cue-undone",
    level="warning",
    find=_cue_undone,
    looks_for="A target that a cue or the start sets to another value than a curve in force, which jumps in, has "
    f"for it: more than {SAME_SHARE * 100:g} % of its range away (common practice).",
    because="A cue's value stands only until its control moves.",
    such_as="targets = { drive = 9 } at a cue where swell, at toe, has drive = 12 by a curve that jumps.",
    fix='Let the curve come in by "meet" or "glide", or leave that target to one of the two.',
)


def _jump_on_entry(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        if not facts.placing or facts.placing[-1].number == 0:
            continue
        sets, stands = facts.piece.song.curves, dict(facts.piece.moments[0].controls)
        first, last = facts.piece.first, facts.placing[-1].number
        for moment in facts.piece.moments[: last + 1]:
            for control, to in facts.placed(moment).items():
                was = stands.get(control, to)
                if moment.number > first and abs(to - was) > PLACE_PCT:
                    yield from _jump(context, facts, moment, control, was)
                stands[control] = to
            for control in sets.get(moment.curves, ()) if moment.curves is not None and stands else ():
                stands.pop(control, None)
    for before, after, place in context.follows:
        if place.pause.kind == "segue":
            played = before.piece.song.curves.get(before.last.curves or "", {})
            for control, to in after.placed(after.first).items():
                left = before.last.controls.get(control, to)
                if control not in played and abs(to - left) > PLACE_PCT:
                    yield from _jump(context, after, after.first, control, left)


def _jump(context: Context, facts: Facts, moment: Moment, control: str, was: float) -> Iterator[Finding]:
    curve = _curves(facts, moment, context.rig).get(control)
    to = facts.placed(moment)[control]
    if curve is None or curve.entry != "jump" or context.rig.controls[control].on_release is not None:
        return
    rows = {name: row_in(curve, name) for name in curve.moves if name in context.rig.targets}
    jumps = [n for n, value in rows.items() if not _same(context.rig.targets[n], value(was), value(to))]
    if jumps:
        yield JUMP_ON_ENTRY.at_cue(
            facts,
            moment,
            "controls",
            control,
            what=f'"{control}" should be at {to:g} % when "{moment.name}" comes in, and stands at {was:g} % until then',
            why=f"{listed(jumps)} {'comes' if len(jumps) == 1 else 'come'} in where the pedal stands, and "
            f"{'sweeps' if len(jumps) == 1 else 'sweep'} when the foot gets there.",
            mend=f'Place "{control}" at an earlier cue, or write entry = "meet" or "glide" in the curve.',
        )


JUMP_ON_ENTRY = Rule(
    name="jump-on-entry",
    level="warning",
    find=_jump_on_entry,
    looks_for=f"A control that was last said to stand more than {PLACE_PCT:g} % of travel away (common practice), "
    "and was not played since, at a cue or at a song that follows by segue where its curve comes in by a jump.",
    because="The curve sounds from where the pedal stands, not from where it should be.",
    such_as="wash stands at 0 from the start, and comes into force at a cue that wants it at 100.",
    fix="Give the foot a cue before to bring it there, or let the curve come in by meeting or gliding.",
)


def _release_undoes(context: Context) -> Iterator[Finding]:
    springs = {name: c.on_release for name, c in context.rig.controls.items() if c.on_release is not None}
    for facts in context.songs if springs else ():
        for moment in facts.placing:
            after = facts.piece.moments[min(moment.number + 1, len(facts.piece.moments) - 1)]
            for name in facts.placed(moment) if after is not moment else ():
                if name not in springs:
                    continue
                release, at = springs[name], moment.controls[name]
                if release is not None and after.controls[name] == at != release.to and _moves(facts, after, name):
                    yield RELEASE_UNDOES.at_cue(
                        facts,
                        moment,
                        "controls",
                        name,
                        what=f'"{name}" is put at {at:g} % at "{moment.name}" and should still be there at '
                        f'"{after.name}"; it goes back to {release.to:g} % when the finger leaves it',
                        why="As soon as the hand does anything else, what the strip moves goes back with it.",
                        mend=f'Say at "{after.name}" where it is by then, or let the cue set the targets themselves.',
                    )


def _moves(facts: Facts, moment: Moment, control: str) -> bool:
    return facts.piece.curve(moment, control) is not None


RELEASE_UNDOES = Rule(
    name="release-undoes",
    level="warning",
    find=_release_undoes,
    looks_for="A strip that springs back and is expected to stay from one cue to the next.",
    because="What springs back stays only under a finger.",
    such_as="controls = { strip = 80 } at a cue, and nothing at the next; on_release = { to = 0 } in the rig.",
    fix="Set lasting values as targets at the cue; use the strip for what ends with the finger.",
)


def _target_left(context: Context) -> Iterator[Finding]:
    restless = {name for name, target in context.rig.targets.items() if target.rest is None}
    left: dict[str, str] = {}
    for facts in context.order if restless else ():
        program = facts.piece.song.program
        sets = facts.first.targets.keys() | _moved_from_start(facts)
        fresh = {
            name
            for name in left
            if program is not None
            and (program.port, program.channel) == (context.rig.targets[name].port, context.rig.targets[name].channel)
        }
        for name in sorted(left.keys() - sets - fresh):
            yield TARGET_LEFT.in_song(
                facts,
                ("start",),
                what=f'"{left[name]}" leaves "{name}" somewhere, and "{facts.title}" begins without setting it',
                why="The song sounds different with every song played before it.",
                mend=f'Write [start.targets] "{name}" = … here, or a rest for it in the rig.',
            )
        used = {row.target for row in facts.rows}.union(*(moment.targets for moment in facts.piece.moments))
        left = {name: title for name, title in left.items() if name not in fresh}
        left |= dict.fromkeys(sorted(used & restless), facts.title)


def _moved_from_start(facts: Facts) -> Set[str]:
    """Targets that the first curve set moves by controls whose place is given."""
    curves = facts.piece.song.curves.get(facts.first.curves or "", {})
    return {name for control, curve in curves.items() if control in facts.first.controls for name in curve.moves}


TARGET_LEFT = Rule(
    name="target-left",
    level="warning",
    find=_target_left,
    looks_for="A target without a rest that one song in the show's order leaves somewhere, and a later one begins "
    "without setting.",
    because="What no song and no rest sets stays where the last song that used it left it.",
    such_as='A song moves "width"; the next says nothing of it, and [targets.width] has no rest.',
    fix="Give every target a rest in the rig; then what a song doesn't name stands there.",
)
