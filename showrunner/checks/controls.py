"""Rules on controls: what a song wants of the player's feet and fingers, and what this rig has."""

from collections.abc import Iterator

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Key, Rule
from showrunner.checks.words import listed, offer
from showrunner.model.nearest import nearest
from showrunner.state.moments import Moment


def _missing_rig(context: Context) -> Iterator[Finding]:
    book, slug = context.book, context.rig_slug
    if slug in book.rigs or not (book.songs or context.show):
        return
    near = nearest(slug, book.rigs)
    hint = f'; did you mean "{near}"?' if near is not None else offer(book.rigs, "the book has")
    kind, of = ("show", context.show_slug) if context.show_slug is not None else ("book", "")
    yield MISSING_RIG.in_file(
        kind,
        of,
        ("rig",),
        what=f'the rig "{slug}" is not in this book' if slug else "nothing says which rig this is played on",
        why="Nothing about the hardware could be checked: no finding here means nothing.",
        mend=f'Write rig = "…" with the slug of a rig here or in book.toml{hint}',
    )


MISSING_RIG = Rule(
    name="missing-rig",
    level="error",
    find=_missing_rig,
    looks_for="A show whose rig is not in the book, or a show without one in a book that names no usual rig.",
    because="Without a rig no control, target, guitar or wire can be checked, and the show can't be played.",
    such_as='rig = "small-rig" in a show, where the file is rigs/small.toml.',
    fix="Name a rig of the book in the show, or the usual one in book.toml.",
)


def wanted(facts: Facts, control: str) -> tuple[Key, str]:
    """Where a song first wants a control, and what for, in words."""
    where = facts.controls[control]
    if isinstance(where, Moment):
        return facts.cue_key(where, "controls", control), f'at "{where.name}"'
    moves = facts.piece.song.curves[where][control].moves
    return facts.control_key(where, control), f'to move {listed(moves)} in "{where}"'


def _missing_control(context: Context) -> Iterator[Finding]:
    known = context.rig.controls
    for facts in context.songs:
        for control in facts.controls:
            if control not in known:
                key, purpose = wanted(facts, control)
                asked = facts.wanted.get(control)
                stands_in = f' as the stand-in for "{asked}"' if asked is not None else ""
                yield MISSING_CONTROL.in_song(
                    facts,
                    key,
                    what=f'{context.rig.title} has no "{control}", wanted{stands_in} {purpose}',
                    why="What it should move stays where it was when the song began, whatever the foot does.",
                    mend=f"In the show, let another control do its work: [stand_ins.{facts.slug}]"
                    + offer((n for n, c in known.items() if not c.by_hand and c.kind != "switch"), "this rig has"),
                )


MISSING_CONTROL = Rule(
    name="missing-control",
    level="error",
    find=_missing_control,
    looks_for="A control that a song's curves, start or cues name and the rig does not have.",
    because="A curve without its control never moves: the swell that carries the song simply does not happen.",
    such_as="The song has [curves.verse.swell]; tonight's rig has no [controls.swell].",
    fix='Name a stand-in in the show ([stand_ins.SONG] swell = "strip"), or play the song on a rig that has it.',
)


def _unheard_control(context: Context) -> Iterator[Finding]:
    by_hand = {name for name, control in context.rig.controls.items() if control.by_hand}
    for facts in context.songs:
        for of_set, curves in facts.piece.song.curves.items():
            for control in curves:
                if control in by_hand:
                    yield UNHEARD_CONTROL.in_song(
                        facts,
                        facts.control_key(of_set, control),
                        what=f'the curve of "{control}" in "{of_set}" can\'t work: nothing hears "{control}" on '
                        f"{context.rig.title}, it is set by hand",
                        why="Turning it changes what it changes by itself, but none of the targets in the curve.",
                        mend=f'Give "{control}" a port, channel and cc in the rig, or put the curve on a control '
                        "that sends.",
                    )


UNHEARD_CONTROL = Rule(
    name="unheard-control",
    level="error",
    find=_unheard_control,
    looks_for="A curve on a control without a port, which only a person can read.",
    because="The curve looks right on paper and never sends anything.",
    such_as='[curves.verse."octave switch"], where the octave switch is a selector on the guitar without a port.',
    fix="Put the curve on a control that sends, and say the switch's position under by_hand.",
)


def _fewer_bits(context: Context) -> Iterator[Finding]:
    usual = context.usual_rig
    fine = {name: c.bits for name, c in usual.controls.items() if c.bits == 14} if usual is not None else {}
    if usual is None or not fine:
        return
    for facts in context.songs:
        seen = set()
        for of_set, curves in facts.piece.song.curves.items():
            for control, curve in curves.items():
                key = facts.control_key(of_set, control)
                here = context.rig.controls.get(control)
                if control in seen or key[2] not in fine or here is None or here.bits == 14:
                    continue
                seen.add(control)
                yield FEWER_BITS.in_song(
                    facts,
                    key,
                    what=f'"{key[2]}" has 14 bits on {usual.title}, and "{control}" does it with 7 on '
                    f"{context.rig.title}: 128 places instead of 16,384"
                    if key[2] != control
                    else f'"{control}" has 14 bits on {usual.title} and 7 on {context.rig.title}: 128 places instead '
                    "of 16,384",
                    why="Slow moves that were smooth at home may be heard as steps tonight.",
                    mend=f'Listen to {listed(curve.moves)} on a slow sweep with "{control}"; narrow the row, or give '
                    "the work to a finer control.",
                )


