"""Where a run stood, as it is saved for whoever goes on with it: written, read, and refused where it can't be."""

import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from showrunner.levels.kept import in_reach
from showrunner.live import proved
from showrunner.live.folder import STATE
from showrunner.live.freeze import from_json
from showrunner.live.picture import Picture
from showrunner.live.player import resumed
from showrunner.live.runclock import RunClock
from showrunner.live.runlog import seconds
from showrunner.plain_file import read_file
from showrunner.state.events import Event, PortFound, PortLost, Tick
from showrunner.state.machine import fold, run
from showrunner.state.script import Script
from showrunner.state.trimming import unit_of
from showrunner.state.values import State

VERSION = 2
"""Of what is saved here; the first had no number. Raise it with every change of `State`, `Saved` or what they hold."""


class RefusedError(Exception):
    """What was saved can't be gone on with, and why."""


class Saved(NamedTuple):
    """The last state, the time of the run then, when the first song began, the orders done, and the machine's start.

    `at_s` and `began_s` are seconds of the run; `unix_s` and `began_unix_s` are the same by the time of day.
    """

    state: State
    at_s: float
    unix_s: float
    began_s: float | None = None
    began_unix_s: float | None = None
    done: tuple[str, ...] = ()
    boot: str = ""


def to_save(frozen: Any, done: Any, boot: str) -> dict[str, Any]:
    """What is saved of a picture as the engine sent it, and of the orders it has done."""
    picture = dict(zip(Picture._fields, frozen, strict=True))
    kept = {name: picture[name] for name in ("state", "at_s", "unix_s", "began_s", "began_unix_s")}
    return {"version": VERSION, **kept, "done": done, "boot": boot}


def from_saved(data: Mapping[str, Any]) -> Saved:
    """What `to_save` made; RefusedError where it is of another version, lacks something, or is damaged."""
    version = data.get("version")
    if version != VERSION:
        of = "an older version" if version is None else f"version {version}"
        raise RefusedError(f"it was saved by {of} of the program, this one reads version {VERSION}")
    rest = {name: value for name, value in data.items() if name != "version"}
    if rest.keys() != set(Saved._fields):
        odd = ", ".join(sorted(map(str, rest.keys() ^ set(Saved._fields))))
        raise RefusedError(f"it has a field more or fewer: {odd}")
    try:
        saved = from_json(Saved, [rest[name] for name in Saved._fields])
    except (ValueError, AttributeError, ArithmeticError, RecursionError):
        raise RefusedError("it is damaged") from None
    times = (saved.at_s, saved.unix_s, saved.began_s or 0.0, saved.began_unix_s or 0.0)
    if any(seconds(time) is None for time in times):
        raise RefusedError("it is damaged")
    return saved


def read_saved(folder: Path) -> Saved | None:
    """The last state in a run's folder, None where none is; RefusedError where it can't be gone on with."""
    try:
        data = json.loads(read_file(folder / STATE), parse_constant=_no_number)
    except FileNotFoundError:
        return None
    except (OSError, ValueError, RecursionError) as error:
        what = (error.strerror or "no reason given").lower() if isinstance(error, OSError) else "it is damaged"
        raise RefusedError(what) from None
    if not isinstance(data, dict):
        raise RefusedError("it is damaged")
    return from_saved(data)


def playable(script: Script, saved: Saved) -> Saved:
    """The same if the show can be played from it; RefusedError where it names what the show has not."""
    if not _in_place(script, saved.state):
        raise RefusedError("it stands at a place that the show has not")
    if not _of_rig(script, saved.state):
        raise RefusedError("it names what the rig has not")
    at_s, ports = saved.at_s, script.rig.ports
    events: list[Event] = [
        *(PortLost(at_s, port) for port in ports),
        *(PortFound(at_s, port) for port in ports),
        Tick(at_s),
    ]
    try:
        for _ in run(script, resumed(saved.state, script.rig, at_s), events):
            pass
    except Exception:  # whatever is wrong with it, the engine must not end by it again and again
        raise RefusedError("it does not fit the show") from None
    return saved


def where_it_stood(
    folder: Path, script: Script, clock: RunClock, log: Path, handed: Mapping[str, Any] | None
) -> tuple[Saved | None, str]:
    """Where the run is gone on with, None at its first song, and what is to be said of it.

    What the watcher `handed` is newer than what it could save. What can't be gone on with is set aside, so that it is
    refused but once; then the run's log is the proof.
    """
    try:
        saved = read_saved(folder) if handed is None else from_saved(handed)
        if saved is None:
            return _proved(script, clock, log)[0], ""
        saved = playable(script, saved)
    except RefusedError as error:
        _set_aside(folder)
        found, where = _proved(script, clock, log)
        return found, f"where the show stood can't be read; {error}; {where}"
    return (saved if saved.boot == clock.boot else saved._replace(state=_elsewhere(script, saved))), ""


def _proved(script: Script, clock: RunClock, log: Path) -> tuple[Saved | None, str]:
    """What a run's log proves, and in words where that is."""
    proof, now_s = proved.proved(script, proved.of_run(log, clock.name)), clock()
    where = proved.goes_on(script, proof)
    if proof is None:
        return None, where
    state = proved.stands_at(script, proof, now_s)
    return Saved(state, now_s, 0.0, proof.began_s, proof.began_unix_s, boot=clock.boot), where


def _set_aside(folder: Path) -> None:
    """Put what was refused out of the way, so that it is refused but once; it is kept beside."""
    with suppress(OSError):
        (folder / STATE).replace(folder / f"{STATE}.refused")


def _elsewhere(script: Script, saved: Saved) -> State:
    """The state as after a start of the machine: every port is to be found again, and nothing known of what it has."""
    state = saved.state
    for port in script.rig.ports:
        state, _ = fold(script, state, PortLost(saved.at_s, port))
    return state


def _in_place(script: Script, state: State) -> bool:
    """Whether song, moment and trims are those of the show."""
    order, known = state.order, script.pieces.keys()
    if not (set(order) <= known and len(set(order)) == len(order) and bool(order) == bool(script.order)):
        return False
    if not 0 <= state.place < max(1, len(order)):
        return False
    if order and not 0 <= state.moment < len(script.pieces[order[state.place]].moments):
        return False
    return all(unit_of(script.rig, name) is not None and in_reach(name, value) for name, value in state.trims)


def _of_rig(script: Script, state: State) -> bool:
    """Whether the controls, targets and ports are those of the rig, and of each control what goes with the rest."""
    rig = script.rig
    controls = (state.raws, state.travels, state.moved_s, state.presses, state.halves, state.silences, state.withheld)
    ports = {*state.settling, *state.owed, *state.lost, *(port for port, _ in state.programs)}
    targets = {*state.aims, *state.known}
    names = ((set().union(*controls), rig.controls), (targets, rig.targets), (ports, rig.ports))
    if not all(said <= there.keys() for said, there in names):
        return False
    return all(name in state.travels and name in state.moved_s for name in state.silences)


def _no_number(word: str) -> Callable[[], None]:
    raise ValueError(f"{word} is no number")
