"""A rehearsal under way: what the hands must do, what comes next and in how many bars, and what was late or early."""

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Static

from showrunner.live.picture import What
from showrunner.live.rehearsal_picture import Ended, RehearsalClient, RehearsalPicture
from showrunner.live.seen import Arrival, Sight
from showrunner.live.sight import arrivals
from showrunner.tui.rehearse_sight import rehearsal_sight, verdict
from showrunner.tui.screens.stage import NUDGE_PCT, StageScreen, pedal_keys
from showrunner.tui.settings import Settings
from showrunner.tui.widgets.foot import MORE

FRAMES_PER_S = 30


class RehearsingScreen(StageScreen[Ended]):
    """Shows a rehearsal's pictures and passes keys on to it; it is left when the rehearsal has ended."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right,n,space", "step('next')", "Next", id="rehearsing.next"),
        Binding("left,b", "step('back')", "Back", id="rehearsing.back"),
        Binding("a", "again", "Again", id="rehearsing.again"),
        MORE,
        Binding("q,escape,ctrl+c", "done", "Done", key_display="q", id="rehearsing.done", tooltip="End, keep the take"),
        *pedal_keys("rehearsing"),
    ]

    def __init__(self, client: RehearsalClient, *, by_foot: bool, settings: Settings | None = None) -> None:
        super().__init__(settings)
        self._client, self._by_foot = client, by_foot
        self._arrived: set[Arrival] = set()
        self._seen: RehearsalPicture | None = None
        self._left = False
        self._said = ""

    def on_mount(self) -> None:
        """Look at once, then as often as a picture may be new."""
        self.look()
        self.set_interval(1 / FRAMES_PER_S, self.look)

    def on_unmount(self) -> None:
        """The program is left: the take is kept all the same."""
        if not self._left:
            self._left = True
            self._client.stop()

    def look(self) -> None:
        """Take the newest picture and show what is different about it; leave once it is over."""
        if self._left:
            return
        newest, ended = self._client.picture(), self._client.ended
        if ended is not None:
            self._left = True
            self._client.close()
            self.dismiss(ended)
            return
        before = self._seen
        self._seen = newest
        if before is not None and before.round != newest.round:
            self._arrived.clear()
        self._arrived |= arrivals(self._client.script, newest.picture.state)
        self.see(
            rehearsal_sight(self._client.script, newest, self._arrived, by_foot=self._by_foot, led=self._client.led)
        )
        self._judge()

    def action_step(self, what: What) -> None:
        """Take a step."""
        self._client.ask(what)
        self.look()

    def action_again(self) -> None:
        """Back to the start of this time through."""
        self._client.again()
        self._arrived.clear()
        self.look()

    def action_nudge(self, way: int) -> None:
        """Move the pedal at hand a little."""
        self._move(lambda travel: travel + way * NUDGE_PCT)

    def action_put(self, travel: float) -> None:
        """Put the pedal at hand to heel or toe."""
        self._move(lambda _: travel)

    def action_other_pedal(self) -> None:
        """Take the next pedal to hand."""
        self._other_pedal()

    def action_done(self) -> None:
        """End it here; its take is kept."""
        self._client.stop()
        self.look()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Keys that would do nothing are off: a take needs no player, and a real rig no keys for its pedals."""
        if action in ("step", "again"):
            return not self._client.led
        if action in ("nudge", "put", "other_pedal"):
            return self._client.simulated and not self._client.led
        return True

    def _move(self, to: Callable[[float], float]) -> None:
        if self._seen is not None:
            self._move_pedal(self._client, self._seen.picture.state, to)
            self.look()

    def _show(self, seen: Sight) -> None:
        self._said = ""
        super()._show(seen)
        self._judge()

    def _judge(self) -> None:
        """What was late or early stands in words, where no trouble does."""
        if self._sight is None or self._sight.trouble or self._seen is None:
            return
        words = verdict(self._seen)
        if words != self._said:
            self._said = words
            self.query_one("#words", Static).update(words)
