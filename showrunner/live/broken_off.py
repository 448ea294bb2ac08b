"""A run that broke off: begun, not ended, and played by nobody; what it was, and whether it is what is asked for."""

import datetime
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from showrunner.live import proved, runclock
from showrunner.live.folder import RUN, STATE
from showrunner.live.night import Night, documents, read_night
from showrunner.live.runlog import seconds
from showrunner.live.saved import RefusedError, Saved, playable, read_saved
from showrunner.live.uptime import boot
from showrunner.model.units import format_length
from showrunner.state.script import Script
from showrunner.state.values import Trims

RESUMES_WITHIN_S = 12 * 3600
"""A run that broke off longer ago than this is gone on with only where that is said."""


class BrokenOff(NamedTuple):
    """A run that broke off: the night as it was begun, the trims moved since, and where and when it broke off.

    `refused` says that the place it was saved at can't be read, and where it goes on by its log.

    `ago_s` is how long ago that was; None where no clock can say, as after a start of the machine by a time of day
    that has gone back. `began` is whether there is anything to go on with: a step taken, a trim moved, not yet over.
    """

    night: Night
    trims: Trims
    unix_s: float
    ago_s: float | None
    where: str
    began: bool
    refused: str = ""

    @property
    def title(self) -> str:
        """The rig's title, and what else names it."""
        on = self.night.book.rigs[self.night.rig].title
        return f"{on}, without hardware" if self.night.simulated else on

    @property
    def when(self) -> str:
        """When it broke off, by the time of day, and the date where that is not today's."""
        at = datetime.datetime.fromtimestamp(self.unix_s)
        of = "" if at.date() == datetime.datetime.fromtimestamp(time.time()).date() else f"on {at:%Y-%m-%d} "
        return f"{of}at {at:%H:%M}"

    @property
    def said(self) -> str:
        """What it was and where it stands, in words."""
        return f"the run on {self.title} that broke off {self.when}, {self.where}"


def is_left(folder: Path) -> bool:
    """Whether a run in a folder was begun and not ended; it may be played now."""
    return (folder / STATE).exists() or (folder / RUN).exists()


def broken_off(folder: Path) -> BrokenOff | None:
    """The run in a folder that was begun and not ended, None where none was; NightError if its night can't be read.

    For one that is not played now.
    """
    if not is_left(folder):
        return None
    night, clock = read_night(folder), runclock.read(folder)
    script, refused = night.script(), ""
    try:
        saved = read_saved(folder)
        if saved is not None:
            return _as_saved(night, script, playable(script, saved), clock)
    except RefusedError as error:
        refused = f"where the show stood can't be read; {error}; "
    proof = proved.proved(script, lines) if (lines := _lines(night, clock)) else None
    unix_s = max((at for line in lines if (at := seconds(line.get("unix_s"))) is not None), default=0.0)
    unix_s = unix_s or _changed_s(folder)
    at_s = max((at for line in lines if (at := seconds(line.get("at_s"))) is not None), default=0.0)
    began = proof is not None and _is_begun(script, proof, None)
    trims = () if proof is None else proof.trims
    where = proved.place(script, proof)
    refused = f"{refused}{proved.goes_on(script, proof)}" if refused else ""
    return BrokenOff(night, trims, unix_s, _ago_s(clock, at_s, unix_s), where, began, refused)


def differs(before: BrokenOff, wanted: Night) -> tuple[str, ...]:
    """What is otherwise in the night that is asked for, in sentences; nothing where the run can be gone on with."""
    return tuple(_differs(before, wanted))


def _differs(before: BrokenOff, wanted: Night) -> Iterator[str]:
    was, now = before.night, wanted
    if was.simulated != now.simulated:
        yield f"it was played {'without hardware' if was.simulated else 'on real ports'}"
    if was.rig != now.rig:
        yield f"it was played on {was.book.rigs[was.rig].title}, not on {now.book.rigs[now.rig].title}"
    if was.the_show.date != now.the_show.date:
        yield f"it was the show of {was.the_show.date or 'no date'}, not of {now.the_show.date or 'no date'}"
    if now.full_house and not was.full_house:
        yield "it was begun for an empty room"
    changed = sorted(_changed(was, now))
    if changed:
        more = f" and {len(changed) - 3} more" if len(changed) > 3 else ""
        yield f"the book has changed since: {', '.join(changed[:3])}{more}"
    if before.ago_s is not None and before.ago_s > RESUMES_WITHIN_S:
        yield f"it broke off {format_length(before.ago_s // 60 * 60)} ago"


def _changed(was: Night, now: Night) -> Iterator[str]:
    """Documents that are not the same in two nights; the rig only where it is the same one, and dates left out."""
    before, after = documents(was), documents(now)
    for kind, slug in before.keys() | after.keys():
        if kind == "rig" and was.rig != now.rig:
            continue
        pair = [dict(of.get((kind, slug), {})) for of in (before, after)]
        if kind == "show":
            for each in pair:
                each.pop("date", None)
        if pair[0] != pair[1]:
            yield f"{kind}s/{slug}"


def _as_saved(night: Night, script: Script, saved: Saved, clock: runclock.RunClock | None) -> BrokenOff:
    state = saved.state
    stands = proved.Proved(state.order, state.place, state.moment, state.phase, state.trims)
    began, where = _is_begun(script, stands, saved.began_s), proved.place(script, stands if state.order else None)
    return BrokenOff(night, state.trims, saved.unix_s, _ago_s(clock, saved.at_s, saved.unix_s), where, began)


def _is_begun(script: Script, stands: proved.Proved, began_s: float | None) -> bool:
    if stands.phase == "over":
        return False
    at_start = stands.phase == "changeover" and stands.place == 0 and stands.order == script.order
    return bool(stands.trims) or began_s is not None or stands.began_s is not None or not at_start


def _changed_s(folder: Path) -> float:
    """When something was saved last in a run's folder, by the time of day; 0 where that can't be seen."""
    found = 0.0
    for name in (STATE, RUN):
        with suppress(OSError):
            found = max(found, (folder / name).stat().st_mtime)
    return found


def _lines(night: Night, clock: runclock.RunClock | None) -> list[proved.Entry]:
    return [] if clock is None else proved.of_run(Path(night.log), clock.name)


def _ago_s(clock: runclock.RunClock | None, at_s: float, unix_s: float) -> float | None:
    """How long ago a run stood so: by its own clock, or by the time of day where the machine was started since."""
    if clock is not None and clock.boot == boot() != "":
        return max(0.0, clock() - at_s)
    gone_s = time.time() - unix_s
    return gone_s if gone_s >= 0 and unix_s else None
