"""A better order in words: what is saved, where each song goes, and which changeovers get shorter."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from showrunner.cli.output import columns, number, paragraph
from showrunner.model.units import format_length
from showrunner.planning.changeover import changeover_times
from showrunner.planning.exchange import Exchange
from showrunner.planning.lineup import line_up
from showrunner.planning.setorder import BetterOrder
from showrunner.planning.timing import running_time

if TYPE_CHECKING:
    from showrunner.model.library import Book
    from showrunner.model.rig import Rig
    from showrunner.model.show import Show


class Found(NamedTuple):
    """What was asked for: the order, the exchanges that lead to it, what is left out, and what is over all the same."""

    better: BetterOrder
    exchanges: tuple[Exchange, ...] = ()
    left_out: tuple[str, ...] = ()
    over_s: float | None = None


def order_lines(book: "Book", slug: str, rig: "Rig", found: Found, written: bool) -> Iterator[str]:
    """The order as text; what is written and what could be."""
    show, better = book.shows[slug], found.better
    yield show.title
    yield ""
    yield from paragraph(_saved(found))
    for one in found.exchanges:
        pairs = ", then ".join(f"{book.songs[a].title} and {book.songs[b].title}" for a, b in one.pairs)
        yield from paragraph(f"exchange {pairs}: {format_length(one.after_s)}", indent=2, hang=4)
    if found.left_out:
        yield from paragraph(f"left out, into the reserve: {', '.join(book.songs[s].title for s in found.left_out)}")
    same = better.show == show
    if not same:
        yield from _songs(book, show, better.show, rig)
    yield ""
    if found.over_s is not None and found.over_s > 0:
        yield from paragraph(f"still {format_length(found.over_s)} over, and no optional song is left to leave out")
    elif not found.left_out:
        yield from _too_long(book, better.show)
    if same:
        yield "the order as written is kept"
    else:
        yield f"wrote {slug}" if written else "nothing is written yet; say --write to write it"


def _saved(found: Found) -> str:
    better = found.better
    saved_s = better.before_s - better.after_s
    takes = f"changeovers take {format_length(better.before_s)} as written"
    takes += f", {format_length(better.after_s)} in this order" if abs(saved_s) > 0 else ""
    if found.exchanges:
        return takes
    if better.bound_s != better.bound_s:
        return f"{takes}; no one or two exchanges save anything"
    if better.proved:
        return f"{takes}; no order takes less"
    if better.after_s <= better.bound_s:
        return f"{takes}; it is not proved that none takes less"
    return f"{takes}; the best order found: none takes less than {format_length(better.bound_s)}"


def _songs(book: "Book", before: "Show", after: "Show", rig: "Rig") -> Iterator[str]:
    """Every song in its new place, with the changeover into it, and what that and its place were before."""
    was, now = (_into(book, show, rig) for show in (before, after))
    place_was = {song: place for place, song in enumerate(before.set_songs, 1)}
    place = 0
    for part in after.sets:
        yield ""
        yield (part.title or "set").capitalize()
        rows = []
        for slot in part.songs:
            place += 1
            title = book.songs[slot.song].title if slot.song in book.songs else slot.song
            pin = f" ({slot.pin})" if slot.pin is not None else ""
            takes = f"{number(now[slot.song][0])} s" if slot.song in now else ""
            moved = "" if place_was[slot.song] == place else f"was {place_was[slot.song]}"
            said = _against(now[slot.song], was.get(slot.song), slot is part.songs[0]) if slot.song in now else ""
            rows.append((str(place), title + pin, takes, moved, said))
        yield from columns(rows, right=(0, 2))


def _into(book: "Book", show: "Show", rig: "Rig") -> dict[str, tuple[float, float]]:
    """Seconds that the changeover into each song takes, and seconds there are for it."""
    times = changeover_times(book, show, rig)
    has = {place.song: place.pause.seconds for place in line_up(show)}
    return {after: (seconds, has[before]) for (before, after), seconds in times.items()}


def _against(now: tuple[float, float], was: tuple[float, float] | None, opens: bool) -> str:
    """Whether there is time for a changeover, and what it took before where that was not the same."""
    (takes, has), said = now, ["in the break"] if opens else []
    if was is not None and was[0] != takes:
        said.append(f"{number(was[0])} s before" + (", better" if takes < was[0] else ""))
    if takes > has:
        said.append(f"{number(takes - has)} s SHORT")
    return ", ".join(said)


def _too_long(book: "Book", show: "Show") -> Iterator[str]:
    time = running_time(book, show)
    if time.over_s is not None and time.over_s > 0:
        drop = " and ".join(book.songs[song].title for song in time.drop)
        way = f"drop {drop}; --fit leaves it out" if drop else "no optional song to drop"
        yield from paragraph(f"{format_length(time.over_s)} over: {way}")
