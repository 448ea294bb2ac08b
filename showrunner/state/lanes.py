"""The fast road: a control whose whole curve is in force needs one look-up a message, and the fold agrees later."""

from dataclasses import dataclass, replace

from showrunner.curves.tables import CurveTable, Known, Send
from showrunner.curves.travel import travel_of
from showrunner.state.script import Script
from showrunner.state.values import Silence, State


@dataclass(slots=True)
class Lane:
    """One control of 7 bits on the fast road: its table, and what the receiver has of it."""

    control: str
    table: CurveTable | None
    known: Known
    raw: int

    def move(self, raw: int) -> tuple[Send, ...]:
        """What a raw value sends; the lane remembers it until it is absorbed."""
        table = self.table
        self.raw = raw
        if table is None:
            return ()
        sends = table.sends(self.known, raw)
        self.known = table.row(raw)
        return sends


def lanes(script: Script, state: State) -> dict[str, Lane]:
    """The controls that can take the fast road as things stand, by name; good until any other event."""
    if script.rig.routing == "beside" or not state.order or state.brings_s is not None:
        return {}
    found = (_lane(script, state, name) for name in state.raws)
    return {lane.control: lane for lane in found if lane is not None}


def absorb(script: Script, state: State, lane: Lane, at_s: float) -> State:
    """The state that the fold would have reached over the messages a lane took, the last of them at `at_s`."""
    control = script.rig.controls[lane.control]
    known = dict(state.known)
    if lane.table is not None:
        known.update((name, n) for name, n in zip(lane.table.targets, lane.known, strict=True) if n is not None)
    silences = state.silences
    if control.on_release is not None:
        silences = {**silences, lane.control: Silence(at_s)}
    return replace(
        state,
        known=known,
        silences=silences,
        raws={**state.raws, lane.control: lane.raw},
        travels={**state.travels, lane.control: travel_of(control, lane.raw)},
        moved_s={**state.moved_s, lane.control: at_s},
    )


def _lane(script: Script, state: State, name: str) -> Lane | None:
    control = script.rig.controls[name]
    silence = state.silences.get(name)
    if control.bits != 7 or name in script.switches or (silence is not None and silence.from_travel is not None):
        return None
    if name in state.withheld:
        return None
    slug = state.order[state.place]
    table = script.table(slug, script.pieces[slug].moments[state.moment].curves, name, state.trims)
    if table is None:
        return Lane(name, None, (), state.raws[name])
    if all(_free(script, state, target, name) for target in table.targets):
        table.compile()
        return Lane(name, table, tuple(state.known.get(target) for target in table.targets), state.raws[name])
    return None


def _free(script: Script, state: State, target: str, control: str) -> bool:
    """Whether a target follows this control and nothing holds its messages back."""
    aim, port, mute = state.aims.get(target), script.rig.targets[target].port, script.rig.mute
    return (
        aim is not None
        and aim.how == "follows"
        and aim.control == control
        and (port, "output") not in state.missing
        and port not in state.settling
        and not ((state.muted or state.settling) and mute is not None and mute.target == target)
    )
