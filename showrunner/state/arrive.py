"""Arriving at a moment: by next, by back, by a jump or by resume, what differs between two sums is what changes."""

from typing import NamedTuple

from showrunner.curves.laws import to_value
from showrunner.state.follow import entered, movers_of
from showrunner.state.receiver import push, recall_program, value_now
from showrunner.state.values import Aim, Clock, Work


class _Says(NamedTuple):
    """What a moment says of a target: the value named last and where, and the control that moves it."""

    value: float | None
    named: int | None
    control: str | None
    since: int | None


def step_to(work: Work, moment: int) -> None:
    """Go to another moment of the same song; only what the cues between say differently is touched."""
    before = _all_say(work)
    in_force = {name: value_now(work, name) for name in work.script.rig.targets}
    work.moment = moment
    _time_open_cues(work)
    for name, says in _all_say(work).items():
        if says != before[name]:
            _govern(work, name, says, in_force[name])
    push(work)


def come_in(work: Work, place: int, moment: int) -> None:
    """Bring up a song of tonight's order at one of its moments: program, then everything the receiver should have."""
    work.place, work.moment = place, moment
    recall_program(work)
    rig = work.script.rig
    known = {name: to_value(rig.targets[name], number) for name, number in work.known.items()}
    work.aims.clear()
    for name, says in _all_say(work).items():
        glides = says.control is not None and _entry(work, says.control) == "glide"
        in_force = known.get(name) if glides or says.value is None else says.value
        _govern(work, name, says, in_force)
    push(work)


def start_clock(work: Work) -> None:
    """The song begins now."""
    work.clock = Clock(work.at_s)
    _time_open_cues(work)


def _all_say(work: Work) -> dict[str, _Says]:
    movers, now = movers_of(work), work.now
    said = {}
    for name in work.script.rig.targets:
        control, named = movers.get(name), now.targets_since.get(name)
        over_curve = control is not None and (named is None or named < now.curves_since)
        said[name] = _Says(
            now.targets.get(name),
            None if over_curve else named,
            control,
            now.curves_since if control is not None else None,
        )
    return said


def _govern(work: Work, name: str, says: _Says, in_force: float | None) -> None:
    if says.control is None:
        if says.value is not None:
            work.aims[name] = Aim("fixed", says.value)
        elif in_force is not None:
            work.aims[name] = Aim("fixed", in_force)
    elif says.named is not None and says.value is not None:
        work.aims[name] = Aim("stands", says.value, says.control, at_travel=work.travels.get(says.control))
    elif says.control in work.travels:
        work.aims[name] = entered(work, name, says.control, in_force)
    elif says.value is not None:
        work.aims[name] = Aim("fixed", says.value, says.control)
    elif in_force is not None:
        work.aims[name] = Aim("fixed", in_force, says.control)


def _entry(work: Work, control: str) -> str | None:
    curve = work.piece.curve(work.now, control)
    return None if curve is None else curve.entry


def _time_open_cues(work: Work) -> None:
    if work.clock is None:
        return
    began_s, waited_s, since_s = work.clock
    cue = work.now.cue
    opened = cue is not None and cue.open
    if since_s is not None:
        waited_s += work.at_s - since_s
    work.clock = Clock(began_s, waited_s, work.at_s if opened else None)
