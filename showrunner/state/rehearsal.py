"""Rehearsing by the clock: when each beat, cue and changeover falls, and the step that each asks of the show."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise, takewhile
from math import ceil
from typing import Literal, NamedTuple

from showrunner.model.tempo import PULSES_A_QUARTER, Stretch, beat_pulses, beats, count_in, stretch_at, stretches
from showrunner.state.events import Asked, Jump
from showrunner.state.moments import Piece
from showrunner.state.values import State

OPEN_S = 8.0
"""How long a cue lasts that lasts as long as it lasts, where no foot says; our own figure."""
LEAD_S, TAIL_S = 8.0, 8.0
"""How much of the songs on both sides belongs to rehearsing a changeover; our own figures."""
SAME_S = 1e-6
"""Times closer than this are one; a quarter of the finest tick of a take is 150 times as long."""
COUNT_BARS = 1
"""Bars counted in where the song names none."""


class Due(NamedTuple):
    """What the clock brings at a time: `jump` to a moment, `begin` a song, take a `cue`, `end` a song, a `beat`.

    `go` is where the song's clock starts at the moment jumped to, its count-in behind it.
    `count` is a beat before the song begins, its bar counted down to 1; `pulse` a timing clock, `start` where the first
    of them is the song's first beat, `stop` where they stop at the latest; `round` the start of another time through,
    its `bar` which one.
    """

    at_s: float
    what: Literal["round", "jump", "count", "go", "begin", "cue", "end", "beat", "pulse", "start", "stop"]
    song: str
    moment: int = 0
    bar: int = 0
    beat: int = 0


class Part(NamedTuple):
    """A stretch of rehearsal: what is due in it in order, and when it is over."""

    dues: tuple[Due, ...]
    ends_s: float


class Ahead(NamedTuple):
    """What the clock brings next, and how many bars begin until then, one that begins just then among them."""

    due: Due
    bars: int


class Change(NamedTuple):
    """From one song to another: the seconds between, None where one goes straight into the other."""

    before: Piece
    after: Piece
    pause_s: float | None


def places_s(piece: Piece) -> tuple[float, ...]:
    """When each moment is on the song's clock; those at no time are spread evenly between their neighbours."""
    known = [moment.at_s for moment in piece.moments]
    found = [(index, at_s) for index, at_s in enumerate(known) if at_s is not None]
    found.append((len(known), length_s(piece)))
    placed: list[float] = []
    for (first, from_s), (last, to_s) in pairwise(found):
        placed += [from_s + (to_s - from_s) * number / (last - first) for number in range(last - first)]
    return tuple(placed)


def play_song(
    piece: Piece, at_s: float, *, start: int | None = None, stop: int | None = None, counted: bool = True
) -> Part:
    """A song with its count-in, from a moment to another or to its end; from its first moment it is begun by a step.

    Where it goes on from a cue it jumps there, and the count-in is that cue's. Without `counted` there is none.
    """
    first = piece.first if start is None else start
    jumps = (Due(at_s, "jump", piece.slug, first),) if first != piece.first else ()
    counts, begins_s = _counted(piece, at_s, first) if counted else ((), at_s)
    begin = (Due(begins_s, "go" if jumps else "begin", piece.slug, first),)
    played = _played(piece, begins_s, first, stop)
    return Part((*jumps, *counts, *begin, *played.dues), played.ends_s)


def length_s(piece: Piece) -> float:
    """Where a song ends on its own clock: at its written end, or at its last moment if that comes later."""
    placed_s = [moment.at_s for moment in piece.moments if moment.at_s is not None]
    return max(float(piece.song.duration), *placed_s, 0.0)


def led_from_s(piece: Piece) -> float:
    """Where on a song's clock a changeover is led up to from."""
    return max(0.0, length_s(piece) - LEAD_S)


def play_change(change: Change, at_s: float, *, counted: bool = True) -> Part:
    """The end of a song, what comes after it, and the start of the next."""
    before, after, _ = change
    last, from_s = len(before.moments) - 1, led_from_s(before)
    ends_s = at_s + length_s(before) - from_s
    dues = [Due(at_s, "jump", before.slug, last)]
    if before.song.tempo_bpm is not None:
        dues += [
            Due(at_s + beat.at_s - from_s, "beat", before.slug, last, beat.bar, beat.beat)
            for beat in takewhile(lambda beat: beat.at_s < length_s(before), beats(before.song))
            if beat.at_s >= from_s
        ]
    dues.append(Due(ends_s, "end", before.slug, last))
    between, begins_s = _between(change, ends_s, counted=counted)
    played = _played(after, begins_s, after.first, None)
    ends_s = min(played.ends_s, begins_s + TAIL_S)
    tail = [due for due in played.dues if due.at_s < ends_s]
    return Part((*dues, *between, *tail), ends_s)


