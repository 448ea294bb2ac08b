"""What a take shows, as text and as JSON."""

from collections.abc import Iterator, Mapping
from typing import Any

from showrunner.cli.output import columns
from showrunner.model.library import Book, title_of
from showrunner.model.units import format_length
from showrunner.planning.practice import Arrival, Change, Pedal, Review
from showrunner.planning.practice_words import change_said, said, summed_up


def review_lines(book: Book, found: Review) -> Iterator[str]:
    """A review as text: each moment with what was wrong, then the changeovers."""
    rows = []
    for arrival in found.judged:
        title = title_of(book.songs, arrival.song)
        rows.append((format_length(arrival.at_s), title, arrival.cue, "; ".join(said(arrival)) or "clean"))
    yield from columns(rows, right=(0,))
    for change in found.changes:
        to = f"{title_of(book.songs, change.before)} to {title_of(book.songs, change.after)}"
        yield f"  changeover {to}: {change_said(change)}"
    yield ""
    yield summed_up(found)


def review_data(found: Review) -> dict[str, Any]:
    """A review as JSON."""
    return {
        "clean": found.clean,
        "played": found.played,
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
        "straight": change.straight,
        "late_s": change.late_s,
        "faults": change.faults,
    }
