"""What the rehearsing screen shows: the sight of the show, with the beat, the round, the bars until what comes next."""

from collections.abc import Set
from dataclasses import replace
from itertools import zip_longest
from math import ceil

from showrunner.live.counting import lit
from showrunner.live.rehearsal_picture import RehearsalPicture
from showrunner.live.seen import Arrival, Count, Sight, Wordings
from showrunner.live.sight import sight, song_head
from showrunner.model.tempo import bar_starts_s
from showrunner.model.units import format_length
from showrunner.planning.practice_words import change_said, in_time, said
from showrunner.state.moments import Piece
from showrunner.state.rehearsal import stretch_of
from showrunner.state.script import Script
from showrunner.state.values import Clock, State

CHANGE_SHOWN_S = 10.0
"""How long the changeover behind is spoken of."""


def rehearsal_sight(
    script: Script, seen: RehearsalPicture, arrived: Set[Arrival], *, by_foot: bool, led: bool = False
) -> Sight:
    """What to show of a rehearsal; `by_foot` is whether the foot takes the cues, `led` whether a take does."""
    picture = seen.picture._replace(state=_by_beat(script, seen))
    base = sight(script, picture, None, arrived)
    if not picture.state.order:
        return base
    piece = script.pieces[picture.state.order[picture.state.place]]
    count = _count(script, seen)
    head, beside, titled, after = base.head, base.beside, base.titled, base.after
    if count is not None or base.counted_in is not None:
        head, beside, titled = song_head(piece, picture.state.moment, seen.place_s or 0.0, count)
    if count is not None and base.mode != "changeover":
        after = (f"→ {piece.moments[picture.state.moment].name.upper()}",)
    if count is None and not led and (bars := _until(piece, seen, by_foot=by_foot)):
        pairs = zip_longest(base.after, bars[: len(base.after)], fillvalue=bars[-1])
        after = (*(f"{words}  {when}" for words, when in pairs), *base.after)
    return base._replace(
        head=head,
        beside=beside,
        titled=titled,
        counted_in=count,
        label=f"{base.label} · {beat}" if (beat := _beat(seen)) else base.label,
        after=after,
        aside=_aside(seen, base),
        status=" · ".join(part for part in (_round(seen), _beat(seen), base.status, _left(seen)) if part),
    )


def verdict(seen: RehearsalPicture) -> str:
    """What was right or wrong with the last moment reached, and with the changeover behind, as it happened."""
    parts, at_s = [], seen.picture.at_s
    change, arrival = seen.change, seen.arrival
    if change is not None and at_s - change.at_s - change.took_s < CHANGE_SHOWN_S:
        parts.append(f"changeover {change_said(change)}")
    if arrival is not None and not arrival.lead:
        found = [each for each in said(arrival) if not each.endswith((" late", " early"))]
        timing = "" if arrival.late_s is None else in_time(arrival.late_s)
        parts.append(", ".join([f"{arrival.cue} {timing}".strip(), *found]))
    return " · ".join(parts)


def _by_beat(script: Script, seen: RehearsalPicture) -> State:
    """The state with the song's clock where the beat is, since a jump into a song sets it to nought.

    Without a beat of that song, as while the foot is late at its end, the clock is where the song stands.
    """
    state, beat = seen.picture.state, seen.beat
    if state.phase != "song":
        return state
    on_beat = beat if beat is not None and beat.what == "beat" and beat.song == state.song else None
    piece = script.pieces[state.song or ""]
    tempo = stretch_of(piece, on_beat) if on_beat is not None else None
    bar_s = bar_starts_s(piece.song, on_beat.bar) if on_beat is not None else None
    if on_beat is not None and tempo is not None and bar_s is not None:
        place_s = bar_s + (on_beat.beat - 1) * tempo.bar_s / tempo.meter.beats
        return replace(state, clock=Clock(on_beat.at_s - place_s))
    return state if seen.place_s is None else replace(state, clock=Clock(seen.picture.at_s - seen.place_s))


def _aside(seen: RehearsalPicture, base: Sight) -> Wordings:
    arrival = seen.arrival
    if base.mode == "changeover":
        left_s = max(0, ceil(seen.ahead.due.at_s - seen.picture.at_s)) if seen.ahead is not None else None
        return (f"{left_s} S LEFT", f"{left_s} S") if left_s is not None else ("",)
    late_s = None if base.mode != "song" or arrival is None or arrival.lead else arrival.late_s
    if arrival is not None and seen.change is not None and seen.change.at_s == arrival.at_s:
        late_s = seen.change.late_s
    if late_s is None:
        return ("",)
    words = in_time(late_s).upper()
    return (words,)


def _count(script: Script, seen: RehearsalPicture) -> Count | None:
    """The beat counted in now."""
    beat = seen.beat
    if beat is None or beat.what != "count":
        return None
    tempo = stretch_of(script.pieces[beat.song], beat)
    since_s = seen.picture.at_s - beat.at_s
    return None if tempo is None else Count(beat.bar, beat.beat, lit(tempo, beat.beat, since_s))


def _beat(seen: RehearsalPicture) -> str:
    """The bar and beat of the song that is under way."""
    beat = seen.beat
    if beat is None or beat.what != "beat" or beat.song != seen.picture.state.song:
        return ""
    return f"bar {beat.bar}.{beat.beat}"


def _round(seen: RehearsalPicture) -> str:
    if seen.times == 1:
        return ""
    return f"time {seen.round}" + (f" of {seen.times}" if seen.times is not None else ", round and round")


def _left(seen: RehearsalPicture) -> str:
    left_s = None if seen.ends_s is None else seen.ends_s - seen.picture.at_s
    return f"{format_length(max(0.0, left_s))} left" if left_s is not None else ""


def _until(piece: Piece, seen: RehearsalPicture, *, by_foot: bool) -> Wordings:
    """In how many bars the next step is due, or seconds where the song's tempo isn't known."""
    if seen.picture.state.phase != "song":
        return ()
    if seen.ahead is None:
        return ("NOW",) if by_foot else ()
    due, bars = seen.ahead
    if piece.song.tempo_bpm is None:
        return (f"IN {max(0, ceil(due.at_s - seen.picture.at_s))} S",)
    if bars == 0:
        return ("THIS BAR",)
    return ("NEXT BAR",) if bars == 1 else (f"IN {bars} BARS", f"IN {bars}")