def play_show(pieces: Sequence[Piece], pauses_s: Sequence[float | None], at_s: float, *, counted: bool = True) -> Part:
    """A whole show: song after song with the seconds between, None where one goes straight into the next."""
    part = play_song(pieces[0], at_s, counted=counted)
    dues, ends_s = list(part.dues), part.ends_s
    for before, after, pause_s in zip(pieces, pieces[1:], pauses_s, strict=False):
        between, begins_s = _between(Change(before, after, pause_s), ends_s, counted=counted)
        part = _played(after, begins_s, after.first, None)
        dues += (*between, *part.dues)
        ends_s = part.ends_s
    return Part(tuple(dues), ends_s)


def anew(part: Part) -> Part:
    """The part so that it can be played over and over: a song that a step would begin is jumped to before its count."""
    begin = next((number for number, due in enumerate(part.dues) if due.what in ("jump", "begin")), None)
    if begin is None or part.dues[begin].what == "jump":
        return part
    due = part.dues[begin]
    jump = due._replace(at_s=part.dues[0].at_s, what="jump")
    return Part((jump, *part.dues[:begin], due._replace(what="go"), *part.dues[begin + 1 :]), part.ends_s)


def ahead(dues: Iterable[Due], state: State, pieces: Mapping[str, Piece], beat: Due | None = None) -> Ahead | None:
    """The step that comes next where the show stands, of what is still due; None where the clock is past it.

    `beat` is the last beat that fell.
    """
    wanted = _wanted(state, pieces)
    bars, last = 0, beat
    for due in dues:
        if due.what == "round" or wanted is None:
            return None
        if due.what == "beat":
            bars, last = bars + (due.beat == 1), due
        elif (due.what, due.song) == wanted[:2] and wanted[2] in (None, due.moment):
            return Ahead(due, bars + _on_a_bar(due, last, pieces))
    return None


def _wanted(state: State, pieces: Mapping[str, Piece]) -> tuple[str, str, int | None] | None:
    """What brings the next step: what is due, its song, and its moment, None for any."""
    if state.song is None or state.phase == "over":
        return None
    if state.phase == "changeover":
        return "begin", state.song, None
    last = state.moment + 1 == len(pieces[state.song].moments)
    return ("end", state.song, None) if last else ("cue", state.song, state.moment + 1)


def _on_a_bar(due: Due, last: Due | None, pieces: Mapping[str, Piece]) -> bool:
    """Whether a due falls where a bar begins, after the last beat before it."""
    stretch = stretch_of(pieces[last.song], last) if last is not None and last.what == "beat" else None
    if last is None or stretch is None or last.beat != stretch.meter.beats:
        return False
    return abs(last.at_s + stretch.bar_s / stretch.meter.beats - due.at_s) < SAME_S


def answer(state: State, due: Due, piece: Piece) -> Asked | Jump | None:
    """What the clock asks for when a thing is due; None where it asks nothing, or the foot was there before it."""
    here = state.song == due.song
    last = len(piece.moments) - 1
    wanted = {
        "begin": here and state.phase == "changeover",
        "cue": here and state.phase == "song" and state.moment == due.moment - 1,
        "end": here and state.phase == "song" and state.moment == last,
    }
    if due.what == "jump":
        return Jump(due.at_s, due.song, due.moment)
    return Asked(due.at_s, "next") if wanted.get(due.what, False) else None


def with_pulses(part: Part, pieces: Mapping[str, Piece]) -> Part:
    """The part with timing clocks through every beat and every beat counted in, and their stop where it is over.

    They go on through open cues, where the song's position waits. A start comes before the first one of each song.
    """
    if not part.dues:
        return part
    over = part.dues[-1]._replace(at_s=part.ends_s, what="stop")
    dues, run = [*part.dues, over], list[Due]()
    for due in (*part.dues, over):
        if due.what in ("count", "beat"):
            run.append(due)
        elif due.what in ("end", "stop"):
            dues += _pulses(run, due.at_s, pieces)
            run = []
    return Part(tuple(sorted(dues, key=lambda due: due.at_s)), part.ends_s)


