"""`time`: when the show ends."""

from collections.abc import Iterator
from typing import Any

import click

from showrunner.cli.allowances import ENDS, LIVE, PAUSES, allowances
from showrunner.cli.common import Call, command, find_show, open_book, trouble
from showrunner.cli.day import day_data, day_lines
from showrunner.cli.output import columns, paragraph, plural, print_json, print_lines
from showrunner.live.evidence import played_seconds
from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.model.units import format_clock, format_clocks, format_length, format_lengths, format_over
from showrunner.planning.day import day_sheet
from showrunner.planning.timing import FINISH_EARLY_S, RunningTime, SetTime, SongTime, running_time

EARLY = f"{FINISH_EARLY_S / 60:g} minutes"

REACHES = {
    "early": f"to end {EARLY} early",
    "in time": f"to end in time; the optional songs are not enough to end {EARLY} early",
    "too little": "and more, since the optional songs are not enough to end in time",
}
"""What dropping songs comes to, in words."""


@command(
    examples=(
        "showrunner time pellmarsh-hall",
        "showrunner time pellmarsh-hall --day",
        "showrunner time pellmarsh-hall --json",
    )
)
@click.argument("show")
@click.option("--day", is_flag=True, help="The whole day instead, from the first note back to the load-in.")
def time(call: Call, show: str, day: bool) -> None:
    """When each song starts and when the show ends, against the slot and the curfew.

    Planned is as written. Expected allows for what nights are like: songs that run long and changeovers that take
    longer than the pause they are in.
    """
    reading = open_book(call)
    slug = find_show(reading, show)
    the_show = reading.book.shows[slug]
    timed = running_time(reading.book, the_show, played=played_seconds(reading, the_show))
    parts = day_sheet(reading.book, the_show, timed) if day else ()
    if day and not parts:
        raise trouble(f'"{slug}" has no start, so its day can\'t be counted back', "write start = … into the show")
    if call.json:
        print_json(day_data(slug, parts) if day else time_data(slug, timed))
    elif day:
        print_lines(day_lines(reading.book, the_show, parts))
    else:
        print_lines(time_lines(reading.book, the_show, timed))


def time_data(slug: str, timed: RunningTime) -> dict[str, Any]:
    """The running time as JSON; clock times as hh:mm, null where the show has no start."""
    return {
        "show": slug,
        "planned_s": timed.planned_s,
        "expected_s": timed.expected_s,
        "spread_s": timed.spread_s,
        "slot_s": timed.slot_s,
        "finish": _clock(timed.finish),
        "curfew": _clock(timed.curfew),
        "over_s": timed.over_s,
        "sets": [
            {
                "title": part.title,
                "expected_s": part.expected_s,
                "slot_s": part.slot_s,
                "over_s": part.over_s,
                "songs": [
                    {"song": song.song, "starts": _clock(_starts(timed, song)), "duration_s": song.duration_s}
                    for song in part.songs
                ],
            }
            for part in timed.sets
        ],
    }


def time_lines(book: Book, show: Show, timed: RunningTime) -> Iterator[str]:
    """The running time as text."""
    yield show.title
    for part in timed.sets:
        yield from ("", part.title.capitalize())
        yield from columns(list(_rows(book, timed, part)), right=(0, 2))
    yield ""
    finish, curfew = _compared(timed.finish, timed.curfew)
    ends = f", ending at {finish}" if finish is not None else ""
    spread = f", give or take {format_length(timed.spread_s)}"
    yield f"planned {format_length(timed.planned_s)}, expected {format_length(timed.expected_s)}{spread}{ends}"
    limits = [f"slot {format_length(timed.slot_s)}"] if timed.slot_s is not None else []
    limits += [f"curfew {curfew}"] if curfew is not None else []
    yield from paragraph(_verdict(book, timed, " and ".join(limits)))
    for part in timed.sets:
        if part.over_s is not None and part.slot_s is not None:
            yield from paragraph(_set_verdict(book, part, part.slot_s, part.over_s))
    if timed.drop and timed.drop_reaches != "too little":
        yield from paragraph(
            "Named to drop are the fewest optional songs that are enough, and of as many those that take least time."
        )
    rests_on = [song.rests_on for part in timed.sets for song in part.songs]
    if any(rests_on):
        known = sum(1 for count in rests_on if count)
        yield from paragraph(
            f"{plural(known, 'song')} of {len(rests_on)} as long as they were played: {plural(sum(rests_on), 'time')} "
            "in all"
        )
    if timed.missing:
        yield from paragraph(f"Not counted, as the book doesn't have them: {', '.join(timed.missing)}")
    yield ""
    yield from allowances(LIVE, PAUSES, ENDS)


def _verdict(book: Book, timed: RunningTime, limits: str) -> str:
    if timed.over_s is None or timed.early_s is None:
        return "no slot and no curfew to keep to"
    if timed.over_s > 0:
        said = f"{limits}: {format_over(timed.over_s)} over"
    elif timed.early_s > 0:
        said = f"{limits}: {format_length(-timed.over_s)} to spare, which is tight"
    else:
        return f"{limits}: {format_length(-timed.over_s)} to spare"
    if not timed.optional:
        return f"{said}; no optional song to drop"
    if not timed.drop:
        return f"{said}; the optional songs are not enough to end {EARLY} early"
    drop = " and ".join(book.songs[song].title for song in timed.drop)
    return f"{said}: drop {drop} {REACHES[timed.drop_reaches]}"


def _set_verdict(book: Book, part: SetTime, slot_s: float, over_s: float) -> str:
    expected, slot = format_lengths(part.expected_s, slot_s)
    said = f"{part.title}: {expected} of its slot of {slot}"
    if over_s <= 0:
        return f"{said}, {format_length(-over_s)} to spare"
    drop = " and ".join(book.songs[song].title for song in part.drop)
    return f"{said}, {format_over(over_s)} over: {f'drop {drop}' if drop else 'no optional song to drop'}"


def _rows(book: Book, timed: RunningTime, part: SetTime) -> Iterator[tuple[str, ...]]:
    for song in part.songs:
        starts = _starts(timed, song)
        at = _clock(starts) if starts is not None else format_length(song.starts_s)
        title = book.songs[song.song].title + (" (optional)" if song.optional else "")
        pause = "" if song.pause.kind == "end" else "segue"
        if song.pause.kind not in ("end", "segue"):
            pause = f"{song.pause.kind} {format_length(song.pause_s)}"
        yield at or "", title, format_length(song.duration_s), pause


def _starts(timed: RunningTime, song: SongTime) -> float | None:
    return None if timed.starts is None else timed.starts + song.starts_s / 60


def _clock(minutes: float | None) -> str | None:
    return None if minutes is None else format_clock(minutes)


def _compared(one: float | None, other: float | None) -> tuple[str | None, str | None]:
    """Two clock times that are compared, None where one is not known."""
    if one is None or other is None:
        return _clock(one), _clock(other)
    first, second = format_clocks(one, other)
    return first, second
