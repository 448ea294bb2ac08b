"""What can be rehearsed, as the clock plays it: a song or a part of it, one changeover of a show, a whole show."""

from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.nearest import did_you_mean
from showrunner.model.rig import Rig
from showrunner.planning.changeover import changeovers
from showrunner.state.moments import Piece, prepare_song
from showrunner.state.rehearsal import Change, Part, anew, play_change, play_show, play_song, with_pulses
from showrunner.state.script import Script, script_of_show

LATE_S = 2.0
"""How long a part played by foot waits at its end for a press that comes late; our own figure, no source."""


class RehearsalError(Exception):
    """What was asked for can't be rehearsed: why, and what can."""

    def __init__(self, what: str, mend: str = "") -> None:
        super().__init__(f"{what}; {mend}" if mend else what)
        self.what, self.mend = what, mend


class Wanted(NamedTuple):
    """What is to be rehearsed on which rig: a song or a part of it, the changeover of a show into a song, or the show.

    `times` is None for round and round. With `by_foot` the clock only counts; `clock_to` is a port for MIDI clock;
    without `counted` no song is counted in.
    """

    rig: str
    song: str | None = None
    show: str | None = None
    start: str | None = None
    stop: str | None = None
    times: int | None = 1
    by_foot: bool = False
    clock_to: str | None = None
    counted: bool = True

    def title(self, book: Book) -> str:
        """What is rehearsed, by its title; a changeover by the song it leads to."""
        return book.songs[self.song].title if self.song is not None else book.shows[self.show or ""].title


class Plan(NamedTuple):
    """What is rehearsed: the script, the clock's part and how often, its folder among the takes, pauses by pair."""

    script: Script
    part: Part
    times: int | None
    filed: str
    pauses_s: Mapping[tuple[str, str], float]


def plan_of(book: Book, wanted: Wanted) -> Plan:
    """How it is rehearsed; RehearsalError where the book can't."""
    if wanted.clock_to is not None:
        _check_port(book.rigs[wanted.rig], wanted.clock_to)
    plan = _plan(book, wanted)
    if not plan.script.order:
        raise RehearsalError("the show has no songs")
    part = plan.part if wanted.times == 1 else anew(plan.part)
    if wanted.clock_to is not None:
        part = with_pulses(part, plan.script.pieces)
    if wanted.by_foot:
        part = part._replace(ends_s=part.ends_s + LATE_S)
    return plan._replace(part=part, times=wanted.times)


def _plan(book: Book, wanted: Wanted) -> Plan:
    if wanted.show is None:
        return _song(book, wanted.song or "", wanted)
    show, rig = book.shows[wanted.show], book.rigs[wanted.rig]
    pauses_s = {(one.before, one.after): one.has_s for one in changeovers(book, show, rig)}
    script = script_of_show(book, show, rig)
    if wanted.song is not None:
        return _change(script, pauses_s, wanted.song, counted=wanted.counted)
    pieces = [script.pieces[slug] for slug in script.order]
    gaps = [_pause_s(script, pauses_s, (a.slug, b.slug)) for a, b in pairwise(pieces)]
    part = play_show(pieces, gaps, 0.0, counted=wanted.counted) if pieces else Part((), 0.0)
    return Plan(script, part, 1, wanted.show, pauses_s)


def _song(book: Book, slug: str, wanted: Wanted) -> Plan:
    piece = prepare_song(book, slug, book.rigs[wanted.rig])
    first = None if wanted.start is None else _cue(piece, wanted.start)
    last = None if wanted.stop is None else _cue(piece, wanted.stop)
    if last is not None and last <= (piece.first if first is None else first):
        start = piece.moments[piece.first].name if wanted.start is None else wanted.start
        raise RehearsalError(f'"{wanted.stop}" does not come after "{start}" in {piece.song.title}')
    script = Script(piece.rig, {slug: piece}, (slug,))
    part = play_song(piece, 0.0, start=first, stop=last, counted=wanted.counted)
    if part.ends_s <= 0:
        raise RehearsalError(f'nothing lies between "{wanted.start}" and "{wanted.stop}" in {piece.song.title}')
    return Plan(script, part, 1, slug, {})


def _change(script: Script, pauses_s: Mapping[tuple[str, str], float], into: str, *, counted: bool) -> Plan:
    later = script.order[1:]
    if into not in later:
        there = f"they lead to {', '.join(later)}" if later else "it has none"
        raise RehearsalError(f'no changeover of this show leads to "{into}"', did_you_mean(into, later, there))
    before = script.pieces[script.order[script.order.index(into) - 1]]
    change = Change(before, script.pieces[into], _pause_s(script, pauses_s, (before.slug, into)))
    return Plan(script, play_change(change, 0.0, counted=counted), 1, into, pauses_s)


def _pause_s(script: Script, pauses_s: Mapping[tuple[str, str], float], pair: tuple[str, str]) -> float | None:
    then = script.then.get(pair[0])
    return None if then is not None and then.kind == "segue" else pauses_s.get(pair, 0.0)


def _cue(piece: Piece, word: str) -> int:
    names = {moment.name: moment.number for moment in piece.moments}
    if word not in names:
        mend = did_you_mean(word, names, f"it has {', '.join(names)}")
        raise RehearsalError(f'{piece.song.title} has no cue "{word}"', mend)
    return names[word]


def _check_port(rig: Rig, name: str) -> None:
    if name not in rig.ports or not rig.ports[name].sends:
        there = ", ".join(port for port, of in rig.ports.items() if of.sends)
        raise RehearsalError(f'{rig.title} sends nothing to a port "{name}"', f"it sends to {there or 'none'}")
