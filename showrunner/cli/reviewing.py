"""Takes of the book, and what each of them shows: by cue, by pedal, by changeover."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from showrunner.cli.output import columns, number, plural
from showrunner.cli.replaying import UnknownTakeError, answers, script_for
from showrunner.model.units import format_length
from showrunner.planning.changeover import changeovers
from showrunner.planning.heldnotes import with_held
from showrunner.planning.practice import Arrival, Change, Pedal, Review, review
from showrunner.takes.smf import TakeError, read_take
from showrunner.takes.take import Take

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.library import Book


class Kept(NamedTuple):
    """A take in the book: its file, its name as SONG/NAME, and itself."""

    path: Path
    name: str
    take: Take

    @property
    def length_s(self) -> float:
        """Seconds to its last event."""
        last = [row.at_s for rows in (self.take.events, self.take.cues, self.take.asks) for row in rows]
        return max(last, default=0.0)

    @property
    def songs(self) -> tuple[str, ...]:
        """Slugs of the songs it goes through, in order."""
        named = (self.take.song,) if self.take.song is not None else ()
        return tuple(dict.fromkeys([cue.song for cue in self.take.cues] or named))


def take_files(root: Path) -> list[Path]:
    """The files of all takes, by name, which begins with the date."""
    return sorted((root / "takes").glob("*/*.mid"), key=lambda path: (path.stem, path.parent.name))


def kept_takes(root: Path, songs: Iterable[str]) -> tuple[list[Kept], list[TakeError]]:
    """Takes that go through any of the songs, oldest first, and those that can't be read."""
    wanted, found, broken = set(songs), list[Kept](), list[TakeError]()
    for path in take_files(root):
        try:
            kept = Kept(path, f"{path.parent.name}/{path.stem}", read_take(path))
        except TakeError as error:
            if path.parent.name in wanted:
                broken.append(error)
            continue
        if wanted & {*kept.songs, path.parent.name}:
            found.append(kept)
    return found, broken


def review_of(book: "Book", take: Take, rig: str, song: str | None = None) -> Review:
    """What a take shows with the book as it is now; UnknownTakeError if the book has nothing of it."""
    script = script_for(book, take, book.rigs[rig], song)
    show = book.shows.get(take.show) if take.show is not None else None
    pauses_s = (
        {(one.before, one.after): one.has_s for one in changeovers(book, show, book.rigs[rig])}
        if show is not None
        else {}
    )
    found = review(script, answers(script, take), gone(take), pauses_s)
    return with_held(found, script, [(e.at_s, e.port, e.data) for e in take.events if e.direction == "in"])


def gone(take: Take) -> dict[float, float | None]:
    """When the song's clock was started after each jump to a cue, by the time of the jump; None where it was not."""
    asks = sorted(take.asks, key=lambda ask: ask.at_s)
    found: dict[float, float | None] = {}
    for jump, then in zip_longest(asks, asks[1:]):
        if jump.what.startswith("jump "):
            goes = then is not None and then.what == "go " + jump.what.removeprefix("jump ")
            found[jump.at_s] = then.at_s if goes else None
    return found


def reviewed(reading: "Reading", kept: Sequence[Kept]) -> list[tuple[Kept, Review]]:
    """Takes with what they show; those of a rig, show or song that the book no longer has are passed over."""
    found = []
    for one in kept:
        show = reading.book.shows.get(one.take.show) if one.take.show is not None else None
        rig = one.take.rig or reading.book.rig_of(show)
        if rig is None or rig not in reading.book.rigs:
            continue
        try:
            found.append((one, review_of(reading.book, one.take, rig, one.path.parent.name)))
        except UnknownTakeError:
            continue
    return found


def review_lines(book: "Book", found: Review) -> Iterator[str]:
    """A review as text: each moment with what was wrong, then the changeovers."""
    rows = []
    for arrival in found.judged:
        title = _title(book, arrival.song)
        rows.append((format_length(arrival.at_s), title, arrival.cue, "; ".join(_said(arrival)) or "clean"))
    yield from columns(rows, right=(0,))
    for change in found.changes:
        planned = f", planned {format_length(change.planned_s)}" if change.planned_s is not None else ""
        fault = ": too long" if change.faults else ""
        to = f"{_title(book, change.before)} to {_title(book, change.after)}"
        yield f"  changeover {to}: {number(round(change.took_s, 1))} s{planned}{fault}"
    total = [*(a.faults for a in found.judged), *(c.faults for c in found.changes)]
    clean = sum(not faults for faults in total)
    yield ""
    unheard = sum(pedal.there is None for arrival in found.judged for pedal in arrival.pedals)
    but = f"; where {plural(unheard, 'pedal')} stood was not heard" if unheard else ""
    yield f"{clean} of {len(total)} places clean{but}" if total else "nothing was played"


def _said(arrival: Arrival) -> Iterator[str]:
    if arrival.late_s is not None and any(fault in ("late", "early") for fault in arrival.faults):
        yield f"{number(round(abs(arrival.late_s), 1))} s {'late' if arrival.late_s > 0 else 'early'}"
    for pedal in arrival.pedals:
        if pedal.there is False:
            yield f"{pedal.control} at {pedal.was:.0f} %, should be at {pedal.should:.0f} %"
        elif pedal.there is None:
            yield f"{pedal.control} was not heard, should be at {pedal.should:.0f} %"
    if arrival.held:
        yield f"{plural(arrival.held, 'note')} held past the stop"
    if arrival.too_soon:
        yield f"pressed too soon {arrival.too_soon} times" if arrival.too_soon > 1 else "pressed too soon once"
    if arrival.back:
        yield "gone back"
    if arrival.by_hand:
        yield "can't be seen: " + ", ".join(f"{name} {to}" for name, to in arrival.by_hand)


def review_data(found: Review) -> dict[str, Any]:
    """A review as JSON."""
    return {
        "clean": found.clean,
        "cues": [_arrival(arrival) for arrival in found.arrivals],
        "changeovers": [_change(change) for change in found.changes],
    }


def _arrival(arrival: Arrival) -> dict[str, Any]:
    return {
        **arrival._asdict(),
        "pedals": [_pedal(pedal) for pedal in arrival.pedals],
        "by_hand": dict(arrival.by_hand),
        "faults": arrival.faults,
    }


def _pedal(pedal: Pedal) -> Mapping[str, Any]:
    return {**pedal._asdict(), "there": pedal.there}


def _change(change: Change) -> Mapping[str, Any]:
    return {
        "at_s": change.at_s,
        "from": change.before,
        "to": change.after,
        "took_s": change.took_s,
        "planned_s": change.planned_s,
        "faults": change.faults,
    }


def _title(book: "Book", slug: str) -> str:
    return book.songs[slug].title if slug in book.songs else slug
