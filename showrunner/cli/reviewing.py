"""What a take shows, as text and as JSON."""

from collections.abc import Iterator, Mapping
from typing import Any

from showrunner.cli.output import columns, number, plural
from showrunner.model.library import Book
from showrunner.model.units import format_length
from showrunner.planning.practice import Arrival, Change, Pedal, Review


def review_lines(book: Book, found: Review) -> Iterator[str]:
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


def _title(book: Book, slug: str) -> str:
    return book.songs[slug].title if slug in book.songs else slug
