"""What a take shows, and what is to be practised, in words."""

from collections.abc import Iterable, Mapping, Sequence

from showrunner.model.library import title_of
from showrunner.model.song import Song
from showrunner.model.units import format_length
from showrunner.planning.practice import Arrival, Change, Review, Spot, go_of

CLEAN, NOT_CLEAN = "o", "x"
DRAWN = 24
"""So many of the latest times are drawn."""
NOTICED_S = 0.1
"""Late or early by less than this is said to be on time; our own figure, no source."""
NOTHING_PLAYED = "nothing was played"
NOBODY = "nobody was heard"
ALL_CLEAN = "nothing to practise: the latest takes were clean wherever that can be seen"
UNHEARD = "nobody was heard in the takes there are: move a pedal, or take the cues by foot"


def counted(count: int, word: str) -> str:
    """`1 note`, `3 notes`."""
    return f"{count} {word}{'' if count == 1 else 's'}"


def said(arrival: Arrival) -> list[str]:
    """What was wrong with a moment as it was reached, and what of it can't be seen; nothing where all is well."""
    found = []
    if arrival.late_s is not None and any(fault in ("late", "early") for fault in arrival.faults):
        found.append(lateness_of(arrival.late_s))
    for pedal in arrival.pedals:
        if pedal.there is False:
            found.append(f"{pedal.control} at {pedal.was:.0f} %, should be at {pedal.should:.0f} %")
        elif pedal.there is None:
            found.append(f"{pedal.control} was not heard, should be at {pedal.should:.0f} %")
    if arrival.held:
        found.append(f"{counted(arrival.held, 'note')} held past the stop")
    if arrival.too_soon:
        found.append(f"pressed too soon {arrival.too_soon} times" if arrival.too_soon > 1 else "pressed too soon once")
    if arrival.back:
        found.append("gone back")
    if arrival.by_hand:
        found.append("can't be seen: " + ", ".join(f"{name} {to}" for name, to in arrival.by_hand))
    return found


def in_time(late_s: float) -> str:
    """Whether something came on time."""
    return "on time" if abs(late_s) < NOTICED_S else lateness_of(late_s)


def lateness_of(late_s: float) -> str:
    """Seconds late or early, to a tenth."""
    return f"{round(abs(late_s), 1):g} s {'late' if late_s > 0 else 'early'}"


def change_said(change: Change) -> str:
    """How long a changeover took, and what was planned; of one that takes no time, whether it came when it should."""
    if change.straight:
        return "straight on" if change.late_s is None else f"straight on, {in_time(change.late_s)}"
    planned = f", planned {format_length(change.planned_s)}" if change.planned_s is not None else ""
    return f"{format_length(change.took_s)}{planned}{': too long' if change.faults else ''}"


def summed_up(found: Review) -> str:
    """How many of a take's places were clean, and how many pedals were not heard."""
    clean, total = go_of(found.places)
    if total and not found.played:
        return "the clock took every step and nobody was heard: over all takes it does not count"
    unheard = sum(pedal.there is None for arrival in found.judged for pedal in arrival.pedals)
    but = f"; where {counted(unheard, 'pedal')} stood was not heard" if unheard else ""
    return f"{clean} of {total} places clean{but}" if total else NOTHING_PLAYED


def how_clean(found: Review | None) -> str:
    """The same in few words; None is a take of what the book no longer has."""
    if found is None:
        return "nothing of it is in the book now"
    clean, total = go_of(found.places)
    if total and not found.played:
        return NOBODY
    return f"{clean} of {total} clean" if total else NOTHING_PLAYED


def drawn(goes: Iterable[bool], most: int = DRAWN) -> str:
    """Each of the latest times with the newest on the right; true is clean."""
    return "".join(CLEAN if clean else NOT_CLEAN for clean in list(goes)[-most:])


def place_of(songs: Mapping[str, Song], spot: Spot) -> str:
    """A place within its song: a cue, or the changeover that leads to it."""
    return spot.cue or "" if spot.before is None else f"changeover from {title_of(songs, spot.before)}"


def course_of(spot: Spot) -> tuple[str, str, str]:
    """How often a place went clean, each of the latest times with the newest on the right, and what was wrong."""
    faults = ", ".join(f"{fault} {count}×" for fault, count in spot.faults)
    return f"{spot.clean} of {len(spot.goes)}", drawn(not faults for faults in spot.goes), faults


def practise_next(songs: Mapping[str, Song], hard: Sequence[Spot]) -> str:
    """Places to practise, song by song, the one that fails most first."""
    by_song: dict[str, list[str]] = {}
    for spot in hard:
        by_song.setdefault(spot.song, []).append(place_of(songs, spot))
    return "; ".join(f"{title_of(songs, song)}: {', '.join(places)}" for song, places in by_song.items())
