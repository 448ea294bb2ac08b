"""What the set's screen says: the clock, an order or an exchange that would be better, stand-ins."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from showrunner.model.cells import cells, fit
from showrunner.model.library import Book, title_of
from showrunner.model.show import Show, Slot
from showrunner.model.units import format_clock, format_length, format_lengths, format_over
from showrunner.planning.changeover import Changeover
from showrunner.planning.timing import RunningTime
from showrunner.tui.about import against_limit, filled

if TYPE_CHECKING:
    from showrunner.planning.exchange import Exchange
    from showrunner.planning.setorder import BetterOrder
    from showrunner.planning.standins import SongStandIns


SIGNS = {"pinned": "⊥", "optional": "◌", "tonight": "≠", "stand-in": "⇄"}
"""What stands beside a song where its notes have no room in words: each has a sign of its own."""


def notes_of(show: Show, song: str, slot: Slot | None) -> list[str]:
    """What a show says of a song beside its place: pinned, optional, changed tonight, played with a stand-in."""
    notes = ["pinned"] if slot is not None and slot.pin is not None else []
    notes += ["optional"] if slot is not None and slot.optional else []
    notes += ["tonight"] if song in show.tonight else []
    return notes + (["stand-in"] if song in show.stand_ins else [])


def noted(title: str, notes: Sequence[str], *, in_words: bool) -> str:
    """A title with its notes, in words or by their signs."""
    said = f"({', '.join(notes)})" if in_words else "".join(SIGNS[note] for note in notes)
    return f"{title} {said}" if notes else title


def changeover_lines(book: Book, change: Changeover, width: int, rows: int) -> list[str]:
    """What has to be done between a song and the next, by what, and how long it takes; more briefly in few rows."""
    into = f"into {title_of(book.songs, change.after)}"
    needs, has = format_lengths(change.needs_s, change.has_s)
    pause = change.pause.kind if not change.has_s else f"{change.pause.kind} {has}"
    if not change.steps:
        return [f"{into}: nothing to do, {pause}"]
    short = f", {format_over(change.short_s)} short" if change.short_s > 0 else ""
    head = f"{into}: {needs} of work in the {pause}{short}"
    if len(change.steps) >= rows:
        return filled(f"{head}: {', '.join(f'{step.what} {step.change}' for step in change.steps)}", width)
    what, changed = (max(map(cells, texts)) for texts in zip(*((s.what, s.change) for s in change.steps), strict=True))
    steps = (
        f"  {fit(step.what, what)}  {fit(step.change, changed)}  {step.limb}, {step.seconds:g} s"
        for step in change.steps
    )
    return [head, *steps]


def order_words(book: Book, better: "BetterOrder") -> str:
    """What would move, and what it would save."""
    before, after, bound = format_lengths(better.before_s, better.after_s, better.bound_s)
    if better.after_s >= better.before_s:
        if not better.proved:
            none = f"no order was found that takes less than {before} between songs; none takes less than {bound}"
        elif not better.as_pinned:
            none = "the order as written does not meet its pins, and none that does takes less time between songs"
        else:
            none = "no order of these songs takes less time between them"
        return none
    titles = " · ".join(book.songs[song].title for song in better.order)
    sure = "the least there is" if better.proved else "the least found"
    pairs = ", ".join(f"{book.songs[a].title} to {book.songs[b].title}" for a, b in better.newly_short)
    short = f"\ntoo short now, and not as it is: {pairs}" if pairs else ""
    return f"between songs {after} instead of {before}, {sure}: y takes it, x leaves it\n{titles}{short}"


def clock_words(book: Book, title: str, timed: RunningTime) -> str:
    """How long the show takes, when it ends, and what to leave out for it to end in time."""
    parts = [title, f"planned {format_length(timed.planned_s)}", f"expected {format_length(timed.expected_s)}"]
    parts[-1] += f" give or take {format_length(timed.spread_s)}"
    if timed.finish is not None:
        parts.append(f"ends {format_clock(timed.finish)}")
    if timed.over_s is not None:
        parts.append(against_limit(timed.over_s))
    if timed.drop:
        more = ", which is not enough" if timed.drop_reaches == "too little" else ""
        parts.append(f"drop {', '.join(book.songs[song].title for song in timed.drop)}{more}")
    return " · ".join(parts)


def exchange_words(book: Book, found: "Sequence[Exchange]", before_s: float) -> str:
    """The one exchange of two songs that helps most."""
    if not found:
        return "no exchange of two songs takes less time between them"
    ((one, other), *_), _, after_s = found[0]
    titles = f"{book.songs[one].title} and {book.songs[other].title}"
    before, after = format_lengths(before_s, after_s)
    return f"{titles} change places: between songs {after} instead of {before}; y takes it, x leaves it"


def stand_in_words(found: "Sequence[SongStandIns]") -> str:
    """Who would do whose work, song by song, and what would be lost."""
    lines: list[str] = []
    for song in found:
        if song.work or song.unplayable:
            lines.append(song.title)
            lines += [f"  {work.used} does the work of {work.wanted}" for work in song.work]
            lines += [f"    {loss}" for loss in song.losses]
    return "\n".join(lines)
