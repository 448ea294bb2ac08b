"""One control of a rig as it really stands: on the system's ports, or in the show that plays on them."""

from collections.abc import Callable

from showrunner.live.picture import Client
from showrunner.live.ports import System
from showrunner.model.rig import Rig
from showrunner.tui.plugged import Plugged, Seen, seen_in_show


class RealPedal:
    """Listens from `start` to `stop`; what is sent on depends on the show alone."""

    def __init__(self) -> None:
        self._plugged: Plugged | None = None
        self._played: Client | None = None

    @property
    def listening(self) -> bool:
        """Whether anything is listened to."""
        return self._plugged is not None or self._played is not None

    def start(self, rig: Rig, system_of: Callable[[], System], playing: Client | None) -> None:
        """Open the rig's ports, or look at the show that has them."""
        self.stop()
        if playing is not None:
            self._played = playing
        else:
            self._plugged = Plugged(rig, system_of)
            self._plugged.start()

    def stop(self) -> None:
        """Let go of the ports."""
        if self._plugged is not None:
            self._plugged.stop()
        if self._played is not None:
            self._played.close()
        self._plugged = self._played = None

    def travel(self, control: str) -> float | None:
        """Where a control stands, %; None until it has been heard."""
        return self._seen().travels.get(control)

    def words(self, control: str) -> str:
        """What is known of a control, for whoever waits for it."""
        seen = self._seen()
        if not seen.ready:
            return "; ".join(seen.troubles.values()) or "looking for ports …"
        travel = seen.travels.get(control)
        return f"{control} has not been heard yet; move it" if travel is None else f"{control} stands at {travel:.0f} %"

    def _seen(self) -> Seen:
        if self._played is not None:
            return seen_in_show(self._played.picture())
        return self._plugged.seen if self._plugged is not None else Seen()
