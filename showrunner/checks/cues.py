"""Rules on a song's cues along its length: what a foot can step to in time."""

from collections.abc import Iterator
from itertools import pairwise

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import CUES_APART_S
from showrunner.checks.words import seconds
from showrunner.state.moments import Moment


def stepped(facts: Facts) -> Iterator[tuple[Moment, Moment, float]]:
    """Neighbouring cues that are each stepped to, with the seconds between them, where both have a place."""
    moments = facts.piece.moments[max(facts.piece.first, 1) :]
    for before, after in pairwise(moments):
        if before.at_s is not None and after.at_s is not None and not (before.cue and before.cue.open):
            yield before, after, after.at_s - before.at_s


def _cues_too_close(context: Context) -> Iterator[Finding]:
    guard_s = context.rig.steps.guard_ms / 1000 if context.rig.steps is not None else 0.0
    for facts in context.songs:
        for before, after, gap in stepped(facts):
            if guard_s < gap < CUES_APART_S:
                yield CUES_TOO_CLOSE.in_song(
                    facts,
                    facts.cue_key(after),
                    cue=after.name,
                    what=f'"{after.name}" comes {seconds(gap)} after "{before.name}"; a foot needs '
                    f"{CUES_APART_S:g} s between steps",
                    why="The second press comes late, or the first is missed while getting ready for the second.",
                    mend=f'Put what "{after.name}" changes into "{before.name}", or on a pedal, or move one of them.',
                )


CUES_TOO_CLOSE = Rule(
    name="cues-too-close",
    level="warning",
    find=_cues_too_close,
    does="Measures the time between neighbouring cues that have a place, by time or by bar.",
    why="A foot that has just pressed needs about two seconds before it can press well again.",
    example='"Break" at 1:12 and "Theme" at 1:13.',
    instead="Join the two cues, give the second change to a pedal, or let them stand further apart.",
)


def _cue_in_guard(context: Context) -> Iterator[Finding]:
    if context.rig.steps is None:
        return
    guard_s = context.rig.steps.guard_ms / 1000
    for facts in context.songs:
        for before, after, gap in stepped(facts):
            if 0 <= gap <= guard_s:
                yield CUE_IN_GUARD.in_song(
                    facts,
                    facts.cue_key(after),
                    cue=after.name,
                    what=f'"{after.name}" comes {seconds(gap)} after "{before.name}", inside the guard of '
                    f"{seconds(guard_s)} against a second press",
                    why="The press is ignored, and the cue is not taken.",
                    mend=f'Join "{before.name}" and "{after.name}" into one cue, or move one of them.',
                )


CUE_IN_GUARD = Rule(
    name="cue-in-guard",
    level="error",
    find=_cue_in_guard,
    does="Looks for cues nearer to the one before than the rig's guard against a second press.",
    why="A press inside the guard counts as a bounce, so the second cue cannot be stepped to in time.",
    example="Two cues at 2:04, on a rig with guard_ms = 300.",
    instead="One cue can set targets, curves and hands at once: join them.",
)
