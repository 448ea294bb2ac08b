"""A control moves: its curve's targets follow, or come in by the curve's entry."""

from showrunner.curves.laws import inside
from showrunner.curves.travel import travel_of
from showrunner.state.receiver import curve_value, glide_s, push
from showrunner.state.values import Aim, Silence, Work

MEETS_WITHIN = 0.03
"""Share of a target's range within which a value counts as met (common practice)."""
GIVES_UP_AFTER_S = 2.0
"""Movement without meeting after which the value glides in (common practice)."""
MOVEMENT_GAP_S = 0.25
"""Readings further apart than this are not one movement."""
STANDS_WITHIN_PCT = 1.0
"""Travel within which a control counts as still, a little over one step of 7 bits."""


def move(work: Work, control: str, raw: int) -> None:
    """A control on a port reads a raw value."""
    the = work.script.rig.controls[control]
    work.raws[control] = raw
    if the.on_release is not None:
        work.silences[control] = Silence(work.at_s)
    carry(work, control, travel_of(the, raw))


def carry(work: Work, control: str, travel: float) -> None:
    """A control's travel changes, by the player or by a strip's return."""
    before = work.travels.get(control)
    since_s = work.at_s - work.moved_s.get(control, work.at_s)
    work.travels[control] = travel
    work.moved_s[control] = work.at_s
    if not work.order:
        return
    table = work.table(control)
    if table is None:
        return
    movers = movers_of(work)
    mine = [name for name in table.targets if movers.get(name) == control]
    for name in mine:
        aim = work.aims.get(name)
        if aim is None or aim.how == "fixed":
            work.aims[name] = entered(work, name, control, None if aim is None else aim.value)
        elif aim.how == "stands":
            work.aims[name] = _stood(work, name, aim, control, travel)
        elif aim.how == "waits":
            work.aims[name] = _waited(work, name, aim, before, since_s)
    push(work, mine)


def movers_of(work: Work) -> dict[str, str]:
    """Which control moves each target in the curve set in force; the first named where two do."""
    movers: dict[str, str] = {}
    now, rig = work.now, work.script.rig
    for control, curve in work.piece.song.curves.get(now.curves or "", {}).items():
        if control in rig.controls and not rig.controls[control].by_hand:
            for name in curve.moves:
                movers.setdefault(name, control)
    return movers


def entered(work: Work, target: str, control: str, in_force: float | None) -> Aim:
    """How a target comes in under a control that is heard: at once, by a glide, or once the curve meets it."""
    curve = work.piece.curve(work.now, control)
    to = curve_value(work, control, target)
    if curve is None or to is None or in_force is None or curve.entry == "jump" or _near(work, target, in_force, to):
        return Aim("follows", in_force if in_force is not None else to or 0.0, control)
    if curve.entry == "glide":
        return Aim("glides", in_force, control, since_s=work.at_s)
    return Aim("waits", in_force, control)


def glide(work: Work) -> None:
    """Carry glides on, and strips on their way back, to the time on the bench."""
    for control, silence in list(work.silences.items()):
        _release(work, control, silence)
    gliding = [name for name, aim in work.aims.items() if aim.how == "glides"]
    push(work, gliding)
    for name in gliding:
        aim = work.aims[name]
        if aim.control is None or work.at_s >= glide_end_s(work, aim):
            work.aims[name] = aim._replace(how="follows")
    push(work, gliding)


def glide_end_s(work: Work, aim: Aim) -> float:
    """When a glide arrives."""
    return aim.since_s + glide_s(work, aim)


def _release(work: Work, control: str, silence: Silence) -> None:
    release = work.script.rig.controls[control].on_release
    if release is None:
        return
    starts_s = silence.heard_s + release.after_ms / 1000
    if work.at_s < starts_s:
        return
    start = work.travels[control] if silence.from_travel is None else silence.from_travel
    over_s = release.over_ms / 1000
    share = 1.0 if over_s == 0 else min(1.0, (work.at_s - starts_s) / over_s)
    if share < 1.0:
        work.silences[control] = Silence(silence.heard_s, start)
    else:
        del work.silences[control]
    carry(work, control, start + (release.to - start) * share)


def _stood(work: Work, target: str, aim: Aim, control: str, travel: float) -> Aim:
    if aim.at_travel is None:
        return aim._replace(at_travel=travel)
    if abs(travel - aim.at_travel) <= STANDS_WITHIN_PCT:
        return aim
    return entered(work, target, control, aim.value)


def _waited(work: Work, target: str, aim: Aim, before: float | None, since_s: float) -> Aim:
    control = aim.control or ""
    to = curve_value(work, control, target)
    table = work.table(control)
    if to is None or table is None or _near(work, target, aim.value, to):
        return aim._replace(how="follows")
    the = work.script.rig.targets[target]
    was = None if before is None else inside(the, table.asked(target, before))
    if was is not None and (was - inside(the, aim.value)) * (inside(the, to) - inside(the, aim.value)) <= 0:
        return aim._replace(how="follows")
    moved_s = aim.moved_s + (since_s if since_s <= MOVEMENT_GAP_S else 0.0)
    if work.travels[control] in (0.0, 100.0) or moved_s >= GIVES_UP_AFTER_S:
        return Aim("glides", aim.value, control, since_s=work.at_s)
    return aim._replace(moved_s=moved_s)


def _near(work: Work, target: str, value: float, other: float) -> bool:
    the = work.script.rig.targets[target]
    low, high = the.range
    return abs(inside(the, value) - inside(the, other)) <= MEETS_WITHIN * abs(high - low)
