"""What the screen After says of a night: rows, bars over the evening's time, and a song's earlier nights."""

from collections import Counter
from collections.abc import Iterator, Sequence
from statistics import median
from typing import NamedTuple

from showrunner.live.closing import Closed
from showrunner.live.runs import Before, Run
from showrunner.model.cells import cut, fit
from showrunner.model.library import Book
from showrunner.model.units import format_length
from showrunner.planning.closing import SongLength, ToFile
from showrunner.planning.compared import Compared, Part
from showrunner.planning.evidence import whole
from showrunner.planning.night import Night
from showrunner.sheets.night import finish_lines, incidents, pair, title_of, trim_lines

SONGS, PAUSE, POINTER, TROUBLE = "█▓", "─", "▲", "!"
LONGER, AXIS = "▬", "│"
LABEL_CELLS = 8
DRIFT_CELLS = 11
MOST_DRIFT_CELLS = 25
"""The least and the most room for a row's drift."""
DRIFT_S = 10
"""Seconds that a cell of a row's drift stands for."""
LEAST_TITLE_CELLS = 12
"""What a show's title keeps where the rest of its line has no room."""
NIGHTS = 8
"""How many nights of a song are shown."""


class Look(NamedTuple):
    """One performance to look at: the run cut to it, what it was, and whether it is closed."""

    run: Run
    night: Night
    was: Closed | None


def head(look: Look, title: str, place: int, count: int, room: int) -> str:
    """Which night this is, and whether it is closed; where there is no room for all of it the title gives way."""
    state = f"closed on {look.was.on}" if look.was is not None else "not closed"
    told = f" · {look.run.name} · {state}" + (f" · {place + 1} of {count}" if count > 1 else "")
    return cut(title, max(LEAST_TITLE_CELLS, room - len(told))) + told


def cells(book: Book, part: Part, room: int) -> tuple[str, ...]:
    """A song or a changeover as a row of the table, with `room` for its drift."""
    planned, played, over = pair(part.planned_s, part.played_s)
    drawn = drift(part.over_s, room)
    if part.after is None:
        at = "" if part.starts_s is None else format_length(part.starts_s)
        return at, title_of(book, part.song), planned, played, over, "", drawn
    needs = format_length(part.needs_s) if part.needs_s else ""
    return "", f"  to {title_of(book, part.after)}", planned, played, over, needs, drawn


def drift_head(room: int) -> str:
    """What stands over the drifts."""
    return f"{'−':>{room // 2 - 1}} {AXIS} +"


def drift(over_s: float | None, room: int = DRIFT_CELLS) -> str:
    """How much longer or shorter than planned, right or left of a line; as far as there is room."""
    if over_s is None:
        return ""
    side = room // 2
    drawn = LONGER * min(side, round(abs(over_s) / DRIFT_S + 0.3))
    return f"{'':{side}}{AXIS}{drawn}" if over_s > 0 else f"{drawn:>{side}}{AXIS}"


def evening(book: Book, compared: Compared, look: Look, at: Part | None, width: int) -> list[str]:
    """The evening from its first note on, as planned and as played, and where the part at hand and trouble were."""
    room, whole_s = max(10, width - LABEL_CELLS - 8), evening_s(compared)
    songs = [part for part in compared.parts if part.after is None]
    planned = sorted((part for part in songs if part.planned_starts_s is not None), key=_planned_start)
    rows = [
        _row(
            "planned", [(part.planned_starts_s, part.planned_s) for part in planned], whole_s, room, compared.planned_s
        ),
        _row("played", [(part.starts_s, part.played_s) for part in songs], whole_s, room, compared.lasted_s),
    ]
    marks = [" "] * room
    for at_s, _ in incidents(book, look.night):
        if at_s is not None and at_s >= 0:
            marks[min(room - 1, int(at_s / whole_s * room))] = TROUBLE
    if at is not None and at.starts_s is not None:
        marks[min(room - 1, max(0, int(at.starts_s / whole_s * room)))] = POINTER
    marked = " " * LABEL_CELLS + "".join(marks).rstrip()
    meant = [f"{sign} {words}" for sign, words in ((POINTER, "here"), (TROUBLE, "went wrong")) if sign in marked]
    legend = "  ".join(meant)
    if len(marked) + 2 + len(legend) <= width:
        marked += f"{legend:>{width - len(marked)}}"
    return [*rows, marked.rstrip()]


def evening_s(compared: Compared) -> float:
    """How long the bars' time is: from the first note to the last, as planned or as played."""
    ends = [
        starts_s + length_s
        for part in compared.parts
        for starts_s, length_s in ((part.starts_s, part.played_s), (part.planned_starts_s, part.planned_s))
        if starts_s is not None and length_s is not None
    ]
    return max([compared.planned_s, compared.lasted_s or 0.0, *ends, 1.0])


