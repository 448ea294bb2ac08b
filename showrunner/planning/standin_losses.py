"""What a song loses when one control does another's work: points, and the reason in words."""

from collections.abc import Iterator
from typing import NamedTuple

from showrunner.curves.travel import raw_of, travel_of
from showrunner.model.rig import Control
from showrunner.planning import standin_costs as cost
from showrunner.planning.standin_need import Need, placed
from showrunner.state.moments import Moment


class Loss(NamedTuple):
    """One thing that is lost: how much, and what in words."""

    points: int
    why: str


def losses(need: Need, used: str) -> tuple[Loss, ...]:
    """All that a song loses when the rig's control `used` does the work of the wanted one, the worst first."""
    control = need.piece.rig.controls[used]
    found = [*_own_job(need, used), *_kind(need, control), *_release(need, control), *_steps(need, control)]
    found += [*_reach(need, control), *_limb_needed(need, used, control), *_limb_shared(need, used, control)]
    return tuple(sorted((*found, *_rest(need, control)), key=lambda loss: -loss.points))


def clash(one: Need, used_one: str, other: Need, used_other: str) -> tuple[Loss, ...]:
    """What a song loses only because two stand-ins meet: two controls for one limb that were on two before."""
    limb = one.piece.rig.controls[used_one].limb
    same = limb is not None and limb == one.piece.rig.controls[used_other].limb
    if not same or one.home.limb == other.home.limb:
        return ()
    together = [moment for moment, _ in one.placed if any(moment is at for at, _ in other.placed)]
    if together:
        why = f"{limb} has {used_other} to move too {at_cues(together)}"
        return (Loss(cost.LIMB_NEEDED * len(together), why),)
    sets = [name for name in one.curves if name in other.curves]
    return (Loss(cost.LIMB_SHARED * len(sets), f"{limb} has {used_other} too{in_sets(one, sets)}"),) if sets else ()


def at_cues(moments: list[Moment]) -> str:
    """`at cue 1 "Theme" and cue 3 "Solo"`; of many the first and how many more."""
    said = [f'cue {moment.number} "{moment.name}"' for moment in moments]
    if len(said) > 3:
        return f"at {said[0]} and {len(said) - 1} more"
    return "at " + (f"{', '.join(said[:-1])} and {said[-1]}" if len(said) > 1 else said[0])


def in_sets(need: Need, sets: list[str]) -> str:
    """` in "verse"` where the song has other curve sets too, else nothing."""
    if len(sets) == len(need.piece.song.curves):
        return ""
    return " in " + " and ".join(f'"{name}"' for name in sets)


def _kind(need: Need, used: Control) -> Iterator[Loss]:
    was, sets = need.home.kind, len(need.curves)
    if used.kind == "switch" and was != "switch":
        moving = sum(move.shape != "step" for curve in need.curves.values() for move in curve.moves.values())
        if moving:
            yield Loss(cost.NO_MIDDLE * moving, "a switch has heel and toe and nothing between")
        low, high = cost.MID_TRAVEL_PCT
        halves = [(moment, at) for moment, at in need.placed if low < at < high]
        if halves:
            at = f"{halves[0][1]:g} % is" if len(halves) == 1 else "places between heel and toe are"
            points = cost.NO_HALF_WAY * len(halves)
            yield Loss(points, f"{at} wanted {at_cues([moment for moment, _ in halves])}, and a switch has none")
    elif used.kind in ("knob", "selector") and was != used.kind and sets:
        yield Loss(cost.HAND_AWAY * sets, f"{used.limb or 'a hand'} leaves the strings to turn it")
    elif used.kind == "strip" and was != "strip" and sets:
        yield Loss(cost.FINGERS_BUSY * sets, f"{used.limb or 'a hand'} is busy with a finger on it")
    if was == "switch" and used.kind != "switch":
        yield Loss(cost.PRESS_TO_END, "it has to be moved right to its ends, where a switch is pressed")


def _returns_to(control: Control) -> float | None:
    """Travel that it goes back to by itself, None if it stays."""
    if control.on_release is not None:
        return control.on_release.to
    return 0.0 if control.kind == "switch" and control.sends == "momentary" else None


def _release(need: Need, used: Control) -> Iterator[Loss]:
    back, was = _returns_to(used), _returns_to(need.home)
    if back is not None and was is None:
        leaves = [moment for moment, at in need.placed if at != back]
        held = f", where the song wants it to stay {at_cues(leaves)}" if leaves else ""
        points = cost.SPRINGS_BACK * len(need.curves) + cost.LETS_GO * len(leaves)
        yield Loss(points, f"it springs back to {back:g} % when let go{held}")
    elif back is None and was is not None:
        how = "until pressed again" if used.kind == "switch" else "where it is left"
        yield Loss(cost.STAYS, f"it stays {how}, where {need.name} goes back to {was:g} % by itself")


