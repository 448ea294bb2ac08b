"""Rules on the night's clock: changeovers, the slot, the curfew and what is left."""

from collections.abc import Iterator
from itertools import pairwise
from math import ceil

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Key, Rule
from showrunner.checks.words import seconds, seconds_compared
from showrunner.model.show import Show
from showrunner.model.units import format_clocks, format_length, format_lengths, format_over
from showrunner.planning.handwork import Step, needed_s, steps_to
from showrunner.planning.lineup import WALK_OFF_S
from showrunner.planning.stage import Stage, after_playing, at_rest
from showrunner.planning.timing import FINISH_EARLY_S, RunningTime


def _changeover_too_short(context: Context) -> Iterator[Finding]:
    pauses = {(before.slug, after.slug): place.pause for before, after, place in context.follows}
    heard = {name for name, control in context.rig.controls.items() if not control.by_hand}
    stage: Stage | None = None
    for facts, following in pairwise(context.order):
        stage = after_playing(at_rest(context.rig, facts.piece) if stage is None else stage, facts.piece)
        pause = pauses.get((facts.slug, following.slug))
        steps = [step for step in steps_to(stage, following.piece) if step.what not in heard]
        needs_s = needed_s(steps)
        if pause is None or needs_s <= pause.seconds or context.show is None or context.show_slug is None:
            continue
        needs, has = seconds_compared(needs_s, pause.seconds)
        yield CHANGEOVER_TOO_SHORT.in_file(
            "show",
            context.show_slug,
            _slot_key(context.show, facts.slug),
            song=facts.slug,
            what=f'from "{facts.title}" to "{following.title}" the hands need {needs} '
            f"({', '.join(map(_step, steps))}); there are {has} ({pause.kind})",
            why="The band waits, or the song begins with the guitar half tuned or a switch where it was. Seconds "
            "that the rig does not give are common practice.",
            mend=f'Write then = "talk {format_length(ceil(needs_s))}", let a song on the same guitar follow, or set '
            "what can be set during the song before.",
        )


def _step(step: Step) -> str:
    return f"{step.what} {seconds(step.seconds)}"


def _slot_key(show: Show, song: str) -> Key:
    for part, songs in enumerate(show.sets):
        for place, slot in enumerate(songs.songs):
            if slot.song == song:
                return ("sets", part, "songs", place, "then")
    return ("encore",)


CHANGEOVER_TOO_SHORT = Rule(
    name="changeover-too-short",
    level="warning",
    find=_changeover_too_short,
    looks_for="A pause shorter than what the hands need between two songs (guitar, tuning, capo, what is set by "
    "hand), side by side where limbs allow. Pedals have rules of their own.",
    because="A changeover takes as long as it takes, whatever the show says.",
    such_as='then = "gap 0:10" between songs on two guitars, one of which has to be retuned.',
    fix="Put songs on one guitar side by side, and talk where there is much to do.",
)


def _drop(time: RunningTime) -> str:
    if not time.drop:
        return "Take a song out, or agree on more time."
    enough = ", which is not enough," if time.drop_reaches == "too little" else ","
    return f"Leave out {' and '.join(time.drop)}{enough} or agree on more time."


def _over_slot(context: Context) -> Iterator[Finding]:
    time = context.time
    if time is None or time.slot_s is None or context.show_slug is None:
        return
    over_s = time.expected_s + WALK_OFF_S - time.slot_s
    if over_s > 0:
        yield OVER_SLOT.in_file(
            "show",
            context.show_slug,
            ("slot",),
            what=f"the show is expected to take {format_lengths(time.expected_s, time.slot_s - WALK_OFF_S)[0]} and "
            f"{format_length(WALK_OFF_S)} to walk off (common practice); "
            f"the slot is {format_length(time.slot_s)}, {format_over(over_s)} "
            "too short",
            why="The next band waits, or the sound is cut before the last song.",
            mend=_drop(time),
        )


