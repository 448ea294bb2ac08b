"""How a take went, and what would go out now of what was played then, in lines."""

from collections.abc import Container, Iterator, Sequence
from textwrap import wrap

from showrunner.model.cells import fit
from showrunner.model.library import Book, title_of
from showrunner.model.units import format_length
from showrunner.planning.practice import Arrival, Pedal, Review, Spot, to_practise
from showrunner.planning.practice_words import (
    CLEAN,
    NOT_CLEAN,
    change_said,
    counted,
    course_of,
    in_time,
    place_of,
    practise_next,
    summed_up,
)
from showrunner.takes.comparing import NOTHING, difference_row, differences, drawn, traces
from showrunner.takes.replaying import replay_steps, script_for, sent_then
from showrunner.takes.reviewing import Kept, review_of

PLOTTED = 3
"""So many of the targets that differ longest are drawn."""
WORDS = ("then", "now")


def rig_of(book: Book, one: Kept) -> str | None:
    """The rig a take was played on, None where the book does not have it."""
    show = book.shows.get(one.take.show) if one.take.show is not None else None
    rig = one.take.rig or book.rig_of(show)
    return rig if rig in book.rigs else None


def review_lines(book: Book, one: Kept, width: int) -> Iterator[str]:
    """A take, moment by moment: in time or not, where each pedal was, what else was wrong and what can't be seen.

    UnknownTakeError where the book has nothing of it.
    """
    rig = rig_of(book, one)
    if rig is None:
        yield f'the book has no rig "{one.take.rig or ""}": nothing can be said of this take'
        return
    found = review_of(book, one.take, rig, one.path.parent.name)
    yield summed_up(found)
    yield ""
    several = len({arrival.song for arrival in found.judged}) > 1
    rows = list(_rows(book, found, several=several))
    yield from _table(rows, width)


def _rows(book: Book, found: Review, *, several: bool) -> Iterator[tuple[float, str, str, str, str]]:
    rows: list[tuple[float, str, str, str, str]] = []
    for arrival in found.judged:
        where = f"{title_of(book.songs, arrival.song)}: {arrival.cue}" if several else arrival.cue
        sign = NOT_CLEAN if arrival.faults else CLEAN
        rows.append((arrival.at_s, sign, where, _timing(arrival), "; ".join(_rest(arrival))))
    for change in found.changes:
        where = f"changeover from {title_of(book.songs, change.before)}"
        rows.append((change.at_s, NOT_CLEAN if change.faults else CLEAN, where, "", change_said(change)))
    yield from sorted(rows, key=lambda row: row[0])


def _table(rows: Sequence[tuple[float, str, str, str, str]], width: int) -> Iterator[str]:
    where = min(max((len(row[2]) for row in rows), default=0), max(12, width // 3))
    for at_s, sign, place, timing, rest in rows:
        start = f"{format_length(at_s):>7} {sign} {fit(place, where)} {timing:<11} "
        yield from _hung(start, rest, width)


def _hung(start: str, text: str, width: int) -> Iterator[str]:
    """A line that goes on below where it began, if it is too long."""
    first, *more = wrap(text, max(16, width - len(start)), break_on_hyphens=False) or [""]
    yield (start + first).rstrip()
    yield from (" " * len(start) + line for line in more)


def _timing(arrival: Arrival) -> str:
    return "" if arrival.late_s is None else in_time(arrival.late_s)


def _rest(arrival: Arrival) -> Iterator[str]:
    yield from (_pedal(pedal) for pedal in arrival.pedals)
    if arrival.held:
        yield f"{counted(arrival.held, 'note')} held past the stop"
    if arrival.too_soon:
        yield f"pressed too soon {arrival.too_soon}×"
    if arrival.back:
        yield "gone back"
    if arrival.by_hand:
        yield "can't be seen: " + ", ".join(f"{name} {to}" for name, to in arrival.by_hand)


def _pedal(pedal: Pedal) -> str:
    if pedal.was is None:
        return f"{pedal.control} not heard, should be at {pedal.should:.0f} %"
    if pedal.there:
        return f"{pedal.control} at {pedal.was:.0f} %"
    return f"{pedal.control} at {pedal.was:.0f} %, should be at {pedal.should:.0f} %"


def over_takes(book: Book, found: Sequence[Spot], songs: Container[str], width: int) -> Iterator[str]:
    """Every place of some songs over all takes, and what to practise next."""
    mine = [spot for spot in found if spot.song in songs]
    if not mine:
        return
    if hard := to_practise(mine):
        yield from _hung("practise next: ", practise_next(book.songs, hard), width)
    yield f"over all takes; {CLEAN} clean, {NOT_CLEAN} not, the latest on the right"
    rows = [(f"{title_of(book.songs, s.song)}, {place_of(book.songs, s)}", *course_of(s)) for s in mine]
    name = min(max(16, width // 2 - 8), max(len(row[0]) for row in rows))
    for place, clean, course, faults in rows:
        yield from _hung(f"  {fit(place, name)} {clean:>8}  {course:<10} ", faults, width)


def replay_lines(book: Book, one: Kept, width: int) -> Iterator[str]:
    """What the book as it is now makes of what was played, beside what went out then.

    UnknownTakeError where the book has nothing of it.
    """
    slug = rig_of(book, one)
    if slug is None:
        yield "the book no longer has the rig it was played on"
        return
    rig = book.rigs[slug]
    steps = replay_steps(script_for(book, one.take, rig, one.path.parent.name), one.take)
    then, now = sent_then(one.take, rig), tuple(sent for step in steps for sent in step.sent)
    if not then:
        yield "the take kept nothing of what went out then"
        return
    found = differences(then, now, (rig, rig), one.take.ends_s)
    if not found:
        yield "the book as it is now sends what went out then: every target stands the same, all the time"
        return
    yield "what the book as it is now would do otherwise:"
    for difference in found:
        target, how_long, where = difference_row(difference, steps, book.songs, WORDS)
        yield f"  {target}  {how_long}"
        yield f"    {where}"
    before, after = traces(then), traces(now)
    for name in [each.target for each in found if each.target in rig.targets][:PLOTTED]:
        yield ""
        yield from drawn(name, before.get(name, NOTHING), after.get(name, NOTHING), rig, one.take.ends_s, WORDS, width)
