"""The show that is being played from a book, if one is, and the plan it is held against."""

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from showrunner.live.evidence import battery_hours
from showrunner.live.folder import where_run
from showrunner.live.link import LinkError, RemoteShow, running
from showrunner.live.night import Night
from showrunner.live.nightclock import counted
from showrunner.planning.underway import Plan, plan_of


def show_under_way(root: Path, shows: Iterable[str], *, on_ports: bool = False) -> RemoteShow | None:
    """A way to the first of these shows that plays now, None if none does; waits for its answer.

    With `on_ports` one that is played without hardware does not count: it says nothing of what is plugged in.
    """
    for folder in (where_run(root, show) for show in shows):
        with suppress(LinkError):
            if not running(folder):
                continue
            client = RemoteShow(folder)
            if not (on_ports and client.simulated):
                return client
            client.close()
    return None


def plan_tonight(root: Path, night: Night) -> Plan:
    """The plan of a night, with what the book's runs say of its batteries, and its times as this night counts them."""
    rig = night.book.rigs[night.rig]
    hours = battery_hours(root, night.book, rig)
    plan = plan_of(night.book, night.the_show, rig, battery_h=hours)
    starts, curfew = (counted(plan.date, clock_min) for clock_min in (plan.time.starts, plan.time.curfew))
    return replace(plan, time=plan.time._replace(starts=starts, curfew=curfew))
