"""The fold: one event after another, through one function, for playing, rehearsing, replaying and checking."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from showrunner.model.rig import Side
from showrunner.state import steps, trimming, withholding
from showrunner.state.arrive import come_in, recall, start_clock
from showrunner.state.events import Asked, Event, Heard, Jump, Moved, Out, PortFound, PortLost, Tick, Trimmed, Withhold
from showrunner.state.follow import glide, move
from showrunner.state.hands import rested
from showrunner.state.inputs import overdue, read
from showrunner.state.receiver import forget, push, value_now
from showrunner.state.script import Script
from showrunner.state.values import State, Work

GLIDE_TICK_S = 0.01
"""How often a glide sends."""


def open_show(script: Script, at_s: float, missing: frozenset[tuple[str, Side]] = frozenset()) -> tuple[State, Out]:
    """The changeover to the first song: muted, program and start values sent, as far as their ports are there."""
    work = Work.on(script, State(order=script.order, missing=missing), at_s)
    if work.order:
        steps.up(work, 0, after_s=0.0)
        work.hands = rested(script.rig, script.by_hand_levels(work.order[0]))
    return work.done()


def fold(script: Script, state: State, event: Event) -> tuple[State, Out]:
    """The state after an event, what is sent and what is shown; an unknown control or port changes nothing."""
    work = Work.on(script, state, event.at_s)
    _pass_time(work)
    match event:
        case Heard(_, port, data):
            for control, raw in read(work, port, data):
                _moved(work, control, raw)
        case Moved(_, control, raw):
            _moved(work, control, raw)
        case PortLost(_, port, side):
            _lose(work, port, side)
        case PortFound(_, port, side):
            _find(work, port, side)
        case Asked():
            steps.ask(work, event)
        case Jump(_, song, moment):
            _jump(work, song, moment)
        case Trimmed():
            trimming.put(work, event)
        case Withhold(_, control):
            withholding.withhold(work, control)
        case Tick():
            pass
    return work.done()


Refuses = Callable[[Event, Exception], object]
"""Called with an event that can't be folded, and why."""


def run(
    script: Script, state: State, events: Iterable[Event], refuse: Refuses | None = None
) -> Iterator[tuple[Event, State, Out]]:
    """Fold events in order, with the ticks that fall due between them.

    Whatever an event raises is given to `refuse`, where there is one, and the state stays as it was; of a tick, which
    would fall due again at once, all that was under way is dropped.
    """
    for event in events:
        due_s = wakes_at(script, state)
        while due_s is not None and due_s < event.at_s:
            tick = Tick(due_s)
            state, out = _folded(script, state, tick, refuse)
            yield tick, state, out
            due_s = wakes_at(script, state)
        state, out = _folded(script, state, event, refuse)
        yield event, state, out


def _folded(script: Script, state: State, event: Event, refuse: Refuses | None) -> tuple[State, Out]:
    if refuse is None:
        return fold(script, state, event)
    try:
        return fold(script, state, event)
    except Exception as error:
        refuse(event, error)
        return stilled(state) if isinstance(event, Tick) else state, Out()


def stilled(state: State) -> State:
    """The state with nothing under way, so that it wakes for nothing: presses, a choice, glides, what settles."""
    aims = {name: aim._replace(how="follows") if aim.how == "glides" else aim for name, aim in state.aims.items()}
    return replace(
        state, aims=aims, presses={}, silences={}, halves={}, withheld={}, settling={}, choice=None, brings_s=None
    )


def wakes_at(script: Script, state: State) -> float | None:
    """When the machine next needs a tick, None while nothing is under way."""
    hold_s = script.rig.steps.hold_ms / 1000 if script.rig.steps is not None else 0.0
    due = [
        *state.settling.values(),
        *((state.brings_s,) if state.brings_s is not None else ()),
        *(held.until_s for held in state.withheld.values()),
        *(press.at_s + hold_s for press in state.presses.values() if not press.held and press.released_s is None),
        *(press.released_s + steps.DEBOUNCE_S for press in state.presses.values() if press.released_s is not None),
        *(due_s for _, due_s in state.halves.values() if due_s is not None),
        *((state.choice.touched_s + steps.CHOICE_LASTS_S,) if state.choice is not None else ()),
    ]
    for control, silence in state.silences.items():
        release = script.rig.controls[control].on_release
        after_s = release.after_ms / 1000 if release is not None else 0.0
        started = silence.from_travel is not None
        due.append(state.moved_s[control] + GLIDE_TICK_S if started else silence.heard_s + after_s)
    gliding = [aim.since_s for aim in state.aims.values() if aim.how == "glides"]
    if gliding:
        due.append(max(state.glided_s, min(gliding)) + GLIDE_TICK_S)
    return min(due, default=None)


