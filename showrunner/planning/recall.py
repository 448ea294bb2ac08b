"""What the machine does by itself between two songs, and what would jump: the show's own fold, run over the change."""

from typing import Literal, NamedTuple

from showrunner.curves.laws import to_number
from showrunner.curves.tables import Send
from showrunner.curves.travel import raw_of
from showrunner.model.show import Then
from showrunner.state.events import Asked, Event, Jump, Moved, Tick
from showrunner.state.machine import fold, open_show, run
from showrunner.state.moments import Piece
from showrunner.state.receiver import value_now
from showrunner.state.script import Script
from showrunner.state.values import State, Work

LATER_S = 10.0
"""Between one thing and the next in this fold: longer than any program settles or glide lasts."""


class Sound(NamedTuple):
    """A target whose value jumps, in its unit; None where nothing said what it was."""

    target: str
    before: float | None
    after: float | None
    unit: str


class Recall(NamedTuple):
    """What jumps when a song comes up, whether muted or sounding, and what is sent: programs, then targets."""

    jumps: tuple[Sound, ...]
    sound: Literal["muted", "sounding"]
    programs: tuple[str, ...]
    targets: tuple[str, ...]


def recall_between(before: Piece, after: Piece, then: Then | None) -> Recall:
    """From a song's last moment, pedals where its cues put them, to the next song's first; pedals not yet moved."""
    rig = after.rig
    script = Script(rig, {before.slug: before, after.slug: after}, (before.slug, after.slug), (), {before.slug: then})
    state = _at_the_end(script, before)
    was = _values(script, state)
    state, sends = _go_on(script, state, Asked(3 * LATER_S, "next"))
    now = _values(script, state)
    state, settled = _go_on(script, state, Tick(4 * LATER_S))
    jumps = tuple(
        Sound(name, was[name], now[name], target.unit)
        for name, target in rig.targets.items()
        if now[name] is not None and _number(script, name, was[name]) != _number(script, name, now[name])
    )
    sends = (*sends, *settled)
    return Recall(jumps, state.sound, programs=_programs(after, sends), targets=_targets(script, sends))


def _at_the_end(script: Script, piece: Piece) -> State:
    last = len(piece.moments) - 1
    state, _ = open_show(script, 0.0)
    for name, travel in piece.moments[last].controls.items():
        control = script.rig.controls.get(name)
        if control is not None and not control.by_hand and name not in script.switches:
            state, _ = fold(script, state, Moved(0.0, name, raw_of(control, travel)))
    state, _ = fold(script, state, Jump(LATER_S, piece.slug, last))
    state, _ = fold(script, state, Tick(2 * LATER_S))
    return state


def _go_on(script: Script, state: State, event: Event) -> tuple[State, tuple[Send, ...]]:
    """The state after an event and what falls due before it, and all that was sent."""
    answers = [(reached, out) for _, reached, out in run(script, state, [event])]
    return answers[-1][0], tuple(send for _, out in answers for send in out.sends)


def _values(script: Script, state: State) -> dict[str, float | None]:
    work = Work.on(script, state, 3 * LATER_S)
    return {name: value_now(work, name) for name in script.rig.targets}


def _number(script: Script, name: str, value: float | None) -> int | None:
    return None if value is None else to_number(script.rig.targets[name], value)


def _programs(piece: Piece, sends: tuple[Send, ...]) -> tuple[str, ...]:
    """The programs sent, as the receiver numbers them on its own screen."""
    ports = piece.rig.ports
    return tuple(
        f"program {send.message[1] + ports[send.port].programs_count_from} on {send.port}"
        for send in sends
        if send.message[0] & 0xF0 == 0xC0
    )


def _targets(script: Script, sends: tuple[Send, ...]) -> tuple[str, ...]:
    """The targets that were sent, in the rig's order."""
    there = {(send.port, send.message[0] & 0x0F, send.message[1]) for send in sends if send.message[0] & 0xF0 == 0xB0}
    mute = script.rig.mute.target if script.rig.mute is not None else None
    return tuple(
        name
        for name, target in script.rig.targets.items()
        if name != mute and (target.port, target.channel - 1, target.cc) in there
    )
