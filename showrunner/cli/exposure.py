"""`exposure`: the day's sound dose."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

import click

from showrunner.cli.common import Call, command, find_show, open_book, trouble
from showrunner.cli.output import columns, number, paragraph, print_json, print_lines
from showrunner.levels.exposure import (
    LIMITS,
    NIOSH,
    OSHA,
    Held,
    Limit,
    Part,
    Rule,
    day_dba,
    held_to,
    parse_part,
)
from showrunner.model.cautions import HEARING
from showrunner.model.units import format_length

RULES = (NIOSH, OSHA)


def _part(_ctx: click.Context, _param: click.Parameter, given: tuple[str, ...]) -> tuple[Part, ...]:
    try:
        return tuple(parse_part(text) for text in given)
    except ValueError as error:
        raise click.BadParameter(str(error)) from None


@command(
    examples=(
        'showrunner exposure --part "rehearsal 94 dBA 1h30m" --part "show 99 dBA 75m"',
        "showrunner exposure --show pellmarsh-hall --level 98",
        'showrunner exposure --part "show 99 dBA 75m" --protection 15',
        'showrunner exposure --show pellmarsh-hall --part "check 92 dBA 20m" --json',
    )
)
@click.option("--part", "parts", multiple=True, callback=_part, metavar='"NAME LEVEL dBA LENGTH"', help="A stretch.")
@click.option("--show", metavar="SHOW", help="Add a show of the book, as long as it is expected to last.")
@click.option("--level", type=click.FloatRange(0, 194), help="The show's level, dBA; else its venue's limit.")
@click.option(
    "--protection",
    "protection_db",
    type=click.FloatRange(0, 60),
    metavar="DB",
    help="What the hearing protection that is worn all the time keeps off, dB; 0 if none is worn.",
)
def exposure(
    call: Call, parts: tuple[Part, ...], show: str | None, level: float | None, protection_db: float | None
) -> None:
    """The day's sound dose by NIOSH and by OSHA, what is left of it, and the limits it is held against.

    A LENGTH is 90s, 47m37s, 1h24m or 6:40. Doses and action values are of the level without hearing protection; the
    limit value of Directive 2003/10/EC is of the level under it, so that it needs --protection. Limits differ by
    country: protect your hearing, keep to local rules, and ask a licensed professional where it matters.
    """
    if level is not None and math.isnan(level):
        raise click.UsageError("--level is a number of dBA")
    if protection_db is not None and math.isnan(protection_db):
        raise click.UsageError("--protection is a number of dB")
    limits: tuple[Limit, ...] = LIMITS
    if show is not None:
        part, of_venue = _of_show(call, show, level)
        parts, limits = (*parts, part), (*limits, *of_venue)
    elif level is not None:
        raise click.UsageError("--level is the level of a show; say which with --show SHOW")
    if not parts:
        raise click.UsageError('say what the day holds, as in --part "rehearsal 94 dBA 1h30m", or --show SHOW')
    if sum(part.seconds for part in parts) > 24 * 3600:
        raise click.UsageError("these parts are longer than a day")
    if call.json:
        print_json(exposure_data(parts, held_to(parts, limits, protection_db), protection_db))
    else:
        print_lines(exposure_lines(parts, held_to(parts, limits, protection_db), protection_db))


def exposure_data(parts: Sequence[Part], held: Sequence[Held], protection_db: float | None) -> dict[str, Any]:
    """Parts, doses and limits as JSON; `left_s` is the time left at the loudest part's level."""
    loudest = max(part.level_dba for part in parts)
    data: dict[str, Any] = {"parts": [part._asdict() for part in parts]}
    for rule in RULES:
        dose = rule.dose_pct(parts)
        data[rule.name.lower()] = {
            "dose_pct": dose,
            "twa_dba": rule.twa_dba(dose),
            "left_s": rule.left_s(dose, loudest),
        }
    data["protection_db"] = protection_db
    data["limits"] = [
        {**one.limit._asdict(), "level_dba": one.level_dba, "over": None if one.level_dba is None else one.over}
        for one in held
    ]
    return data


def exposure_lines(parts: Sequence[Part], held: Sequence[Held], protection_db: float | None) -> Iterator[str]:
    """Parts, doses, limits and the caution as text."""
    rows = [(part.name, f"{number(part.level_dba)} dBA", format_length(part.seconds)) for part in parts]
    yield from columns(rows, indent=0, right=(1, 2))
    yield ""
    for rule in RULES:
        yield from paragraph(_dose(rule, parts), hang=2)
    yield ""
    yield from paragraph(f"Spread over eight hours it is {day_dba(parts):.1f} dBA.")
    for one in held:
        yield from paragraph(_limit(one, protection_db), hang=2)
    yield ""
    if protection_db:
        yield from paragraph("Protection keeps off what it says only where it fits and is worn all the time.")
    yield from paragraph(HEARING)


def _limit(held: Held, protection_db: float | None) -> str:
    limit, level = held.limit, held.level_dba
    what = f"{limit.what}, {number(limit.laeq_dba)} dBA over {format_length(limit.over_s)}"
    if level is None:
        return (
            f"not comparable: {what}, is of the level under hearing protection; say what yours keeps off with "
            "--protection DB (0 if none is worn)"
        )
    worn = ""
    if limit.protected:
        worn = (
            f" under protection that keeps off {number(protection_db)} dB" if protection_db else " without protection"
        )
    decimals = next((some for some in (1, 2) if (round(level, some) > limit.laeq_dba) == held.over), 3)
    return f"{'OVER' if held.over else 'within'}: {what}; here {level:.{decimals}f}{worn}"


def _dose(rule: Rule, parts: Sequence[Part]) -> str:
    dose, loudest = rule.dose_pct(parts), max(part.level_dba for part in parts)
    said = f"{rule.name}: {dose:.0f} % of the day's dose, a TWA of {rule.twa_dba(dose):.1f} dBA"
    if dose > 100:
        return f"{said}. WARNING: that is more than a day may hold; turn down, play shorter or wear protection"
    return f"{said}; {format_length(rule.left_s(dose, loudest))} left at {number(loudest)} dBA"


def _of_show(call: Call, word: str, level: float | None) -> tuple[Part, tuple[Limit, ...]]:
    from showrunner.planning.timing import running_time

    reading = open_book(call)
    slug = find_show(reading, word)
    show = reading.book.shows[slug]
    venue = reading.book.venues.get(show.venue) if show.venue is not None else None
    limit = venue.sound_limit if venue is not None else None
    if level is None:
        if limit is None:
            raise trouble(f'no sound limit is known where "{slug}" is played', "say how loud with --level DBA")
        level = limit.laeq_db
    seconds = min(running_time(reading.book, show).expected_s, 24 * 3600)
    own = () if venue is None or limit is None else (Limit(venue.title, limit.laeq_db, limit.over),)
    return Part(show.title, level, seconds), own
