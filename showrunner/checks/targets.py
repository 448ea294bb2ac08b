"""Rules on targets: what a song sends, and what this rig can receive."""

from collections import defaultdict
from collections.abc import Iterator

from showrunner.checks.context import Context, Facts, TargetRow
from showrunner.checks.finding import Finding, Key, Rule
from showrunner.checks.words import listed, offer
from showrunner.model.nearest import nearest


def wanted(facts: Facts, target: str) -> tuple[Key, str]:
    """Where a song first sends a target, and by what, in words."""
    by = facts.targets[target]
    if isinstance(by, TargetRow):
        return facts.row_key(by), f'moved by "{by.control}" in "{by.of_set}"'
    return facts.cue_key(by, "targets", target), f'set at "{by.name}"'


def _missing_target(context: Context) -> Iterator[Finding]:
    known = context.rig.targets
    for facts in context.songs:
        for target in facts.targets:
            if target not in known:
                key, use = wanted(facts, target)
                near = nearest(target, known)
                hint = f'; did you mean "{near}"?' if near is not None else offer(known, "it has")
                yield MISSING_TARGET.in_song(
                    facts,
                    key,
                    what=f'{context.rig.title} has no target "{target}", {use}',
                    why="Nothing is sent for it: that part of the sound stays as the host has it.",
                    mend=f'Add [targets."{target}"] to the rig, or take it out of the song{hint}',
                )


MISSING_TARGET = Rule(
    name="missing-target",
    level="error",
    find=_missing_target,
    looks_for="A target that a song's curves, start or cues name and the rig does not have.",
    because="What has no address cannot be sent; the sound lacks the part that the song was built on.",
    such_as='A song moves "shimmer"; the small rig\'s host has no [targets.shimmer].',
    fix="Add the target with its port, channel and cc to the rig, or write the song without it.",
)


def _two_curves(context: Context) -> Iterator[Finding]:
    heard = {name for name, control in context.rig.controls.items() if not control.by_hand}
    for facts in context.songs:
        movers: defaultdict[tuple[str, str], list[str]] = defaultdict(list)
        for row in facts.rows:
            if row.control in heard:
                movers[row.of_set, row.target].append(row.control)
        for (of_set, target), controls in movers.items():
            for other in controls[1:]:
                yield TWO_CURVES.in_song(
                    facts,
                    (*facts.control_key(of_set, other), "moves", target),
                    what=f'{listed((controls[0], other))} both move "{target}" in "{of_set}"',
                    why="Whichever moves last wins: the value jumps from one curve to the other under the feet.",
                    mend=f'Keep "{target}" on one of them in "{of_set}", or put the other into a curve set of its own.',
                )


TWO_CURVES = Rule(
    name="two-curves",
    level="error",
    find=_two_curves,
    looks_for="Two controls that move one target in the same curve set.",
    because="Each sends its own value for the one parameter, so it jumps with every movement of the other.",
    such_as="[curves.lead.swell.moves] drive = [3, 12] and [curves.lead.strip.moves] drive = [0, 6].",
    fix="Let one control move a target at a time; change curve sets at a cue to hand it over.",
)
