"""`batteries`: does each battery last the show."""

from collections.abc import Iterator
from typing import Any

import click

from showrunner.cli.common import Call, command, find_show, open_book, rig_for
from showrunner.cli.output import columns, paragraph, print_json, print_lines
from showrunner.live.evidence import battery_hours, played_seconds
from showrunner.planning.batteries import MARGIN, SOUNDCHECK_H, USABLE, BatteryLife, battery_lives
from showrunner.planning.timing import running_time


@command(examples=("showrunner batteries pellmarsh-hall", "showrunner batteries pellmarsh-hall --json"))
@click.argument("show")
def batteries(call: Call, show: str) -> None:
    """Hours left in each battery of the rig against the hours that a show asks of it.

    Used are the hours written in the rig and those that runs have logged since the battery was fitted.
    """
    reading = open_book(call)
    slug = find_show(reading, show)
    the_show, rig = reading.book.shows[slug], reading.book.rigs[rig_for(reading, slug)]
    time = running_time(reading.book, the_show, played=played_seconds(reading, the_show))
    lives = battery_lives(reading.book, the_show, rig, time, battery_hours(reading.root, reading.book, rig))
    if call.json:
        print_json(batteries_data(slug, lives))
    else:
        print_lines(battery_lines(the_show.title, lives))


def batteries_data(slug: str, lives: tuple[BatteryLife, ...]) -> dict[str, Any]:
    """The batteries as JSON; hours needed are with the soundcheck and the margin."""
    return {
        "show": slug,
        "batteries": [
            {
                "battery": life.battery,
                "hours_left": life.hours_left,
                "hours_needed": life.hours_needed,
                "enough": life.enough,
            }
            for life in lives
        ],
    }


def battery_lines(title: str, lives: tuple[BatteryLife, ...]) -> Iterator[str]:
    """The batteries as text."""
    yield title
    yield ""
    if not lives:
        yield "the rig has no batteries"
        return
    head = ("battery", "in", "fresh", "used", "left", "needed", "")
    rows = [
        (
            life.battery,
            ", ".join(life.guitars) or "-",
            *(f"{hours:.1f} h" for hours in (life.fresh_h, life.used_h, life.hours_left, life.hours_needed)),
            _verdict(life),
        )
        for life in lives
    ]
    yield from columns([head, *rows], right=(2, 3, 4, 5))
    for life in lives:
        if not life.measured:
            yield from paragraph(
                f"{life.battery}: its load lies outside the loads its capacity was given for; the nearest one is taken"
            )
    yield ""
    yield from paragraph(
        f"Allowances (common practice): {USABLE * 100:g} % of the rated capacity; a fresh one below {MARGIN:g} times "
        f"the need. Needed is that many times the hours its guitar is in hand and {SOUNDCHECK_H:g} h of soundcheck "
        "(our own figure)."
    )


def _verdict(life: BatteryLife) -> str:
    if life.show_h == 0:
        return "not played"
    if life.enough:
        return "enough"
    return "fit a fresh one" if life.fresh_is_enough else "too small: take two"