def _pass_time(work: Work) -> None:
    """Everything that falls due by the time on the bench."""
    steps.brought(work)
    settled = [port for port, until_s in work.settling.items() if work.at_s >= until_s]
    for port in settled:
        del work.settling[port]
    if settled:
        push(work)
    if work.withheld:
        withholding.pass_time(work)
    for control, raw in overdue(work):
        _moved(work, control, raw)
    gliding = any(aim.how == "glides" for aim in work.aims.values())
    if work.silences or gliding:
        glide(work)
    if gliding:
        work.glided_s = work.at_s
    if work.presses or work.choice is not None:
        steps.held(work)


def _moved(work: Work, control: str, raw: int) -> None:
    the = work.script.rig.controls.get(control)
    if the is None or the.by_hand or not 0 <= raw <= the.top:
        return
    before = work.raws.get(control)
    withholding.moved(work, control)
    move(work, control, raw)
    if control in work.script.switches:
        steps.switch(work, control, raw, before)


def _lose(work: Work, port: str, side: Side | None) -> None:
    """What a side was there for becomes unknown: what a receiver has, or where controls stand."""
    gone = [one for one in _sides(work, port, side) if (port, one) not in work.missing]
    if not gone:
        return
    work.missing |= {(port, one) for one in gone}
    if "output" in gone:
        _lose_output(work, port)
    if "input" in gone:
        _lose_input(work, port)
    work.show("port lost", _named(work, port, gone))


def _lose_output(work: Work, port: str) -> None:
    settled = work.settling.pop(port, None) is not None
    forget(work, port)
    for place in [place for place in work.programs if place[0] == port]:
        del work.programs[place]
    if settled:
        push(work)


def _lose_input(work: Work, port: str) -> None:
    """The port's controls become unknown; what its pedals gave stays where it is."""
    gone = [name for name, control in work.script.rig.controls.items() if control.port == port]
    for name, aim in list(work.aims.items()):
        if aim.control in gone:
            value = value_now(work, name)
            work.aims[name] = aim._replace(how="fixed", value=aim.value if value is None else value)
    for name in gone:
        for table in (work.raws, work.travels, work.moved_s, work.presses, work.silences, work.halves, work.withheld):
            table.pop(name, None)


def _find(work: Work, port: str, side: Side | None) -> None:
    """The targets an output should have go out again; a program only when it is asked for."""
    back = [one for one in _sides(work, port, side) if (port, one) in work.missing]
    if not back:
        return
    work.missing -= {(port, one) for one in back}
    work.show("port found", _named(work, port, back))
    if "output" not in back:
        return
    program = work.piece.song.program if work.order else None
    if program is not None and program.port == port and work.brings_s is None:
        work.owed |= {port}
        work.show("program owed", port)
    push(work)


def _sides(work: Work, port: str, side: Side | None) -> tuple[Side, ...]:
    """The sides of a port of the rig that are meant, all that it has where none is named."""
    ports = work.script.rig.ports
    return tuple(one for one in ports[port].sides if side in (None, one)) if port in ports else ()


def _named(work: Work, port: str, sides: Sequence[Side]) -> str:
    """A port, with the side where it has another."""
    return port if len(sides) == len(work.script.rig.ports[port].sides) else f"{port} {sides[0]}"


def _jump(work: Work, song: str, moment: int) -> None:
    """To a moment of a song in tonight's order, playing; anywhere else changes nothing."""
    if song not in work.order or not 0 <= moment < len(work.script.pieces[song].moments):
        work.show("nothing", f"no such place in tonight's order: {song} {moment}")
        return
    steps.act(work, "cancel")  # a choice is of the songs after the one that is up
    place = work.order.index(song)
    if work.phase == "song" and place == work.place:
        recall(work, moment)
    else:
        come_in(work, place, moment, "song")
        steps.mute(work, False)
        start_clock(work)
    work.show("cue")