OVER_SLOT = Rule(
    name="over-slot",
    level="error",
    find=_over_slot,
    looks_for="A show that takes longer than its slot, with songs as long as they are live, pauses, talk and the "
    "way off the stage.",
    because="A slot is agreed on with others.",
    such_as="Fourteen songs of 4:30 with talk in a slot of one hour.",
    fix="Mark songs as optional, and know before the show which one goes.",
)


def _set_over_slot(context: Context) -> Iterator[Finding]:
    if context.time is None or context.show_slug is None:
        return
    for part in context.time.sets:
        if part.slot_s is None or part.expected_s <= part.slot_s:
            continue
        expected, slot = format_lengths(part.expected_s, part.slot_s)
        drop = f"Leave out {' and '.join(part.drop)}, or" if part.drop else "Move a song to another set, or"
        yield SET_OVER_SLOT.in_file(
            "show",
            context.show_slug,
            ("sets", part.number, "slot"),
            what=f'"{part.title}" is expected to take {expected} from first note to last; its slot is {slot}, '
            f"{format_over(part.expected_s - part.slot_s)} too short",
            why="The interval begins late or gets shorter, and bar, crew and the next set wait for it.",
            mend=f"{drop} agree on more time for this set; `showrunner order --across-sets` moves songs between sets.",
        )


SET_OVER_SLOT = Rule(
    name="set-over-slot",
    level="error",
    find=_set_over_slot,
    looks_for="A set that takes longer than its own slot, with songs as long as they are live and the pauses "
    "between them.",
    because="A show can end in time and still have a first half that runs into the interval.",
    such_as='slot = "45:00" under [[sets]], and eleven songs of 4:00 with applause and talk.',
    fix="Share the songs out by length, and mark one of each set as optional.",
)


def _after_curfew(context: Context) -> Iterator[Finding]:
    time = context.time
    if time is None or time.finish is None or time.curfew is None or context.show_slug is None:
        return
    if time.finish > time.curfew:
        finish, curfew = format_clocks(time.finish, time.curfew)
        yield AFTER_CURFEW.in_file(
            "show",
            context.show_slug,
            ("start",),
            what=f"the last note is expected at {finish}; the curfew is {curfew}",
            why="The music must have stopped by then: by law or by contract, and it may be cut off.",
            mend=f"Start {format_over((time.finish - time.curfew) * 60)} earlier. {_drop(time)}",
        )


AFTER_CURFEW = Rule(
    name="after-curfew",
    level="error",
    find=_after_curfew,
    looks_for="An expected finish after the venue's curfew.",
    because="A venue can lose its licence over it; the last song is the one that goes.",
    such_as='start = "21:45", 1:25:00 of music, and curfew = "23:00".',
    fix="Begin earlier, or leave out optional songs.",
)


def _little_time_left(context: Context) -> Iterator[Finding]:
    time = context.time
    if time is None or time.early_s is None or time.over_s is None or context.show_slug is None:
        return
    if time.over_s <= 0 < time.early_s:
        yield LITTLE_TIME_LEFT.in_file(
            "show",
            context.show_slug,
            ("sets",),
            what=f"{format_length(-time.over_s)} are left at the end, with songs as long as they usually get; the "
            f"finish may be {format_length(time.spread_s)} off",
            why="One longer talk or one more round of a solo, and the show is over its time: it should end "
            f"{FINISH_EARLY_S / 60:g} minutes early (common practice).",
            mend=_drop(time),
        )


LITTLE_TIME_LEFT = Rule(
    name="little-time-left",
    level="note",
    find=_little_time_left,
    looks_for=f"A show that is expected to end less than {FINISH_EARLY_S / 60:g} minutes before slot or "
    "curfew (common practice).",
    because="No show goes exactly as written.",
    such_as="An expected finish at 22:58 with curfew at 23:00.",
    fix="Mark a song as optional, so that there is something to leave out.",
)