FEWER_BITS = Rule(
    name="fewer-bits",
    level="warning",
    find=_fewer_bits,
    looks_for="A control with 7 bits on this rig that has 14 on the book's usual rig.",
    because="A curve written for 14 bits moves in 128 steps on a 7-bit control.",
    such_as="The usual rig's swell has bits = 14; the borrowed board's swell has 7.",
    fix="Narrow the rows that sweep far, or let a finer control take the song.",
)


def _meet_springs_back(context: Context) -> Iterator[Finding]:
    springs = {name: c.on_release for name, c in context.rig.controls.items() if c.on_release is not None}
    for facts in context.songs if springs else ():
        for of_set, curves in facts.piece.song.curves.items():
            for control, curve in curves.items():
                release = springs.get(control)
                if release is not None and curve.entry == "meet":
                    yield MEET_SPRINGS_BACK.in_song(
                        facts,
                        (*facts.control_key(of_set, control), "entry"),
                        what=f'"{control}" in "{of_set}" is to meet the value in force, but it goes back to '
                        f"{release.to:g} % whenever the finger leaves it",
                        why="It always comes in from its resting end: it meets nothing there, and the value in force "
                        "holds or glides when the player expects the curve.",
                        mend='Write entry = "jump", or "glide" where a jump would be heard.',
                    )


MEET_SPRINGS_BACK = Rule(
    name="meet-springs-back",
    level="warning",
    find=_meet_springs_back,
    looks_for='A curve with entry = "meet" on a control with on_release.',
    because="A control that springs back cannot be brought to the value in force and left there to be picked up.",
    such_as='[curves.lead.strip] entry = "meet", where the strip has on_release = { to = 0 }.',
    fix='Use entry = "jump" or "glide" on strips that spring back; keep "meet" for pedals that stay.',
)


def _step_switch_used(context: Context) -> Iterator[Finding]:
    rig = context.rig
    jobs = {rig.mute.switch: "mute"} if rig.mute is not None and rig.mute.switch is not None else {}
    if rig.steps is not None:
        jobs |= {rig.steps.next: "next"} | ({rig.steps.back: "back"} if rig.steps.back is not None else {})
    for facts in context.songs if jobs else ():
        for control in jobs:
            if control in facts.controls:
                key, purpose = wanted(facts, control)
                yield STEP_SWITCH_USED.in_song(
                    facts,
                    key,
                    what=f'"{control}" is {context.rig.title}\'s switch for «{jobs[control]}», and this song wants it '
                    f"too, {purpose}",
                    why="One press does both: the show moves on, or the sound changes, when nobody meant it to.",
                    mend=f"Put this song's work on another switch, or another switch in the rig's place for "
                    f"«{jobs[control]}».",
                )


STEP_SWITCH_USED = Rule(
    name="step-switch-used",
    level="error",
    find=_step_switch_used,
    looks_for="A song that uses a switch by which the player steps through the show or mutes.",
    because="One press would move the show and the sound together.",
    such_as='steps.next = "sw 1" in the rig, and [curves.verse."sw 1"] in a song.',
    fix="Keep the switches for steps and mute free of songs.",
)


def _stand_in_gives_up(context: Context) -> Iterator[Finding]:
    stand_ins = context.show.stand_ins if context.show is not None else {}
    for song, of_song in stand_ins.items():
        written = context.book.songs.get(song)
        for wanted_control, used in of_song.items() if written is not None else ():
            for name, of_set in written.curves.items() if written is not None and used not in of_song else ():
                if wanted_control in of_set and used in of_set:
                    yield STAND_IN_GIVES_UP.in_file(
                        "show",
                        context.show_slug or "",
                        ("stand_ins", song, wanted_control),
                        song=song,
                        what=f'"{used}" stands in for "{wanted_control}" and gives up its own work in "{name}": '
                        f"{listed(of_set[used].moves)}",
                        why="One control has one curve in a set; what the stand-in moved itself stays where it was "
                        "named, or at rest.",
                        mend=f'Let another control stand in for "{wanted_control}", or give one to "{used}" too.',
                    )


STAND_IN_GIVES_UP = Rule(
    name="stand-in-gives-up",
    level="warning",
    find=_stand_in_gives_up,
    looks_for="A stand-in that has a curve of its own in a set where it does another control's work.",
    because="The stand-in's own curve drops out of that set without a sound, until somebody misses it on stage.",
    such_as='[stand_ins.low-lantern] strip = "swell", in a song whose set has a curve for both.',
    fix="Ask for the best assignment with `showrunner standins SHOW --rig RIG`, or choose a control that is free.",
)
