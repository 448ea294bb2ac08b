"""What can be rehearsed, as the clock plays it: a song or a part of it, one changeover of a show, a whole show."""

from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.nearest import did_you_mean
from showrunner.planning.changeover import changeovers
from showrunner.state.moments import Piece, prepare
from showrunner.state.rehearsal import Change, Part, again, play_change, play_show, play_song
from showrunner.state.script import Script, script_of_show


class RehearsalError(Exception):
    """What was asked for can't be rehearsed: why, and what can."""

    def __init__(self, what: str, mend: str = "") -> None:
        super().__init__(f"{what}; {mend}" if mend else what)
        self.what, self.mend = what, mend


class Plan(NamedTuple):
    """What is rehearsed: the script, the clock's part, what it is filed under and planned pauses by pair."""

    script: Script
    part: Part
    filed: str
    pauses_s: Mapping[tuple[str, str], float]


def song_plan(book: Book, song: str, rig: str, start: str | None, stop: str | None, times: int) -> Plan:
    """A song, or from one of its cues to another, so many times; RehearsalError for a cue it does not have."""
    piece = prepare(song, book.songs[song], book.rigs[rig])
    script = Script(book.rigs[rig], {song: piece}, (song,))
    first = None if start is None else _cue(piece, start)
    last = None if stop is None else _cue(piece, stop)
    if first is not None and last is not None and last <= first:
        raise RehearsalError(f'"{stop}" does not come after "{start}" in {piece.song.title}')
    part = _times(times, lambda at_s: play_song(piece, at_s, start=first, stop=last))
    return Plan(script, part, song, {})


def show_plan(book: Book, show: str, rig: str) -> Plan:
    """A whole show, with what it plans between songs; RehearsalError where it has no songs."""
    script, pauses_s = _show(book, show, rig)
    if not script.order:
        raise RehearsalError("the show has no songs")
    pieces = [script.pieces[slug] for slug in script.order]
    gaps = [_pause_s(script, pauses_s, (a.slug, b.slug)) for a, b in pairwise(pieces)]
    return Plan(script, play_show(pieces, gaps, 0.0), script.order[0], pauses_s)


def change_plan(book: Book, show: str, rig: str, into: str, times: int) -> Plan:
    """The changeover into a song of a show, so many times; RehearsalError where the show has none into it."""
    script, pauses_s = _show(book, show, rig)
    later = script.order[1:]
    if into not in later:
        mend = did_you_mean(into, later, f"to {_list(later)}")
        raise RehearsalError(f'no changeover of this show leads to "{into}"', mend)
    before = script.pieces[script.order[script.order.index(into) - 1]]
    change = Change(before, script.pieces[into], _pause_s(script, pauses_s, (before.slug, into)))
    return Plan(script, _times(times, lambda at_s: play_change(change, at_s)), into, pauses_s)


def _show(book: Book, show: str, rig: str) -> tuple[Script, dict[tuple[str, str], float]]:
    the_show, the_rig = book.shows[show], book.rigs[rig]
    found = changeovers(book, the_show, the_rig)
    return script_of_show(book, the_show, the_rig), {(one.before, one.after): one.has_s for one in found}


def _pause_s(script: Script, pauses_s: Mapping[tuple[str, str], float], pair: tuple[str, str]) -> float | None:
    then = script.then.get(pair[0])
    return None if then is not None and then.kind == "segue" else pauses_s.get(pair, 0.0)


def _times(times: int, play: Callable[[float], Part]) -> Part:
    parts = [play(0.0)]
    while len(parts) < times:
        parts.append(play(parts[-1].ends_s))
    return again(parts) if times > 1 else parts[0]


def _cue(piece: Piece, word: str) -> int:
    names = {moment.name: moment.number for moment in piece.moments}
    if word not in names:
        mend = did_you_mean(word, names, f"it has {_list(names)}")
        raise RehearsalError(f'{piece.song.title} has no cue "{word}"', mend)
    return names[word]


def _list(names: Iterable[str]) -> str:
    return ", ".join(names)
