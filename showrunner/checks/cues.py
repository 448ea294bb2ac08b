"""Rules on a song's cues along its length: what a foot can step to in time."""

from collections.abc import Iterator

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.thresholds import CUES_APART_S, GLANCE_WORDS, NOTICE_BARS, NOTICE_S
from showrunner.checks.words import seconds
from showrunner.model.units import format_lengths
from showrunner.state.moments import Moment


def _cues_too_close(context: Context) -> Iterator[Finding]:
    guard_s = context.rig.steps.guard_ms / 1000 if context.rig.steps is not None else 0.0
    for facts in context.songs:
        for before, after, gap in facts.gaps:
            if guard_s < gap < CUES_APART_S:
                yield CUES_TOO_CLOSE.at_cue(
                    facts,
                    after,
                    what=f'"{after.name}" comes {seconds(gap)} after "{before.name}"; a foot needs '
                    f"{CUES_APART_S:g} s between steps (common practice)",
                    why="The second press comes late, or the first is missed while getting ready for the second.",
                    mend=f'Put what "{after.name}" changes into "{before.name}", or on a pedal, or move one of them.',
                )


CUES_TOO_CLOSE = Rule(
    name="cues-too-close",
    level="warning",
    find=_cues_too_close,
    looks_for=f"Two cues with a place, by time or by bar, that stand nearer than {CUES_APART_S:g} s (common practice).",
    because="A foot that has just pressed needs a moment before it can press well again.",
    such_as='"Break" at 1:12 and "Theme" at 1:13.',
    fix="Join the two cues, give the second change to a pedal, or let them stand further apart.",
)


def _cue_in_guard(context: Context) -> Iterator[Finding]:
    if context.rig.steps is None:
        return
    guard_s = context.rig.steps.guard_ms / 1000
    for facts in context.songs:
        for before, after, gap in facts.gaps:
            if 0 <= gap <= guard_s:
                yield CUE_IN_GUARD.at_cue(
                    facts,
                    after,
                    what=f'"{after.name}" comes {seconds(gap)} after "{before.name}", inside the guard of '
                    f"{seconds(guard_s)} against a second press",
                    why="The press is ignored, and the cue is not taken.",
                    mend=f'Join "{before.name}" and "{after.name}" into one cue, or move one of them.',
                )


CUE_IN_GUARD = Rule(
    name="cue-in-guard",
    level="error",
    find=_cue_in_guard,
    looks_for="A cue nearer to the one before than the rig's guard against a second press.",
    because="A press inside the guard counts as a bounce, so the second cue cannot be stepped to in time.",
    such_as="Two cues at 2:04, on a rig with guard_ms = 300.",
    fix="One cue can set targets, curves and hands at once: join them.",
)


def _cue_after_end(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        duration = facts.piece.song.duration
        for moment in facts.piece.moments[1:]:
            if moment.at_s is not None and moment.at_s > duration:
                at, end = format_lengths(moment.at_s, duration)
                yield CUE_AFTER_END.at_cue(
                    facts,
                    moment,
                    "at" if moment.cue is not None and moment.cue.bar is None else "bar",
                    what=f'"{moment.name}" is at {at}, and the song ends at {end}',
                    why="The song is over before the cue comes: what it sets, or damps, is never taken.",
                    mend="Mend the cue's place or the song's duration; where tonight's version is shorter, take the "
                    "cue by foot where the band is.",
                )


CUE_AFTER_END = Rule(
    name="cue-after-end",
    level="error",
    find=_cue_after_end,
    looks_for="A cue whose place, by time or by bar through the tempo changes, is after the end of the song.",
    because="A cue beyond the end is a mistyped time, or a song that was cut without its cues.",
    such_as='duration = "3:05" tonight, and a cue at "3:20".',
    fix="Keep cues inside the song; a cue without a place is taken wherever the band is.",
)


def _say_too_long(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for moment in facts.piece.moments[1:]:
            words = len(moment.cue.say.split()) if moment.cue is not None and moment.cue.say is not None else 0
            if words > GLANCE_WORDS:
                yield SAY_TOO_LONG.at_cue(
                    facts,
                    moment,
                    "say",
                    what=f'"{moment.name}" says {words} words; {GLANCE_WORDS} can be read at a glance '
                    "(common practice)",
                    why="The eyes leave the strings for longer, or the end isn't read.",
                    mend="Keep the one thing the hands must know; the rest belongs to rehearsal.",
                )


SAY_TOO_LONG = Rule(
    name="say-too-long",
    level="note",
    find=_say_too_long,
    looks_for=f"A cue's say of more than {GLANCE_WORDS} words (common practice).",
    because="A player looks at the screen for half a second.",
    such_as='say = "hold the low E for eight bars and then slowly open the swell"',
    fix='say = "hold the E, then swell"',
)


def _say_too_late(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        for before, after, gap in facts.gaps:
            if after.cue is not None and after.cue.say is not None and gap < (need := notice_s(facts, after)):
                yield SAY_TOO_LATE.at_cue(
                    facts,
                    after,
                    "say",
                    what=f'what "{after.name}" says shows {seconds(gap)} before it, when "{before.name}" is taken; '
                    f"notice of {seconds(need)} is wanted (common practice)",
                    why="There is no time to read it before it has to be done.",
                    mend=f'Say it at "{before.name}" already, or move the cues apart.',
                )


def notice_s(facts: Facts, moment: Moment) -> float:
    """Notice, in seconds, that a player wants of a cue: four seconds, or two bars of its song where that is longer."""
    song = facts.piece.song
    if song.tempo_bpm is None:
        return NOTICE_S
    tempo, meter = song.tempo_bpm, song.meter
    for change in song.tempo_changes if moment.cue is not None and moment.cue.bar is not None else ():
        if moment.cue is not None and moment.cue.bar is not None and change.bar < moment.cue.bar:
            tempo, meter = change.tempo_bpm or tempo, change.meter or meter
    return max(NOTICE_S, NOTICE_BARS * meter.quarters * 60 / tempo)


SAY_TOO_LATE = Rule(
    name="say-too-late",
    level="warning",
    find=_say_too_late,
    looks_for=f"A cue with a say less than {NOTICE_BARS} bars or {NOTICE_S:g} s after the one before, whichever is "
    "longer (common practice).",
    because="A cue's words come up when the one before is taken.",
    such_as='"Break" at 2:00, and "Theme" at 2:03 with a say.',
    fix="Put the words a cue earlier.",
)


def _no_steps(context: Context) -> Iterator[Finding]:
    steps, rig = context.rig.steps, context.rig
    control = rig.controls.get(steps.next) if steps is not None else None
    if (control is not None and not control.by_hand) or not any(len(f.piece.moments) > 1 for f in context.songs):
        return
    lacks = "has no [steps]" if steps is None else f'steps by "{steps.next}", which sends nothing'
    yield NO_STEPS.in_file(
        "rig",
        context.rig_slug,
        ("steps",) if steps is None else ("steps", "next"),
        what=f"{rig.title} {lacks}: no foot can take a cue",
        why="Cues and songs can be stepped through on the keyboard only, and both hands are on the guitar.",
        mend='Write [steps] next = "…" with a footswitch that has a port.',
    )


NO_STEPS = Rule(
    name="no-steps",
    level="warning",
    find=_no_steps,
    looks_for="A rig without a footswitch that steps through the show, and songs with cues.",
    because="Footswitches are the only buttons on stage.",
    such_as="A rig without [steps], and songs with cues.",
    fix="Give one footswitch to «next», and another to «back» if there is one.",
)
