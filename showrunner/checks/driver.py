"""Rules on the string driver: whether a note that should ring by itself can."""

from collections.abc import Iterator

from showrunner.checks.context import Context, Facts
from showrunner.checks.controls import wanted
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.words import listed
from showrunner.state.moments import Moment


def held(facts: Facts) -> Iterator[Moment]:
    """The moments at which a driven note starts to ring."""
    return (moment for moment in facts.piece.moments if moment.cue is not None and moment.cue.hold)


def _no_driver(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        guitar = facts.piece.song.instrument
        if facts.piece.driver is not None or guitar not in context.rig.instruments:
            continue
        for moment in held(facts):
            yield NO_DRIVER.at_cue(
                facts,
                moment,
                "hold",
                what=f'"{moment.name}" wants a note to ring by itself, and "{guitar}" on {context.rig.title} carries '
                "no string driver",
                why="The note dies away like any other.",
                mend="Play the song on a guitar with a driver, hold the note by other means, or write the driver's "
                "switch, with a position off, under what the guitar carries.",
            )


NO_DRIVER = Rule(
    name="no-driver",
    level="error",
    find=_no_driver,
    looks_for="A cue with hold = true on a guitar without a string driver: a control that it carries, set by "
    'hand, with a position "off".',
    because="Without magnets under the strings nothing keeps a note ringing.",
    such_as="hold = true in a song for the spare guitar, which carries no driver.",
    fix="Keep held notes for guitars with a driver; in tonight's changes, mind what the spare lacks.",
)


def _driver_off(context: Context) -> Iterator[Finding]:
    for facts in context.songs:
        driver = facts.piece.driver
        for moment in held(facts) if driver is not None else ():
            if driver is not None and moment.by_hand.get(driver, "off") == "off":
                yield DRIVER_OFF.at_cue(
                    facts,
                    moment,
                    "hold",
                    what=f'"{moment.name}" wants a note to ring by itself while "{driver}" is off',
                    why="The driver doesn't drive: the note dies away.",
                    mend=f'Write by_hand = {{ "{driver}" = "…" }} at this cue or before, with a position that is on.',
                )


DRIVER_OFF = Rule(
    name="driver-off",
    level="error",
    find=_driver_off,
    looks_for="A cue that holds a note while the driver's switch, followed along the song, is off.",
    because="A hand has to switch the driver on before it can hold anything.",
    such_as='hold = true at "Theme", with the octave switch at its rest, off.',
    fix="Say at the cue, or at the start, where the switch stands.",
)


def _driver_unfed(context: Context) -> Iterator[Finding]:
    batteries = context.rig.batteries
    for name, guitar in sorted(context.rig.instruments.items()):
        driver = context.rig.driver_of(name)
        if driver is None or guitar.battery in batteries:
            continue
        if any(facts.piece.song.instrument == name and any(held(facts)) for facts in context.songs):
            yield DRIVER_UNFED.in_file(
                "rig",
                context.rig_slug,
                ("instruments", name),
                what=f'the driver of "{name}" ("{driver}") is to hold notes, and has no battery in {context.rig.title}',
                why="Nobody counts its hours: it may go flat in the middle of the note.",
                mend='Write [batteries."driver cell"] with capacity_mah and load_ma, and battery = "driver cell" '
                "under the guitar.",
            )


DRIVER_UNFED = Rule(
    name="driver-unfed",
    level="warning",
    find=_driver_unfed,
    looks_for="A guitar whose driver holds notes, without a battery in the rig.",
    because="A driver runs from its own battery; what isn't written down is not counted and not changed.",
    such_as="The baritone carries the octave switch and names no battery.",
    fix="Describe the battery once in the rig; its hours are then compared with every show.",
)


def _other_guitar(context: Context) -> Iterator[Finding]:
    carriers = context.carriers()
    for facts in context.songs if carriers else ():
        guitar, song = facts.piece.song.instrument, facts.piece.song
        if guitar not in context.rig.instruments:
            continue
        away = {name for name, guitars in carriers.items() if guitar not in guitars}
        for name in away:
            if name in facts.controls:
                yield _lives_elsewhere(context, facts, name, wanted(facts, name)[0])
        for moment in facts.piece.moments:
            for name, to in (moment.cue.by_hand if moment.cue is not None else song.start.by_hand).items():
                if name in away and to != "off":
                    away.remove(name)
                    yield _lives_elsewhere(context, facts, name, facts.cue_key(moment, "by_hand", name))


def _lives_elsewhere(context: Context, facts: Facts, name: str, key: tuple[str | int, ...]) -> Finding:
    return OTHER_GUITAR.in_song(
        facts,
        key,
        what=f'"{name}" lives on {listed(sorted(context.carriers()[name]))}, and this song is played on '
        f'"{facts.piece.song.instrument}"',
        why="It hangs on its stand while the song needs it.",
        mend="Change the song's instrument, or give the work to a control on the floor.",
    )


OTHER_GUITAR = Rule(
    name="other-guitar",
    level="error",
    find=_other_guitar,
    looks_for="A control or by-hand state that lives on another guitar than the song's.",
    because="A strip or a switch is out of reach when its guitar is.",
    such_as='A song on the six-string moves "strip", which only the baritone carries.',
    fix="Play it on the guitar that carries the control, or use a pedal.",
)
