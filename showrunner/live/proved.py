"""Where a run stood by what its log proves: for going on where the state that was saved can't be read."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from showrunner.live.runlog import kept_entries, seconds, trim_of
from showrunner.state import steps
from showrunner.state.events import Jump
from showrunner.state.machine import fold, open_show
from showrunner.state.script import Script
from showrunner.state.trimming import moved_to, unit_of
from showrunner.state.values import Phase, State, Trims, Work

Entry = Mapping[str, Any]


class Proved(NamedTuple):
    """The place in tonight's order that the last step in a log led to, and the trims moved on the way.

    `song_s` is when the song that is up was begun, `began_s` when the first one was, seconds of the run, and
    `began_unix_s` that by the time of day; None where the log does not say.
    """

    order: tuple[str, ...]
    place: int
    moment: int
    phase: Phase
    trims: Trims = ()
    song_s: float | None = None
    began_s: float | None = None
    began_unix_s: float | None = None


def of_run(log: Path, name: str) -> list[Entry]:
    """The lines that a run wrote, by its name."""
    found: list[Entry] = []
    mine = False
    for entry in kept_entries(log):
        if entry.get("kind") == "began":
            mine = entry.get("run") == name
        if mine:
            found.append(entry)
    return found


def proved(script: Script, lines: Iterable[Entry]) -> Proved | None:
    """What a run's lines prove; None where no step was taken."""
    found = Proved(script.order, 0, 0, "changeover")
    stepped = False
    for line in lines:
        kind, song = line.get("kind"), line.get("song")
        if kind == "taken":
            found = _taken(script, found, line.get("say"))
        elif kind == "trimmed":
            found = _trimmed(script, found, line)
        elif kind == "over" and song in found.order:
            found, stepped = found._replace(phase="over"), True
        elif kind in ("changeover", "song", "cue") and song in script.pieces:
            found, stepped = _stepped(script, found, line, str(kind), str(song)), True
    return found if stepped else None


def stands_at(script: Script, proof: Proved, at_s: float) -> State:
    """The state at that place, every side of every port still to be found, so that all is sent as they are."""
    missing = frozenset((port, side) for port, the in script.rig.ports.items() for side in the.sides)
    opened, _ = open_show(script, at_s, missing)
    work = Work.on(script, replace(opened, trims=proof.trims), at_s)
    steps.up(work, proof.place, order=proof.order)
    state, _ = work.done()
    if proof.phase == "changeover":
        return state
    state, _ = fold(script, state, Jump(at_s, proof.order[proof.place], proof.moment))
    if proof.phase == "over":
        return replace(state, phase="over", clock=None, muted=True)
    if state.clock is None or proof.song_s is None or proof.song_s > at_s:
        return state
    return replace(state, clock=state.clock._replace(began_s=proof.song_s))


def _stepped(script: Script, found: Proved, line: Entry, kind: str, song: str) -> Proved:
    order = found.order
    if song not in order:
        after = found.place if found.phase == "changeover" else found.place + 1
        order = (*order[:after], song, *order[after:])
    piece, at_s = script.pieces[song], seconds(line.get("at_s"))
    moments = {moment.name: moment.number for moment in piece.moments}
    moment = piece.first if kind != "cue" else moments.get(str(line.get("cue")), piece.first)
    same = found.phase == "song" and order[found.place : found.place + 1] == (song,) and found.order == order
    phase: Phase = "changeover" if kind == "changeover" else "song"
    song_s = None if phase == "changeover" else found.song_s if kind == "cue" and same else at_s
    stepped = found._replace(order=order, place=order.index(song), moment=moment, phase=phase, song_s=song_s)
    if kind == "song" and found.began_s is None and at_s is not None:
        stepped = stepped._replace(began_s=at_s, began_unix_s=seconds(line.get("unix_s")))
    return stepped


def _taken(script: Script, found: Proved, song: Any) -> Proved:
    """Another song was taken: it comes next, and begins with its changeover, which the log says as well."""
    if song not in script.pieces:
        return found
    played = found.place if found.phase == "changeover" else found.place + 1
    rest = (slug for slug in found.order[played:] if slug != song)
    return found._replace(order=(*(s for s in found.order[:played] if s != song), song, *rest))


def _trimmed(script: Script, found: Proved, line: Entry) -> Proved:
    trim = trim_of(line)
    if trim is None or unit_of(script.rig, trim.target) is None:
        return found
    return found._replace(trims=moved_to(script, found.trims, trim.target, trim.after))


def place(script: Script, proof: Proved | None) -> str:
    """A place in tonight's order in words."""
    if proof is None:
        return "at its start"
    if proof.phase == "over":
        return "at its end"
    piece = script.pieces[proof.order[proof.place]]
    at = piece.moments[proof.moment].name
    return f"before {piece.song.title}" if proof.phase == "changeover" else f"in {piece.song.title} at {at}"


def goes_on(script: Script, proof: Proved | None) -> str:
    """Where a show goes on whose saved place can't be read."""
    if proof is None:
        return "it begins at its first song, since its log says nothing"
    return f"it goes on {place(script, proof)}, where its log has it"
