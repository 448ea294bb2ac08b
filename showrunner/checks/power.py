"""Rules on batteries: whether each lasts the show."""

from collections.abc import Iterator

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.words import listed
from showrunner.planning.batteries import MARGIN, USABLE, BatteryLife, battery_lives


def _lives(context: Context) -> Iterator[tuple[BatteryLife, float]]:
    """Every battery that the show asks something of, with the hours it takes without the margin."""
    if context.show is None or context.time is None:
        return
    for life in battery_lives(context.book, context.show, context.rig, context.time):
        if life.hours_needed > 0:
            yield life, life.hours_needed / MARGIN


def _battery_flat(context: Context) -> Iterator[Finding]:
    for life, takes_h in _lives(context):
        if life.hours_left < takes_h:
            yield BATTERY_FLAT.in_file(
                "rig",
                context.rig_slug,
                ("batteries", life.battery),
                **_words(context, life, takes_h),
                why="It goes flat before the last note, and what it feeds stops with it. Counted on are "
                f"{USABLE * 100:g} % of its rated capacity (common practice).",
            )


BATTERY_FLAT = Rule(
    name="battery-flat",
    level="error",
    find=_battery_flat,
    looks_for=f"A battery that has fewer hours left ({USABLE * 100:g} % of its rated capacity by common practice, "
    "less what was used) than the show and its soundcheck ask of it.",
    because="A string driver without its battery holds no note.",
    such_as="used_h = 18 on a cell that holds 21 hours, before four hours of show and soundcheck.",
    fix="Fit a fresh one and write the day under fitted, with used_h = 0.",
)


def _battery_low(context: Context) -> Iterator[Finding]:
    for life, takes_h in _lives(context):
        if takes_h <= life.hours_left < life.hours_needed:
            yield BATTERY_LOW.in_file(
                "rig",
                context.rig_slug,
                ("batteries", life.battery),
                **_words(context, life, takes_h),
                why=f"With less than {MARGIN:g} times the need (common practice), a cold stage or an older cell is "
                "enough to stop it.",
            )


BATTERY_LOW = Rule(
    name="battery-low",
    level="warning",
    find=_battery_low,
    looks_for=f"A battery that lasts the show with less than {MARGIN:g} times what it needs (common practice).",
    because="Rated capacity is measured on fresh cells in a warm room.",
    such_as="5 hours left where the show and its soundcheck take 4.",
    fix="Fit a fresh one before the show, and keep the old one for rehearsal.",
)


def _words(context: Context, life: BatteryLife, takes_h: float) -> dict[str, str]:
    title = context.show.title if context.show is not None else ""
    of = f" of {listed(life.guitars)}" if life.guitars else ""
    spare = "" if life.fresh_is_enough else f", and have another at hand: it holds {life.fresh_h:.1f} h"
    return {
        "what": f'"{life.battery}"{of} has {life.hours_left:.1f} h left; {title} and its soundcheck take '
        f"{takes_h:.1f} h",
        "mend": f"Fit a fresh one{spare}. Then write fitted and used_h = 0 in the rig.",
    }
