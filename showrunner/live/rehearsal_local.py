"""A rehearsal in the process that shows it, nothing plugged in; what it plays does not depend on when it is looked at.

Every due is played at its own time, however late the screen comes to look, and nothing is sent to anybody: so a
screen that paints slowly makes no difference that could be heard, and no process of its own is needed.
"""

import time
from collections import deque
from collections.abc import Callable
from pathlib import Path

from showrunner.live.picture import What
from showrunner.live.rehearsal_picture import Ended, RehearsalPicture, Watching
from showrunner.live.room import Played, by_take, play_step, played
from showrunner.live.staging import Staged
from showrunner.planning.rehearsals import Plan, Wanted
from showrunner.state.events import Asked
from showrunner.state.inputs import messages_of
from showrunner.takes.smf import TakeError
from showrunner.takes.take import Take


class LocalRehearsal:
    """A rehearsal on a simulated rig; time passes by `picture`. OSError where its take can't be written."""

    simulated = True

    def __init__(
        self,
        plan: Plan,
        wanted: Wanted,
        takes: Path,
        clock: Callable[[], float] = time.perf_counter,
        player: Take | None = None,
    ) -> None:
        self.script, self.led = plan.script, player is not None
        self.ended: Ended | None = None
        self._clock, self._watching = clock, Watching(led=self.led)
        self._steps: deque[Played] = deque(played(plan.script, player) if player is not None else ())
        playing = plan if player is None else by_take(plan, player)
        self._staged = Staged(playing, wanted, takes, lambda _port, _message: None, self._watching.tell)
        self._rehearsal = self._staged.rehearsal
        self._began_s = clock()

    def picture(self) -> RehearsalPicture:
        """The rehearsal now, with everything done that has fallen due."""
        now_s = self._pass()
        if self.ended is None and self._rehearsal.next_s is None:
            self._end(now_s)
        return self._watching.look(self._rehearsal, now_s, self._staged.troubles, time.time())

    def ask(self, what: What) -> None:
        """Take a step."""
        self._do(lambda now_s: self._rehearsal.ask(Asked(now_s, what)))

    def move(self, control: str, raw: int) -> None:
        """Move a control, as if it had been heard."""
        moved = self.script.rig.controls[control]
        for message in messages_of(moved, raw):
            self._do(lambda now_s, message=message: self._rehearsal.heard(now_s, moved.port or "", message))  # type: ignore[misc]

    def again(self) -> None:
        """Go back to the start of this time through."""
        self._do(self._rehearsal.again)

    def stop(self) -> None:
        """End it and keep its take."""
        self._do(self._end)

    def close(self) -> None:
        """Nothing is held."""

    def _do(self, what: Callable[[float], object]) -> None:
        if self.ended is None:
            what(self._pass())

    def _pass(self) -> float:
        """Do everything that has fallen due; the second it is now."""
        now_s = self._clock() - self._began_s
        if self.ended is None:
            self._until(now_s)
        return now_s

    def _until(self, now_s: float) -> None:
        while self._steps and self._steps[0][0] <= now_s:
            play_step(self._rehearsal, *self._steps.popleft())
        self._rehearsal.until(now_s)

    def _end(self, now_s: float) -> None:
        self._rehearsal.end(now_s)
        try:
            self.ended = Ended(self._staged.close(), self._staged.trouble)
        except TakeError as error:
            self.ended = Ended(None, f"the take is gone or was changed meanwhile: {error.what}")
