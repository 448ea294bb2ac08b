"""Rules on guitars: the instrument a song wants, its tuning, and the string driver in it."""

from collections.abc import Iterator

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.words import offer


def _missing_guitar(context: Context) -> Iterator[Finding]:
    guitars = context.rig.instruments
    for facts in context.songs:
        wanted = facts.piece.song.instrument
        if wanted is not None and wanted not in guitars:
            yield MISSING_GUITAR.in_song(
                facts,
                ("instrument",),
                what=f'{context.rig.title} has no guitar "{wanted}"',
                why="The song can't be played as written: its tuning and what lives on that guitar aren't there.",
                mend="Take the guitar along, or name another for tonight in the show, "
                f'[tonight.{facts.slug}] instrument = "…"{offer(guitars, "there is")}',
            )


MISSING_GUITAR = Rule(
    name="missing-guitar",
    level="error",
    find=_missing_guitar,
    looks_for="A song whose guitar is not among the rig's instruments.",
    because="The guitar that was left at home can't be reached from the stage.",
    such_as='instrument = "baritone" in the song; the small rig has one guitar, "travel".',
    fix="Take it along, or choose tonight's guitar in the show: [tonight.SONG] instrument.",
)


def _no_guitar(context: Context) -> Iterator[Finding]:
    guitars = context.rig.instruments
    for facts in context.songs if len(guitars) > 1 else ():
        if facts.piece.song.instrument is None:
            yield NO_GUITAR.in_song(
                facts,
                ("instrument",),
                what=f"no guitar is named, and {context.rig.title} has {len(guitars)}: whichever is in hand is played",
                why="Its tuning, its trim and what is set on it follow from the song before, and the time of "
                "changeovers and the best order can't be told for certain.",
                mend=f'Write instrument = "…" in the song{offer(guitars, "there is")}',
            )


NO_GUITAR = Rule(
    name="no-guitar",
    level="note",
    find=_no_guitar,
    looks_for="A song that names no guitar, where the rig has more than one.",
    because="Nobody can say which guitar has to be in hand, or how it is tuned by then.",
    such_as="A song without instrument, on a rig with a baritone and a six-string.",
    fix="Name the song's guitar; where it is another one night, say so in the show: [tonight.SONG] instrument.",
)


def _missing_tuning(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        song = facts.piece.song
        guitar = context.rig.instruments.get(song.instrument) if song.instrument is not None else None
        if guitar is not None and song.tuning is not None and song.tuning not in guitar.tunings:
            yield MISSING_TUNING.in_song(
                facts,
                ("tuning",),
                what=f'"{song.instrument}" on {context.rig.title} has no tuning "{song.tuning}"'
                + offer(guitar.tunings, "it has"),
                why="Nobody can say which strings to retune, so the changeover's time is wrong too.",
                mend=f"Write the tuning's strings under the guitar in the rig, or choose one it has for tonight: "
                f'[tonight.{facts.slug}] tuning = "…".',
            )


MISSING_TUNING = Rule(
    name="missing-tuning",
    level="error",
    find=_missing_tuning,
    looks_for="A song whose tuning is not among those of its guitar on this rig.",
    because="The guitar may not take that tuning at all, and the list for the hands can't say what to turn.",
    such_as='tuning = "C standard" in the song; the rig\'s baritone has "B standard" and "drop A".',
    fix="Add the tuning with its strings to the guitar, or play tonight in one that it has.",
)


def _note_never_stopped(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        if not facts.last.ringing:
            continue
        since = None
        for moment in facts.piece.moments:
            since = None if not moment.ringing else since if since is not None else moment
        if since is not None:
            yield NOTE_NEVER_STOPPED.at_cue(
                facts,
                since,
                "hold",
                what=f'the note held from "{since.name}" is never stopped',
                why="A driven note doesn't end by itself, and muting the output doesn't stop the string: it rings "
                "on into the changeover.",
                mend='At the cue where a hand damps it, write stop = { by = "picking hand", driver = "off" }.',
            )


NOTE_NEVER_STOPPED = Rule(
    name="note-never-stopped",
    level="error",
    find=_note_never_stopped,
    looks_for="A note held from a cue with hold = true on, and no later cue with stop.",
    because="The driver feeds the string until a hand damps it; a song that doesn't say when leaves it ringing.",
    such_as='[[cues]] name = "Theme", hold = true — and no later cue with stop.',
    fix="Say at a later cue what damps the note and what becomes of the driver.",
)


def _driver_left_on(context: Context) -> Iterator[Finding]:
    for before, after, _place in context.follows:
        guitar, next_guitar = before.piece.song.instrument, after.piece.song.instrument
        driver = before.piece.driver
        stands = before.last.by_hand.get(driver) if driver is not None else None
        if stands in (None, "off") or next_guitar is None or next_guitar == guitar:
            continue
        yield DRIVER_LEFT_ON.at_cue(
            before,
            before.last,
            what=f'"{guitar}" is put down for "{next_guitar}" with its "{driver}" at "{stands}" '
            f'(next: "{after.title}")',
            why="The driver runs from its own battery with nothing plugged in: undamped strings start to ring on "
            "the stand, and the battery runs down.",
            mend=f'At the last cue write by_hand = {{ "{driver}" = "off" }}, or driver = "off" in its stop.',
        )


DRIVER_LEFT_ON = Rule(
    name="driver-left-on",
    level="error",
    find=_driver_left_on,
    looks_for="A change of guitars, in the show's order, while the first one's string driver is still on.",
    because="Nobody damps a guitar on its stand: its strings start to ring, and unplugging it doesn't help.",
    such_as="A song ends with the baritone's octave switch at octave; the next one is played on another guitar.",
    fix="Switch the driver off at the song's last cue, where the hands read it.",
)
