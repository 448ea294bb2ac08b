"""The playing screen: for half a second's look from two metres, in the dark."""

from asyncio import get_running_loop
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.timer import Timer
from textual.worker import Worker, WorkerState

from showrunner.collector import go_on
from showrunner.live.seen import Arrival, Sight
from showrunner.tui.screens.stage import NUDGE_PCT, StageScreen, pedal_keys
from showrunner.tui.settings import Settings
from showrunner.tui.widgets.foot import MORE

if TYPE_CHECKING:
    from showrunner.live.picture import Client, Picture, What
    from showrunner.planning.underway import Plan
    from showrunner.state.values import State

FRAMES_PER_S = 30
"""While anything moves; a show that has stood still for `STILL_AFTER_S` is looked at `STILL_PER_S` times a second."""
STILL_AFTER_S, STILL_PER_S = 1.0, 4


class PlayingScreen(StageScreen[None]):
    """Shows a client's pictures, at most 30 a second, and passes keys on to it; leaving it never ends the show.

    A client whose documents are not read yet says itself what to show, until they have been read on a thread; the
    plan is then made for the book at `root`.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right,n,space", "step('next')", "Next", id="playing.next"),
        Binding("left,b", "step('back')", "Back", id="playing.back"),
        Binding("c", "step('choose')", "Choose", id="playing.choose"),
        Binding("t,enter", "step('take')", "Take", id="playing.take"),
        Binding("x", "step('cancel')", "Cancel", id="playing.cancel"),
        Binding("m", "step('mute')", "Mute", id="playing.mute", tooltip="Mute the output, or let it sound again"),
        MORE,
        Binding("q,ctrl+c", "leave", "Leave", key_display="q", id="playing.leave", tooltip="Leave, the show plays on"),
        Binding("g", "step('program')", "Send program", id="playing.program"),
        *pedal_keys("playing"),
    ]

    def __init__(
        self,
        client: "Client",
        plan: "Plan | None" = None,
        settings: Settings | None = None,
        *,
        root: Path | None = None,
    ) -> None:
        super().__init__(settings)
        self._client, self._plan, self._root = client, plan, root
        self._reads = not client.ready
        if self._reads:
            client.sight()  # so that it is there by the time it is shown
        self._passed: list[State] = []
        self._waiting: list[Callable[[], None]] = []
        self._arrived: set[Arrival] = set()
        self._picture: Picture | None = None
        self._may: tuple[object, ...] = ()
        self._often: Timer | None = None
        self._seldom: Timer | None = None
        self._moved_s = 0.0

    def on_mount(self) -> None:
        """Look at once, then as often as a picture may be new; documents are read once that is painted."""
        told = self._client.sight() if self._reads else None
        if told is not None:
            self.see(told)
        else:
            self.look()
        self.call_after_refresh(self._begin)

    def look(self) -> None:
        """Take the newest picture and show what is different about it."""
        picture = self._client.picture().as_shown(simulated=self._client.simulated)
        before, self._picture, state = self._picture, picture, picture.state
        if before is None or before._replace(at_s=0.0, unix_s=0.0) != picture._replace(at_s=0.0, unix_s=0.0):
            self._moved_s = monotonic()
        may = (state.phase, bool(state.owed), state.choice is None)
        if may != self._may:
            self._may = may
            self.refresh_bindings()
        seen = self._told(picture) if self._reads else self._looked(picture)
        if seen is not None:
            self.see(seen)
        self._pace()

    def _pace(self) -> None:
        """Look often while anything moves or is counted in, else now and then."""
        if self._often is not None and self._seldom is not None:
            counts = self.seen is not None and self.seen.counted_in is not None
            if self._reads or counts or monotonic() - self._moved_s < STILL_AFTER_S:
                self._often.resume()
                self._seldom.pause()
            else:
                self._often.pause()
                self._seldom.resume()

    def _told(self, picture: "Picture") -> Sight | None:
        """What the show itself says, while there are no documents."""
        self._passed.append(picture.state)
        return self._client.sight()

    def _looked(self, picture: "Picture") -> Sight:
        """What the documents say."""
        from showrunner.live.sight import arrivals, sight

        script = self._client.script
        self._arrived |= arrivals(script, picture.state)
        return sight(script, picture, self._plan, self._arrived)

    def _begin(self) -> None:
        self._often = self.set_interval(1 / FRAMES_PER_S, self.look)
        loop = get_running_loop()

        def stir() -> None:
            with suppress(RuntimeError):  # the program has ended meanwhile
                loop.call_soon_threadsafe(self.call_later, self._stirred)

        if self._client.on_stir(stir):
            self._seldom = self.set_interval(1 / STILL_PER_S, self.look, pause=True)
        if self._reads:
            self.run_worker(self._documents, thread=True, group="documents", exit_on_error=False)

    def _stirred(self) -> None:
        """Look at once if it would else be some time."""
        if monotonic() - self._moved_s >= STILL_AFTER_S:
            self.look()

    def _documents(self) -> "Plan | None":
        """Read and load, on a thread, all that pictures are looked at with; the plan."""
        import showrunner.live.sight  # noqa: F401
        from showrunner.live.under_way import plan_tonight

        night = self._client.night
        return plan_tonight(self._root, night) if self._root is not None and night is not None else self._plan

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """From the time they are read the documents are looked at; without them no show can be followed."""
        if event.worker.group != "documents":
            return
        if event.state is WorkerState.SUCCESS:
            from showrunner.live.sight import arrivals

            self._plan, self._reads = event.worker.result, False
            self._arrived = set().union(*(arrivals(self._client.script, state) for state in self._passed))
            self._passed.clear()
            self.look()
            go_on()
            while self._waiting:
                self._waiting.pop(0)()
        elif event.state is WorkerState.ERROR:
            self._client.close()
            self.app.exit(return_code=2, message=f"the show can't be followed: {event.worker.error}; it plays on")

    def action_step(self, what: "What") -> None:
        """Ask the show for a step."""
        self._client.ask(what)
        self.look()

    def action_nudge(self, way: int) -> None:
        """Move the pedal at hand a little."""
        self._once_read(lambda: self._move(lambda travel: travel + way * NUDGE_PCT))

    def action_put(self, travel: float) -> None:
        """Put the pedal at hand to heel or toe."""
        self._once_read(lambda: self._move(lambda _: travel))

    def action_other_pedal(self) -> None:
        """Take the next pedal to hand."""
        self._once_read(self._other_pedal)

    def _once_read(self, act: Callable[[], None]) -> None:
        """Now, or as soon as the documents are read, in the order of the keys."""
        if self._reads:
            self._waiting.append(act)
        else:
            act()

    def action_leave(self) -> None:
        """Leave the screen; the show plays on."""
        if not self.is_active:
            return
        self._client.close()
        if len(self.app.screen_stack) > 1:
            self.app.pop_screen()
        else:
            self.app.exit()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Keys for what can't be done now are off: they are not in the footer and do nothing."""
        picture = self._picture
        if picture is None:
            return True
        state, simulated = picture.state, self._client.simulated
        if action == "step":
            match parameters[0]:
                case "program":
                    return bool(state.owed)
                case "choose":
                    return state.choice is None
                case "take" | "cancel":
                    return state.choice is not None
        if action in ("nudge", "put", "other_pedal"):
            return simulated
        return True

    def _move(self, to: Callable[[float], float]) -> None:
        if self._picture is not None:
            self._move_pedal(self._client, self._picture.state, to)
            self.look()
