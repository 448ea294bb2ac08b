"""Rules on what only a person can set: selectors, knobs and switches without a port."""

from collections.abc import Iterator

from showrunner.checks.context import Context, Facts
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.words import offer


def _by_hand_left(context: Context) -> Iterator[Finding]:
    carriers = context.carriers()
    stands: dict[str, tuple[str, Facts]] = {}
    for facts in context.order:
        guitar = facts.piece.song.instrument
        here = [name for name in facts.last.by_hand if name not in carriers or guitar in carriers[name]]
        named = facts.piece.song.start.by_hand.keys() | (facts.first.cue.by_hand.keys() if facts.first.cue else ())
        for name in here:
            wants = facts.first.by_hand.get(name)
            left, by = stands.get(name, (wants, facts))
            if wants is not None and left != wants and name not in named:
                yield BY_HAND_LEFT.in_song(
                    facts,
                    ("start",),
                    what=f'"{by.title}" leaves "{name}" at "{left}", and "{facts.title}" wants it at "{wants}" '
                    "without saying so",
                    why="What only a hand can set stays as the song before left it, and the first notes are played so.",
                    mend=f'Write [start.by_hand] "{name}" = "{wants}" here, or set it back at the last cue of '
                    f'"{by.title}".',
                )
            stands[name] = (facts.last.by_hand[name], facts)


BY_HAND_LEFT = Rule(
    name="by-hand-left",
    level="warning",
    find=_by_hand_left,
    looks_for="A by-hand state that a song leaves otherwise than the next one in the show takes for granted.",
    because="No computer can put a selector back; a song that takes it for granted starts with the wrong one.",
    such_as="A song ends with the octave switch at octave; the next says nothing of it and means its rest, off.",
    fix="Name under [start.by_hand] what the song needs, or set the state back where it was changed.",
)


def _no_rest(context: Context) -> Iterator[Finding]:
    carriers = context.carriers()
    for name, control in context.rig.controls.items():
        if not control.by_hand or isinstance(control.rest, str):
            continue
        setting = [facts for facts in context.songs if name in facts.last.by_hand]
        silent = [
            facts
            for facts in context.songs
            if name not in facts.first.by_hand
            and (name not in carriers or facts.piece.song.instrument in (None, *carriers[name]))
        ]
        if not any(one is not other for one in setting for other in silent):
            continue
        says = "no rest" if control.rest is None else f"a rest of {control.rest:g} % and no position to rest in"
        yield NO_REST.in_file(
            "rig",
            context.rig_slug,
            ("controls", name),
            what=f'"{name}" is set by hand and has {says}: in a song that does not name it, it stands as an earlier '
            "song left it",
            why="The same song sounds different in another order, nobody is told to set it back, and the time of "
            "changeovers and the best order can't be told for certain.",
            mend=f'Write rest = "…" under [controls."{name}"] in the rig{offer(control.positions, "it has")}.',
        )


NO_REST = Rule(
    name="no-rest",
    level="warning",
    find=_no_rest,
    looks_for="A control set by hand that has no position to rest in, and that some songs name and others don't.",
    because="It stays where it was put last, so that a song's sound depends on what was played before it.",
    such_as="Two songs turn the fuzz knob to full and low; a third says nothing of it, and the rig gives no rest.",
    fix="Give the control a rest in the rig, or name it at the start of every song.",
)


def _missing_position(context: Context) -> Iterator[Finding]:
    controls = context.rig.controls
    for facts in context.songs:
        for moment in facts.piece.moments:
            wanted = moment.cue.by_hand if moment.cue is not None else facts.piece.song.start.by_hand
            for name, position in wanted.items() if wanted else ():
                control = controls.get(name)
                if control is not None and (not control.positions or position in control.positions):
                    continue
                lacks = f'has no "{name}"' if control is None else f'has no "{position}" on "{name}"'
                known = control.positions if control is not None else [n for n, c in controls.items() if c.by_hand]
                yield MISSING_POSITION.at_cue(
                    facts,
                    moment,
                    "by_hand",
                    name,
                    what=f'{context.rig.title} {lacks}, wanted at "{moment.name}"{offer(known, "there is")}',
                    why="The hands are told to set what isn't there, and the sound stays as it was.",
                    mend="Name one that is there, or add it to the rig.",
                )


MISSING_POSITION = Rule(
    name="missing-position",
    level="error",
    find=_missing_position,
    looks_for="A by-hand state of a song that the rig does not have: the thing itself, or the position on it.",
    because="A screen that tells the player to set what this guitar doesn't have costs the bar it is read in.",
    such_as='by_hand = { "octave switch" = "octave" } on a rig whose guitar has no octave switch.',
    fix="Name what the rig has; for one night's other guitar, take another song or another rig.",
)
