"""Arriving at a moment: by next what its cue says, by back, jump or resume the whole sum; both end alike."""

from typing import NamedTuple

from showrunner.curves.laws import to_number, to_value
from showrunner.state.follow import entered, movers_of
from showrunner.state.hands import left
from showrunner.state.receiver import curve_value, push, recall_program, value_now
from showrunner.state.values import Aim, Clock, Phase, Work


class _Says(NamedTuple):
    """What a moment says of a target: the value named last and where, and the control that moves it.

    A control that was never heard is `assumed` where the moment wants it, travel in %.
    """

    value: float | None
    named: int | None
    control: str | None
    since: int | None
    assumed: float | None


def step_on(work: Work) -> None:
    """Go on to the next moment of the song; only what its cue says is touched."""
    _leave(work)
    _step(work)
    _time_open_cues(work)
    push(work)


def recall(work: Work, moment: int) -> None:
    """Go to any moment of the song by the sum: as if played there with every control where it stands now."""
    _leave(work)
    _sum(work, moment)


def come_in(work: Work, place: int, moment: int, phase: Phase, *, order: tuple[str, ...] | None = None) -> None:
    """Bring up a song at one of its moments, of tonight's order or a new one: program, then what it should have."""
    take_up(work, place, moment, phase, order=order)
    bring(work)


def take_up(work: Work, place: int, moment: int, phase: Phase, *, order: tuple[str, ...] | None = None) -> None:
    """Another song is up; what it should have is worked out, and nothing of it sent before `bring`."""
    _leave(work)
    work.phase, work.segued, work.brings_s = phase, False, work.at_s
    work.order = work.order if order is None else order
    work.place = place
    _sum(work, moment)


def bring(work: Work) -> None:
    """Send a song that is up to the receiver: its program, then everything it should have there."""
    work.brings_s = None
    recall_program(work)
    _sum(work, work.moment)


def start_clock(work: Work) -> None:
    """The song begins now."""
    work.clock = Clock(work.at_s)
    _time_open_cues(work)


def _leave(work: Work) -> None:
    """Hands have done what the moment asked; of a changeover that is left without its song nobody knows how much."""
    levels = work.script.by_hand_levels(work.order[work.place], work.trims)
    work.hands = left(work.hands, work.piece, work.moment, levels, changeover=work.phase == "changeover")
    work.ready = False


def _sum(work: Work, moment: int) -> None:
    work.moment = 0
    work.aims.clear()
    for name, says in _all_say(work).items():
        _govern(work, name, says, says.value)
    _arrive_at_once(work)
    while work.moment < moment:
        _step(work)
        _arrive_at_once(work)
    _glide_from_what_sounds(work)
    _time_open_cues(work)
    push(work)


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
            now.controls.get(control) if control is not None and control not in work.travels else None,
        )
    return said


def _step(work: Work) -> None:
    before = _all_say(work)
    in_force = {name: value_now(work, name) for name in before}
    work.moment += 1
    for name, says in _all_say(work).items():
        if says != before[name]:
            _govern(work, name, says, in_force[name])


def _arrive_at_once(work: Work) -> None:
    for name, aim in work.aims.items():
        if aim.how == "glides":
            work.aims[name] = aim._replace(how="follows")


def _glide_from_what_sounds(work: Work) -> None:
    """Rows that come in by a glide start it from the value the receiver has, where that is known."""
    targets = work.script.rig.targets
    for name, aim in work.aims.items():
        if aim.how == "follows" and aim.control is not None and _entry(work, aim.control) == "glide":
            value, number = value_now(work, name), work.known.get(name)
            if value is not None and number is not None and number != to_number(targets[name], value):
                work.aims[name] = Aim("glides", to_value(targets[name], number), aim.control, since_s=work.at_s)


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
    else:
        value = curve_value(work, says.control, name, says.assumed)
        value = says.value if value is None else value
        value = in_force if value is None else value
        if value is not None:
            work.aims[name] = Aim("fixed", value, says.control)


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
