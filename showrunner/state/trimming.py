"""A trim moved while the show runs: what sounds moves by it, and nothing else does."""

from showrunner.levels import kept
from showrunner.levels.kept import GAIN, KEYS, VOLUME
from showrunner.model.rig import Rig
from showrunner.state.events import Notice, Trim, Trimmed
from showrunner.state.receiver import push
from showrunner.state.script import NO_SHOW, Script
from showrunner.state.values import Trims, Work


def put(work: Work, event: Trimmed) -> None:
    """Put one of tonight's trims where an event says; one that the rig hasn't, or a number that is none, is said."""
    rig, name, value = work.script.rig, event.trim, event.value
    unit = unit_of(rig, name)
    if unit is None or not kept.in_reach(name, value):
        work.show("nothing", f"no such trim: {name} at {value:g}")
        return
    before = tonight(work.script, work.trims, name)
    if value == before:
        return
    old, work.trims = work.trims, moved_to(work.script, work.trims, name, value)
    if work.order:
        _carry(work, old)
    _tell(work, Trim(event.who, name, before, value, unit, by_hand(rig, name)))


def tonight(script: Script, trims: Trims, name: str) -> float:
    """Where one of tonight's trims stands, in its unit: where it was moved to, else as the show says."""
    moved = dict(trims)
    return moved[name] if name in moved else kept.tonight(script.room.show or NO_SHOW, name)


def moved_to(script: Script, trims: Trims, name: str, value: float) -> Trims:
    """Tonight's moved trims with one of them somewhere else."""
    moved = {**dict(trims), name: value}
    if value == tonight(script, (), name):
        del moved[name]
    return tuple(sorted(moved.items()))


def unit_of(rig: Rig, name: str) -> str | None:
    """The unit of a trim; None for a name that is no trim of the rig."""
    if name in KEYS:
        return "dB"
    return rig.targets[name].unit if name in rig.targets and name != rig.trims.volume_target else None


def by_hand(rig: Rig, name: str) -> bool:
    """Whether only a person can set a trim: the input gain, and a volume that no target sets."""
    return name == GAIN or (name == VOLUME and rig.trims.volume_target not in rig.targets)


def signed(value: float) -> str:
    """A trim's figure with its sign; 0 has none."""
    return f"{value:+g}" if value else "0"


def _carry(work: Work, old: Trims) -> None:
    """Move every value that stands by as much as its trim has moved, and send those."""
    slug = work.order[work.place]
    was, now = work.script.added(slug, old), work.script.added(slug, work.trims)
    named, renamed = (work.script.piece(slug, trims).moments[work.moment].targets for trims in (old, work.trims))
    moved = [name for name in now | was if now.get(name, 0.0) != was.get(name, 0.0)]
    for name in moved:
        aim = work.aims.get(name)
        if aim is None:
            continue
        by = now.get(name, 0.0) - was.get(name, 0.0)
        value = renamed[name] if aim.value == named.get(name) else aim.value + by
        work.aims[name] = aim._replace(value=value)
    push(work, [name for name in moved if name in work.aims])


def _tell(work: Work, trim: Trim) -> None:
    song = work.order[work.place] if work.order else None
    hands = ", by hand" if trim.by_hand else ""
    say = f"{trim.target} {signed(trim.before)} to {signed(trim.after)} {trim.unit}{hands}"
    work.shows.append(Notice("trimmed", song, work.now.name if work.order else None, say, trim))
