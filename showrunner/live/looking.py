"""What a screen is to show, told by the watcher: so that a screen can be painted before it has read any document."""

from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showrunner.live.freeze import from_json, to_json
from showrunner.live.night import Night
from showrunner.live.picture import Picture
from showrunner.live.seen import Arrival

if TYPE_CHECKING:
    from showrunner.planning.underway import Plan
    from showrunner.state.script import Script


class Looker:
    """Looks for one screen, with a script and a plan as the screen itself would make them."""

    def __init__(self, night: Night) -> None:
        self._night = night
        self._arrived: set[Arrival] = set()

    @cached_property
    def ready(self) -> "tuple[Script, Plan]":
        """Script and plan, made when they are first needed."""
        from showrunner.live.under_way import plan_tonight

        return self._night.script(), plan_tonight(book_of(self._night), self._night)

    def sight(self, frozen: Any, now_s: float, *, answers: bool) -> Any:
        """What to show of a picture as the engine sent it, as JSON; `answers` is whether the engine still does."""
        from showrunner.live.sight import arrivals, sight

        script, plan = self.ready
        picture = from_json(Picture, frozen).moved_to(now_s).as_shown(simulated=self._night.simulated)
        if not answers:
            picture = picture._replace(engine="not answering")
        self._arrived |= arrivals(script, picture.state)
        return to_json(sight(script, picture, plan, self._arrived))


def book_of(night: Night) -> Path:
    """The folder of the book that a night's log lies in."""
    return Path(night.log).parents[2]


def load(night: Night) -> None:
    """Load all that looking needs, ahead of the first screen."""
    _ = Looker(night).ready
    import showrunner.live.sight  # noqa: F401
