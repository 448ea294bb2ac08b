"""`changeovers`: what must happen between one song and the next, and whether there is time."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from showrunner.cli.allowances import HANDS, PAUSES, allowances
from showrunner.cli.common import Call, command, find_show, open_book, rig_for
from showrunner.cli.output import columns, number, paragraph, plural, print_json, print_lines
from showrunner.model.units import format_length, format_lengths, format_over
from showrunner.planning.changeover import Changeover, changeovers
from showrunner.planning.handwork import Step

if TYPE_CHECKING:
    from showrunner.model.library import Book


@command(examples=("showrunner changeovers pellmarsh-hall", "showrunner changeovers pellmarsh-hall --json"))
@click.argument("show")
def changeovers_(call: Call, show: str) -> None:
    """What hands and feet have to do between songs, the seconds it takes and the seconds there are.

    Two hands and two feet work side by side; the guitar comes before its tuning, the tuning before the capo. Then what
    is recalled by itself, and which sounds jump from one song to the next.
    """
    reading = open_book(call)
    slug = find_show(reading, show)
    rig = reading.book.rigs[rig_for(reading, slug)]
    found = changeovers(reading.book, reading.book.shows[slug], rig)
    if call.json:
        print_json(changeovers_data(slug, found))
    else:
        print_lines(changeover_lines(reading.book, slug, found))


def changeovers_data(slug: str, found: tuple[Changeover, ...]) -> dict[str, Any]:
    """The changeovers as JSON; states by name, capo by fret, controls by travel in %."""
    return {
        "show": slug,
        "changeovers": [
            {
                "from": change.before,
                "to": change.after,
                "needs_s": change.needs_s,
                "has_s": change.has_s,
                "steps": [
                    {
                        "what": step.what,
                        "from": step.before,
                        "to": step.after,
                        "limb": step.limb,
                        "seconds": step.seconds,
                    }
                    for step in change.steps
                ],
                "jumps": [
                    {"target": sound.target, "from": sound.before, "to": sound.after, "unit": sound.unit}
                    for sound in change.recall.jumps
                ],
            }
            for change in found
        ],
    }


def changeover_lines(book: "Book", slug: str, found: tuple[Changeover, ...]) -> Iterator[str]:
    """The changeovers as text."""
    yield book.shows[slug].title
    for change in found:
        yield ""
        titles = f"{book.songs[change.before].title} → {book.songs[change.after].title}"
        yield from paragraph(f"{titles}: {_time(change)}", hang=2)
        yield from columns([_row(step) for step in change.steps], indent=4, right=(3,))
        yield from _by_itself(change)
    yield ""
    yield from paragraph(_sum(book, found))
    yield ""
    yield from allowances(HANDS, PAUSES)


def _time(change: Changeover) -> str:
    needs, has = format_lengths(change.needs_s, change.has_s)
    pause = "segue" if change.pause.kind == "segue" else f"{change.pause.kind} {has}"
    if not change.steps:
        return f"nothing to do, {pause}"
    short = f", {format_over(change.short_s)} SHORT" if change.short_s else ""
    return f"needs {needs}, {pause}{short}"


def _row(step: Step) -> tuple[str, ...]:
    return step.what, step.change, step.limb, f"{number(step.seconds)} s"


def _by_itself(change: Changeover) -> Iterator[str]:
    recall = change.recall
    sent = [*recall.programs, *([plural(len(recall.targets), "target")] if recall.targets else [])]
    if sent:
        yield from paragraph(f"by itself: {', '.join(sent)}", indent=4, hang=6)
    if recall.jumps:
        jumps = ", ".join(
            f"{sound.target} {'?' if sound.before is None else _short(sound.before)} → {_short(sound.after or 0.0)} "
            f"{sound.unit}"
            for sound in recall.jumps
        )
        yield from paragraph(f"jumps, {recall.sound}: {jumps}", indent=4, hang=6)


def _short(value: float) -> str:
    return f"{round(value, 1):g}" if abs(value) < 10_000 else f"{value:.0f}"


def _sum(book: "Book", found: tuple[Changeover, ...]) -> str:
    total = f"{plural(len(found), 'changeover')}, {format_length(sum(change.needs_s for change in found))} in all"
    short = [change for change in found if change.short_s]
    if not short:
        return f"{total}; there is time for each"
    names = ", ".join(f"{format_over(change.short_s)} into {book.songs[change.after].title}" for change in short)
    return f"{total}; too little time for {len(short)}: {names}"