def _raw_span(control: Control) -> int:
    return abs(raw_of(control, 100) - raw_of(control, 0))


def _steps(need: Need, used: Control) -> Iterator[Loss]:
    if "switch" in (used.kind, need.home.kind) or _raw_span(used) * 2 >= _raw_span(need.home):
        return
    targets = need.piece.rig.targets
    rows = [name for curve in need.curves.values() for name in curve.moves if name in targets]
    points = sum(cost.COARSE_LEVEL if targets[name].level else cost.COARSE for name in rows)
    if points:
        yield Loss(points, f"it has {_raw_span(used)} steps, where {need.name} has {_raw_span(need.home):,}")


def _reach(need: Need, used: Control) -> Iterator[Loss]:
    if used.kind == "switch":
        return
    low, high = travel_of(used, 0), travel_of(used, used.top)
    had = travel_of(need.home, 0), travel_of(need.home, need.home.top)
    missed: list[str] = []
    for curve in need.curves.values():
        for target, move in curve.moves.items():
            columns = move.travel if move.travel is not None else curve.travel
            short = max(columns[0], had[0]) < low - cost.REACH_PCT or min(columns[-1], had[1]) > high + cost.REACH_PCT
            missed += [target] if short and len(set(move.values)) > 1 else []
    if missed:
        ends = f"it reaches only {low:g} to {high:g} %, and not the ends of {_names(missed)}"
        yield Loss(cost.OUT_OF_REACH * len(missed), ends)


def _own_job(need: Need, used: str) -> Iterator[Loss]:
    curves = need.piece.song.curves
    lost = {name: curves[name][used] for name in need.curves if used in curves[name]}
    if lost:
        rows = [target for curve in lost.values() for target in curve.moves]
        said = f"its own job{in_sets(need, list(lost))} is lost: {_names(rows)}"
        yield Loss(cost.ROW_LOST * max(1, len(rows)), said)
    own = {moment.number for moment, _ in placed(need.piece, used)}
    both = [moment for moment, _ in need.placed if moment.number in own]
    if both:
        yield Loss(cost.PLACE_LOST * len(both), f"it should stand elsewhere for its own job {at_cues(both)}")
    others = [name for name in curves if used in curves[name] and name not in need.curves]
    if others and need.curves:
        yield Loss(cost.TWO_JOBS, f"it keeps its own job{in_sets(need, others)}, so it has two")


def _limb_needed(need: Need, used: str, control: Control) -> Iterator[Loss]:
    limb, rig, piece = control.limb, need.piece.rig, need.piece
    if limb is None or limb == need.home.limb:
        return
    steps = rig.controls.get(rig.steps.next) if rig.steps is not None else None
    busy: list[Moment] = []
    if limb.endswith("hand"):
        for moment in need.in_play:
            stop = moment.cue.stop if moment.cue is not None else None
            sets = [rig.controls[name].limb for name in piece.changed_by_hand(moment.number) if name in rig.controls]
            busy += [moment] if limb in sets or (stop is not None and stop.by == limb) else []
    else:
        elsewhere = {
            moment.number
            for name, other in rig.controls.items()
            if other.limb == limb and name not in (used, need.name) and not other.by_hand
            for moment, _ in placed(piece, name)
        }
        for moment, _ in need.placed:
            stepping = steps is not None and steps.limb == limb and moment.number > piece.first
            busy += [moment] if stepping or moment.number in elsewhere else []
    if busy:
        yield Loss(cost.LIMB_NEEDED * len(busy), f"{limb} needed {at_cues(busy)}")


def _limb_shared(need: Need, used: str, control: Control) -> Iterator[Loss]:
    limb, curves, controls = control.limb, need.piece.song.curves, need.piece.rig.controls
    if limb is None or limb == need.home.limb:
        return
    shared = {
        name: [other for other in curves[name] if _another(other, used, need) and controls[other].limb == limb]
        for name in need.curves
    }
    sets = [name for name, others in shared.items() if others]
    if sets:
        others = _names(list(dict.fromkeys(name for of in shared.values() for name in of)))
        yield Loss(cost.LIMB_SHARED * len(sets), f"{limb} has {others} too{in_sets(need, sets)}")


def _another(name: str, used: str, need: Need) -> bool:
    return name not in (used, need.name) and name in need.piece.rig.controls


def _rest(need: Need, used: Control) -> Iterator[Loss]:
    rest, was = used.rest, need.home.rest
    if need.name in need.piece.song.start.controls or not isinstance(rest, int | float):
        return
    if isinstance(was, int | float) and rest != was:
        yield Loss(
            cost.RESTS_ELSEWHERE, f"it rests at {rest:g} %, {need.name} at {was:g} %: move it there before the song"
        )


def _names(names: list[str]) -> str:
    names = list(dict.fromkeys(names))
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]
