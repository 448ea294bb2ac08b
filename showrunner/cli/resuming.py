"""`play` where a run broke off: gone on with as it was begun, or given up, as the player says."""

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from showrunner.cli.common import trouble
from showrunner.cli.output import caution
from showrunner.model.cautions import REAL_PORTS

if TYPE_CHECKING:
    from showrunner.live.launch import BrokeOffError
    from showrunner.live.link import RemoteShow

BEGIN = "--begin begins anew and gives it up"


class _Way(click.Choice[str]):
    """One of some words, of which the first letter will do."""

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The word that is meant; a usage error where that is none."""
        typed = value.strip().lower()
        return super().convert(
            next((way for way in self.choices if typed and way.startswith(typed)), value), param, ctx
        )


def goes_on(error: "BrokeOffError", *, asks: bool) -> bool:
    """Whether the player goes on with the run that broke off, else begins; Trouble where neither is said."""
    can = error.before is not None
    if not asks:
        raise trouble(str(error), f"--resume goes on with it, {BEGIN}" if can else BEGIN)
    caution(f"{error}.")
    asked, ways = ("Resume it, or begin anew", "resume begin leave") if can else ("Begin anew", "begin leave")
    chosen = str(click.prompt(asked, type=_Way(ways.split()), err=True))
    if chosen == "leave":
        raise trouble("nothing was begun")
    return chosen == "resume"


def resumed(show: str, folder: Path) -> "RemoteShow":
    """A way to the run that broke off, gone on with as it was begun; Trouble where none did."""
    from showrunner.live.broken_off import broken_off
    from showrunner.live.launch import attach
    from showrunner.live.night import NightError

    try:
        before = broken_off(folder)
    except NightError as error:
        raise trouble(f"{show} can't be gone on with: {error}", BEGIN) from None
    if before is None:
        raise trouble(f"no run of {show} broke off", "leave --resume out to begin one")
    if not before.night.simulated:
        caution(REAL_PORTS)
    caution(before.refused or f"going on with {before.said}")
    return attach(folder, before.night, resumes=True)


def say_refused(folder: Path) -> None:
    """Say of a run that broke off that it can't be gone on with as it was saved."""
    from showrunner.live.broken_off import broken_off
    from showrunner.live.night import NightError

    with suppress(NightError):
        before = broken_off(folder)
        if before is not None and before.refused:
            caution(before.refused)