def _pulses(run: Sequence[Due], stop_s: float, pieces: Mapping[str, Piece]) -> list[Due]:
    """The timing clocks of beats that follow each other up to a time, with their start."""
    found: list[Due] = []
    first = next((due for due in run if due.what == "beat"), None)
    if first is not None and stretch_of(pieces[first.song], first) is not None:
        found.append(first._replace(what="start"))
    clocks = [clock for due in run for clock in _clocks(due, pieces)]
    for (at_s, apart_s, song), (following_s, _, _) in pairwise([*clocks, (stop_s, 0.0, "")]):
        if following_s < stop_s:
            count = max(1, round((following_s - at_s) / apart_s))
            apart_s = (following_s - at_s) / count
        else:
            count = ceil((stop_s - at_s) / apart_s)
        times = (at_s + number * apart_s for number in range(count))
        found += (Due(time_s, "pulse", song) for time_s in times if time_s < stop_s - 1e-9)
    return found


def _clocks(due: Due, pieces: Mapping[str, Piece]) -> list[tuple[float, float, str]]:
    """When the timing clocks of a beat fall, how far apart they are, s, and of which song they are."""
    song, stretch = pieces[due.song].song, stretch_of(pieces[due.song], due)
    if stretch is None:
        return []
    pulse_s = 60 / (stretch.tempo_bpm * PULSES_A_QUARTER)
    pulses = beat_pulses(song, due.bar if due.what == "beat" else stretch.bar, due.beat)
    return [(due.at_s + after_s, pulse_s, due.song) for after_s in pulses]


def stretch_of(piece: Piece, due: Due) -> Stretch | None:
    """The tempo and meter of a beat, or of a beat counted in; None where the song's tempo isn't known."""
    if due.what == "count":
        return stretch_at(piece.song, places_s(piece)[due.moment])
    return next((s for s in reversed(stretches(piece.song)) if s.bar <= due.bar), None)


def _played(piece: Piece, begins_s: float, first: int, stop: int | None) -> Part:
    """The song from a moment on, its clock starting there at `begins_s`; open cues hold it."""
    places = places_s(piece)
    from_s = places[first]
    last = len(places) - 1 if stop is None else stop - 1
    until_s = length_s(piece) if stop is None else places[stop]
    opened = [(number, places[number]) for number in range(first, last + 1) if _open(piece, number)]

    def on_clock(song_s: float, held: int) -> float:
        return begins_s + song_s - from_s + held * OPEN_S

    dues = [
        Due(on_clock(places[number], sum(k < number for k, _ in opened)), "cue", piece.slug, number)
        for number in range(first + 1, last + 1)
    ]
    ends_s = on_clock(until_s, len(opened))
    dues.append(Due(ends_s, "end", piece.slug, last) if stop is None else Due(ends_s, "cue", piece.slug, stop))
    for beat in takewhile(lambda beat: beat.at_s < until_s - 1e-9, beats(piece.song)):
        if beat.at_s >= from_s - 1e-9:
            at_s = on_clock(beat.at_s, sum(open_s < beat.at_s - 1e-9 for _, open_s in opened))
            dues.append(Due(at_s, "beat", piece.slug, 0, beat.bar, beat.beat))
    return Part(tuple(sorted(dues, key=lambda due: (due.at_s, due.what == "beat"))), ends_s)


def _open(piece: Piece, number: int) -> bool:
    cue = piece.moments[number].cue
    return cue is not None and cue.open


def _counted(piece: Piece, at_s: float, moment: int) -> tuple[tuple[Due, ...], float]:
    """The count-in from a time on, and when it is over; at the tempo that holds where the song goes on."""
    stretch = stretch_at(piece.song, places_s(piece)[moment])
    if stretch is None:
        return (), at_s
    bars = _count_bars(piece)
    dues = tuple(Due(at_s + b.at_s, "count", piece.slug, moment, b.bar, b.beat) for b in count_in(stretch, bars))
    return dues, at_s + bars * stretch.bar_s


def _between(change: Change, ends_s: float, *, counted: bool) -> tuple[tuple[Due, ...], float]:
    """The count-in at the end of a pause, with the step that begins the next song, and when that is."""
    after = change.after
    if change.pause_s is None:
        return (), ends_s
    stretch = stretch_at(after.song, places_s(after)[after.first]) if counted else None
    if stretch is None:
        begins_s = ends_s + change.pause_s
        return (Due(begins_s, "begin", after.slug, after.first),), begins_s
    count_s = stretch.bar_s * _count_bars(after)
    counts, begins_s = _counted(after, ends_s + max(0.0, change.pause_s - count_s), after.first)
    return (*counts, Due(begins_s, "begin", after.slug, after.first)), begins_s


def _count_bars(piece: Piece) -> int:
    return piece.song.count_in.bars if piece.song.count_in is not None else COUNT_BARS
