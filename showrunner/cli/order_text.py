"""A better order in words: what is saved, where each song goes, and which changeovers get shorter."""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from showrunner.cli.allowances import ENDS as FINISH
from showrunner.cli.allowances import HANDS, LIVE, PAUSES, allowances
from showrunner.cli.output import columns, number, paragraph
from showrunner.model.units import format_length, format_lengths, format_over
from showrunner.planning.changeover import changeover_times
from showrunner.planning.exchange import Exchange
from showrunner.planning.lineup import line_up
from showrunner.planning.setorder import BetterOrder
from showrunner.planning.timing import FINISH_EARLY_S, NOTHING, RunningTime, running_time

if TYPE_CHECKING:
    from showrunner.model.library import Book
    from showrunner.model.rig import Rig
    from showrunner.model.show import Show


class Found(NamedTuple):
    """What was asked for: the order, the exchanges that lead to it, and what is left out and how long the show is then.

    `fitted` is None where nothing was to be left out.
    """

    better: BetterOrder
    exchanges: tuple[Exchange, ...] = ()
    left_out: tuple[str, ...] = ()
    fitted: RunningTime | None = None
    in_time: bool = False
    across_sets: bool = False
    played: Mapping[str, Sequence[float]] = NOTHING


def order_lines(book: "Book", slug: str, rig: "Rig", found: Found, written: bool) -> Iterator[str]:
    """The order as text; what is written and what could be."""
    show, better = book.shows[slug], found.better
    yield show.title
    yield ""
    yield from paragraph(_saved(found))
    for one in found.exchanges:
        pairs = ", then ".join(f"{book.songs[a].title} and {book.songs[b].title}" for a, b in one.pairs)
        yield from paragraph(f"exchange {pairs}: {format_length(one.after_s)}", indent=2, hang=4)
    if found.fitted is not None:
        titles = ", ".join(book.songs[song].title for song in found.left_out)
        gone = f"left out, into the reserve: {titles}" if titles else "nothing is left out"
        yield from paragraph(f"{gone}; {_fits(found.fitted)}")
    yield from _short(book, better)
    same = better.show == show
    if not same:
        yield from _songs(book, show, better.show, rig)
        if found.across_sets:
            yield ""
            yield from _lengths(book, show, better.show, rig, found.played)
    yield ""
    if found.fitted is None:
        yield from _too_long(running_time(book, better.show, played=found.played, rig=rig), book)
    if same:
        yield "the order as written is kept"
    else:
        yield f"wrote {slug}" if written else "nothing is written yet; say --write to write it"
    yield ""
    yield from allowances(HANDS, LIVE, PAUSES, FINISH)


ENDS = {"slot": "the end of its slot", "curfew": "the curfew"}
EARLY = f"{FINISH_EARLY_S / 60:g} minutes"


def _fits(time: RunningTime) -> str:
    """Which limit the show keeps, with what was left out, or how far over it still is."""
    over = [
        f"{part.title} is still {format_over(part.over_s)} over its slot"
        for part in time.sets
        if part.over_s is not None and part.over_s > 0
    ]
    end = ENDS.get(time.limit or "", "")
    if time.over_s is not None and time.over_s > 0:
        over.insert(0, f"the show is still {format_over(time.over_s)} over {end}")
    if over:
        return f"{' and '.join(over)}, and no optional song is left that would be enough"
    if time.early_s is None:
        return "the show has no slot and no curfew, and no set is over its own slot"
    if time.early_s <= 0:
        return f"the show keeps the margin: it ends {EARLY} or more before {end}"
    return f"the show keeps the limit, but not the margin: it ends less than {EARLY} before {end}"


def _saved(found: Found) -> str:
    better = found.better
    bound_s = better.before_s if better.bound_s != better.bound_s else better.bound_s
    before, after, bound = format_lengths(better.before_s, better.after_s, bound_s)
    takes = f"changeovers take {before} as written"
    takes += f", {after} in this order" if after != before else ""
    if found.exchanges:
        return takes
    if better.bound_s != better.bound_s:
        return f"{takes}; no exchange of two songs saves anything, and no two exchanges were found that do"
    none = "no order" if better.as_pinned else "as written the pins are not met, and no order that meets them"
    if found.in_time:
        short = f"{takes}; pauses are {number(better.after_short_s)} s short in all, {number(better.before_short_s)} s"
        return f"{short} as written" + (f"; {none} lacks less" if better.proved else ", the least found")
    if better.proved:
        return f"{takes}; {none} takes less"
    return f"{takes}; the best order found: none takes less than {bound}"


def _short(book: "Book", better: BetterOrder) -> Iterator[str]:
    """Which changeovers are too short that were not."""
    if not better.newly_short:
        return
    pairs = ", ".join(f"{book.songs[a].title} to {book.songs[b].title}" for a, b in better.newly_short)
    yield from paragraph(
        f"TOO SHORT NOW, and not as written: {pairs}. Pauses are {number(better.after_short_s)} s short in all, "
        f"{number(better.before_short_s)} s as written; longer pauses mend it, and --in-time looks for the order that "
        "lacks least"
    )


def _lengths(
    book: "Book", before: "Show", after: "Show", rig: "Rig", played: Mapping[str, Sequence[float]]
) -> Iterator[str]:
    """How long each set is that has other songs now, and what follows a song no longer."""
    now = running_time(book, after, played=played, rig=rig)
    was = {part.number: part for part in running_time(book, before, played=played, rig=rig).sets}
    for part in now.sets:
        old = was.get(part.number)
        if old is None or {song.song for song in old.songs} == {song.song for song in part.songs}:
            continue
        slot = "" if part.slot_s is None else f", slot {format_length(part.slot_s)}"
        yield from paragraph(
            "{}: {}, as written {}{}".format(part.title, *format_lengths(part.expected_s, old.expected_s), slot)
        )
    kept = {slot.song: slot.then for part in after.sets for slot in part.songs}
    for end in (part.songs[-1] for part in after.sets if part.songs):
        then = next(slot.then for part in before.sets for slot in part.songs if slot.song == end.song)
        if then is not None and then != kept[end.song]:
            yield from paragraph(f"{then} after {book.songs[end.song].title} goes: the set ends there now")


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


def _too_long(time: RunningTime, book: "Book") -> Iterator[str]:
    if time.over_s is not None and time.over_s > 0:
        drop = " and ".join(book.songs[song].title for song in time.drop)
        enough = ", which is not enough" if time.drop_reaches == "too little" else ""
        way = f"drop {drop}{enough}; --fit leaves it out" if drop else "no optional song to drop"
        yield from paragraph(f"{format_over(time.over_s)} over: {way}")
