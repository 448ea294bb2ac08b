"""`order`: the order of songs that takes least time in changeovers."""

import tomllib
from math import nan
from time import monotonic
from typing import TYPE_CHECKING, Any

import click

from showrunner.book.change import apply, edit
from showrunner.book.data import ABSENT
from showrunner.book.read import decoded
from showrunner.book.save import digest, save
from showrunner.cli.common import Call, command, find_show, open_book, rig_for, trouble
from showrunner.cli.order_text import Found, order_lines
from showrunner.cli.output import print_json, print_lines, working
from showrunner.live.evidence import played_seconds
from showrunner.planning.exchange import best_exchanges
from showrunner.planning.fitting import fitted
from showrunner.planning.order import SECONDS
from showrunner.planning.setorder import BetterOrder, better_order, newly_short, short_changeovers, total_s
from showrunner.planning.task import NoOrderError

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.rig import Rig
    from showrunner.model.show import Show


@command(
    examples=(
        "showrunner order pellmarsh-hall",
        "showrunner order pellmarsh-hall --swap",
        "showrunner order oxcote-theatre --fit --write",
        "showrunner order oxcote-theatre --across-sets",
    )
)
@click.argument("show")
@click.option("--swap", is_flag=True, help="Only the one or two exchanges of songs that help most.")
@click.option(
    "--fit",
    is_flag=True,
    help="Leave out optional songs of a show over its time, to end 3 minutes early where that can be had.",
)
@click.option("--across-sets", is_flag=True, help="Let songs move between sets, each set keeping its length.")
@click.option("--in-time", is_flag=True, help="First the least seconds missing in pauses, then the least time.")
@click.option("--write", is_flag=True, help="Write the order into the show, its comments kept.")
@click.option("--seconds", type=click.FloatRange(min=0), default=SECONDS, show_default=True, help="Longest search.")
def order(call: Call, show: str, **asked: Any) -> None:
    """The order of songs that takes least time in changeovers, with what is pinned kept.

    Songs stay in their set, a segue keeps its two songs together, and the encore is left as it is. Of orders that
    take the same the written one is kept, else the one with the fewest seconds missing in pauses.

    With --across-sets songs change sets too, and a set stays as long as it is, to a minute; one with a slot of its
    own may fill that, and is cut down to it. "first" and "last" are the ends of the set a song is written in.
    """
    if asked["swap"] and (asked["fit"] or asked["across_sets"] or asked["in_time"]):
        raise click.UsageError("--swap only exchanges songs; --fit, --across-sets and --in-time look for a whole order")
    reading = open_book(call)
    slug = find_show(reading, show)
    rig = reading.book.rigs[rig_for(reading, slug)]
    write = asked.pop("write")
    try:
        with working("looking for a better order"):
            found = by_exchange(reading, slug, rig) if asked.pop("swap") else by_all_songs(reading, slug, rig, **asked)
    except NoOrderError as error:
        mend = "change one of the pins"
        if asked["across_sets"]:
            mend = (
                "change a pin or a slot; a set without a slot keeps its length to a minute, one with a slot may fill it"
            )
        raise trouble(str(error), mend, file=reading.file("show", slug)) from error
    if write and found.better.show != reading.book.shows[slug]:
        write_order(reading, slug, found.better.show)
    if call.json:
        print_json(order_data(slug, found))
    else:
        print_lines(order_lines(reading.book, slug, rig, found, write))


def by_exchange(reading: "Reading", slug: str, rig: "Rig") -> Found:
    """The order after the exchanges that help most, the written one if none does."""
    book, show = reading.book, reading.book.shows[slug]
    before_s, exchanges = total_s(book, show, rig), best_exchanges(book, show, rig)
    best = exchanges[-1].show if exchanges else show
    songs = tuple(song for song in (*best.set_songs, *best.encore) if song in book.songs)
    after_s = exchanges[-1].after_s if exchanges else before_s
    better = BetterOrder(
        songs,
        best,
        before_s,
        after_s,
        proved=False,
        bound_s=nan,
        before_short_s=sum(short_changeovers(book, show, rig).values()),
        after_short_s=sum(short_changeovers(book, best, rig).values()),
        newly_short=newly_short(book, show, best, rig),
    )
    return Found(better, exchanges)


def by_all_songs(
    reading: "Reading", slug: str, rig: "Rig", fit: bool, across_sets: bool, in_time: bool, seconds: float
) -> Found:
    """The order that takes least, with optional songs left out to `fit`; the search takes about `seconds` at most."""
    book, show, until_s = reading.book, reading.book.shows[slug], monotonic() + seconds

    def expired() -> bool:
        return monotonic() > until_s

    played = played_seconds(reading, show)
    look = fitted if fit else better_order
    found = look(
        book,
        show,
        rig,
        across_sets=across_sets,
        in_time=in_time,
        played=played,
        seconds=seconds,
        expired=expired,
    )
    if isinstance(found, BetterOrder):
        return Found(found, in_time=in_time, across_sets=across_sets, played=played)
    better = found.better._replace(
        before_s=total_s(book, show, rig),
        before_short_s=sum(short_changeovers(book, show, rig).values()),
        newly_short=newly_short(book, show, found.better.show, rig),
    )
    return Found(better, (), found.left_out, found.time, in_time, across_sets, played)


def order_data(slug: str, found: Found) -> dict[str, Any]:
    """The order as JSON; `swaps` with --swap and `left_out` with --fit, else empty; `short_s` missing in pauses."""
    better = found.better
    return {
        "show": slug,
        "before_s": better.before_s,
        "after_s": better.after_s,
        "order": list(better.order),
        "proved": better.proved,
        "bound_s": better.bound_s,
        "swaps": [{"songs": [list(pair) for pair in one.pairs], "after_s": one.after_s} for one in found.exchanges],
        "left_out": list(found.left_out),
        "sets": [[slot.song for slot in part.songs] for part in better.show.sets],
        "before_short_s": better.before_short_s,
        "after_short_s": better.after_short_s,
        "newly_short": [list(pair) for pair in better.newly_short],
    }


def write_order(reading: "Reading", slug: str, show: "Show") -> None:
    """Writes the sets and the reserve of a show into its file, comments kept; BookError if that can't be done."""
    file, was = reading.file("show", slug), reading.sources["show", slug]
    source, then = was, {slot.song: slot.then for part in show.sets for slot in part.songs}
    before = [part.songs for part in reading.book.shows[slug].sets]
    for index, songs in enumerate(before):
        for number, slot in enumerate(songs):
            if slot.song in then and slot.then != then[slot.song]:
                key = ("sets", index, "songs", number, "then")
                written = ABSENT if then[slot.song] is None else str(then[slot.song])
                source = apply(source, edit(file, source, key, written))
    items = {item["song"]: item for part in tomllib.loads(decoded(source))["sets"] for item in part.get("songs", [])}
    for index, part in enumerate(show.sets):
        if part.songs != before[index]:
            after = [items[slot.song] for slot in part.songs]
            source = apply(source, edit(file, source, ("sets", index, "songs"), after))
    if show.reserve != reading.book.shows[slug].reserve:
        source = apply(source, edit(file, source, ("reserve",), list(show.reserve)))
    save(reading.root / file, source, digest(was))
