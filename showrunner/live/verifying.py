"""What the program sees for itself of a checklist's items."""

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from showrunner.checks.run import check
from showrunner.levels.kept import last_visit
from showrunner.levels.newroom import never_played
from showrunner.live.evidence import battery_hours
from showrunner.live.locked import is_locked
from showrunner.live.mains import on_mains
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.planning.batteries import battery_lives
from showrunner.planning.timing import running_time

ENOUGH_BYTES = 1_000_000_000
"""Room that a night's log and takes never fill; our own figure, no source."""

Names = Mapping[str, Mapping[str, str]]


class Verdict(NamedTuple):
    """Whether an item is as it must be, None where that can't be seen, and what was seen."""

    good: bool | None
    said: str

    def __str__(self) -> str:
        return f"{'to be answered by you' if self.good is None else 'seen' if self.good else 'not so'}: {self.said}"


class Facts(NamedTuple):
    """What can be looked at: a book and where it is, the show and its rig, and the rig's ports.

    `names` is the system's name of each side (`input`, `output`) of the rig's ports that is there, None while the
    system has not answered; `reach` the least and the greatest travel heard of each control; `playing` whether the
    show plays.
    """

    root: Path
    book: Book
    show: str | None
    rig: Rig | None
    names: Names | None = None
    reach: Mapping[str, tuple[float, float]] = MappingProxyType({})
    playing: bool = False


def verified(verify: str, facts: Facts) -> Verdict:
    """The verdict on a checklist item's `verify`; slow ones (`findings`, `battery`) work the whole show out."""
    kind = next(kind for kind in _LOOKS if verify == kind or verify.startswith(f"{kind} "))
    return _LOOKS[kind](verify[len(kind) :].strip(), facts)


def needs_ports(verify: str) -> bool:
    """Whether an item is about what is plugged in or heard."""
    return verify.startswith(("port ", "control ", "not doubled "))


def _port(name: str, facts: Facts) -> Verdict:
    port = facts.rig.ports.get(name) if facts.rig is not None else None
    if port is None:
        return Verdict(None, f'the rig has no port "{name}"')
    if facts.names is None:
        return Verdict(None, "the system's MIDI has not answered")
    wanted = {"input": port.input, "output": port.output or port.virtual}
    there = facts.names.get(name, {})
    missing = [f"{side} {pattern}" for side, pattern in wanted.items() if pattern is not None and side not in there]
    if missing:
        return Verdict(False, f"not there: {', '.join(missing)}")
    return Verdict(True, f"there: {', '.join(dict.fromkeys(there.values()))}")


def _control(name: str, facts: Facts) -> Verdict:
    control = facts.rig.controls.get(name) if facts.rig is not None else None
    if control is None:
        return Verdict(None, f'the rig has no control "{name}"')
    if control.by_hand:
        return Verdict(None, f"{name} sends nothing: it is looked at by you")
    if name not in facts.reach:
        return Verdict(False, f"{name} is not heard yet: move it")
    low, high = facts.reach[name]
    return Verdict(True, f"heard, from {low:.0f} to {high:.0f} %")


def _not_doubled(name: str, facts: Facts) -> Verdict:
    """Only an ear can tell: what sounds while nothing is passed on, the host hears by itself."""
    rig = facts.rig
    if rig is None or name not in rig.controls:
        return Verdict(None, f'the rig has no control "{name}"')
    if rig.routing == "beside":
        return Verdict(None, "the host hears the pedals itself on this rig; Showrunner passes none on")
    if rig.controls[name].by_hand:
        return Verdict(None, f"{name} sends nothing that could come twice")
    return Verdict(None, f"t tries it: move {name} for two seconds while nothing is passed on, and listen")


def to_try(verify: str | None, rig: Rig | None) -> str | None:
    """The control that an item asks to be tried by ear for being heard twice; None for any other item."""
    name = (verify or "").removeprefix("not doubled ").strip()
    there = verify is not None and verify.startswith("not doubled ") and rig is not None and name in rig.controls
    return name if there and rig is not None and rig.routing == "through" and not rig.controls[name].by_hand else None


def _battery(name: str, facts: Facts) -> Verdict:
    show, rig = facts.book.shows.get(facts.show or ""), facts.rig
    if show is None or rig is None or name not in rig.batteries:
        return Verdict(None, f'no show is at hand, or its rig has no battery "{name}"')
    hours = battery_hours(facts.root, facts.book, rig)
    lives = battery_lives(facts.book, show, rig, running_time(facts.book, show), hours)
    life = next(life for life in lives if life.battery == name)
    mend = "" if life.enough else "; fit a fresh one" if life.fresh_is_enough else "; too small: take two"
    return Verdict(
        life.enough, f"by the hours it has run, {life.hours_left:.1f} h left and {life.hours_needed:.1f} h needed{mend}"
    )


def _findings(_: str, facts: Facts) -> Verdict:
    if facts.show is None or facts.show not in facts.book.shows:
        return Verdict(None, "no show is at hand")
    found = check(facts.book, show=facts.show)
    errors = [finding for finding in found if finding.level == "error" and finding.silenced is None]
    if not errors:
        return Verdict(True, "no findings of level error")
    more = f", and {len(errors) - 1} more" if len(errors) > 1 else ""
    return Verdict(False, f"{errors[0].what}{more}: showrunner check {facts.show}")


def _disk(_: str, facts: Facts) -> Verdict:
    try:
        free = shutil.disk_usage(facts.root).free
    except OSError as error:
        return Verdict(None, f"the disk can't be looked at: {error.strerror}")
    return Verdict(free >= ENOUGH_BYTES, f"{free / 1e9:.1f} GB free where the runs and takes go")


def _mains(_: str, facts: Facts) -> Verdict:  # noqa: ARG001
    mains = on_mains()
    if mains is None:
        return Verdict(None, "this system doesn't tell whether it is on mains power: look at the plug")
    return Verdict(mains, "on mains power" if mains else "on its battery")


def _trims(_: str, facts: Facts) -> Verdict:
    show = facts.book.shows.get(facts.show or "")
    venue = facts.book.venues.get(show.venue or "") if show is not None else None
    if show is None or venue is None:
        return Verdict(None, "the show has no venue, so there is nothing that trims could be set for")
    visit = last_visit(venue)
    if is_locked(facts.root, facts.show or "", show):
        return Verdict(True, f"locked for {venue.title} since tonight's soundcheck")
    if any(each.show == facts.show and each.date == show.date for each in venue.visits):
        return Verdict(True, f"kept for {venue.title} from tonight's soundcheck")
    if never_played(venue):
        return Verdict(False, f"{venue.title} has none yet: they are found at soundcheck")
    when = f"from the visit of {visit.date}" if visit is not None else "as written in its file"
    return Verdict(True, f"set for {venue.title}, {when}; not locked tonight")


_LOOKS: Mapping[str, Callable[[str, Facts], Verdict]] = {
    "port": _port,
    "control": _control,
    "not doubled": _not_doubled,
    "battery": _battery,
    "findings": _findings,
    "disk": _disk,
    "mains": _mains,
    "trims": _trims,
}