def night_lines(book: Book, look: Look, compared: Compared) -> Iterator[str]:
    """The whole night in words: its end, trims, what was left out, and what went wrong."""
    show = book.shows[look.run.show]
    yield from finish_lines(compared)
    if compared.not_played:
        yield f"not played: {', '.join(title_of(book, song) for song in compared.not_played)}"
    told = list(incidents(book, look.night))
    for at_s, words in told:
        yield words if at_s is None else f"{format_length(at_s)} {words}"
    if not told:
        yield "no step back, no press too soon, no port lost"
    yield from trim_lines(book, show, book.rigs.get(look.run.rig_in(book) or ""), look.night)
    for problem in look.run.problems:
        yield str(problem)


def song_lines(book: Book, song: str, nights: Sequence[Before], here: Look) -> Iterator[str]:
    """A song over its nights, the latest first, against what is written; performances of a day by their number."""
    written = book.songs[song].duration if song in book.songs else None
    title = title_of(book, song)
    yield title + (f", written {format_length(written)}" if written is not None else "")
    lengths = [one.lasted_s for one in nights]
    lengths = lengths if written is None else whole(lengths, written)
    if lengths:
        yield f"median {format_length(median(lengths))} of {len(lengths)}"
    else:
        yield "played to its end on no night"
    often = Counter((one.show, one.date) for one in nights)
    shown = list(reversed(nights))[:NIGHTS]
    dates = {one: f"{one.date} ({one.number})" if often[one.show, one.date] > 1 else one.date for one in shown}
    wide = max(map(len, dates.values()), default=0)
    for one in shown:
        is_here = (one.show, one.date, one.number) == (here.run.show, here.run.date, here.run.number)
        mark = "▸" if is_here else " "
        _, lasted, over = pair(written, one.lasted_s)
        drawn = "" if written is None else drift(one.lasted_s - written)
        show = "" if one.show == here.run.show else f" {one.show}"
        yield f"{mark} {dates[one]:<{wide}} {lasted:>5} {over:>6} {drawn:<{DRIFT_CELLS}}{show}".rstrip()


def to_tick(book: Book, found: ToFile) -> dict[str, str]:
    """What closing can file, in words by `song SLUG`, `battery NAME` and `visit`, in the order it is asked for."""
    wide = max((len(title_of(book, one.song)) for one in found.songs), default=0)
    offered = {f"song {one.song}": _song_words(book, one, wide) for one in found.songs if not one.why_not}
    for use in found.batteries:
        where = f"{' and '.join(use.guitars)} in hand" if use.guitars else "the whole show"
        offered[f"battery {use.battery}"] = (
            f"{use.battery} {use.written_h:g} h becomes {use.after_h:g} h: {where} for {use.hours:.2f} h"
        )
    if found.visit is not None and found.venue is not None:
        offered["visit"] = f"the visit to {book.venues[found.venue].title} on {found.visit.date}, with its trims"
    return offered


def not_offered(book: Book, found: ToFile) -> Iterator[str]:
    """Songs that closing can't file, and why."""
    for one in found.songs:
        if one.why_not:
            yield f"{title_of(book, one.song)} stays {format_length(one.written_s)}: {one.why_not}"


def _song_words(book: Book, one: SongLength, wide: int) -> str:
    played = format_length(one.played_s or 0)
    middle = f", median {format_length(one.median_s)} of {one.nights}" if one.median_s is not None else ""
    return f"{fit(title_of(book, one.song), wide)} {format_length(one.written_s)} becomes {played}{middle}"


def _planned_start(part: Part) -> float:
    return part.planned_starts_s or 0.0


def _row(
    label: str, spans: Sequence[tuple[float | None, float | None]], whole_s: float, room: int, lasts_s: float | None
) -> str:
    drawn = [" "] * room
    if lasts_s is not None:
        drawn[: max(1, round(lasts_s / whole_s * room))] = PAUSE * max(1, round(lasts_s / whole_s * room))
    for number, (starts_s, length_s) in enumerate(spans):
        if starts_s is None or length_s is None or length_s <= 0:
            continue
        first = min(room - 1, max(0, round(starts_s / whole_s * room)))
        last = min(room, max(first + 1, round((starts_s + length_s) / whole_s * room)))
        drawn[first:last] = SONGS[number % 2] * (last - first)
    said = "" if lasts_s is None else f" {format_length(lasts_s)}"
    return f"{label:<{LABEL_CELLS}}{''.join(drawn[:room])}{said}"
