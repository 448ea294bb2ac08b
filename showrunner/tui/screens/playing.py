"""The playing screen: for half a second's look from two metres, in the dark."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.events import Resize
from textual.screen import Screen
from textual.widgets import Footer, Static
from textual.worker import Worker, WorkerState

from showrunner.live.picture import Client, Picture, What
from showrunner.live.seen import Arrival, Sight
from showrunner.planning.legibility import legibility
from showrunner.tui.lettering import SIZES, width_of
from showrunner.tui.settings import Settings
from showrunner.tui.widgets.bigtype import BigType
from showrunner.tui.widgets.ruler import Rulers

if TYPE_CHECKING:
    from showrunner.planning.underway import Plan
    from showrunner.state.values import State

FRAMES_PER_S = 30
SIDE_SIZES = SIZES[1::2]
SMALL_ROWS, RULER_ROWS, LABEL_FROM = 3, 2, 26
"""Lines in the terminal's own letters, the footer among them; the least that rulers get; rows that spare a label."""
NUDGE_PCT = 5.0
"""How far an arrow key moves a pedal of a simulated rig."""


class Zones(NamedTuple):
    """Rows of each zone on a screen of some height; what is to be done takes the first of its heights that does."""

    head: int
    do: tuple[int, ...]
    after: int
    trouble: int


def zones(width: int, height: int) -> Zones:
    """How a screen's rows are shared out: letters twice as large where there is room for them."""
    if height >= 44 and width >= 120:
        return Zones(8, (12, 18, 24), 6, 6)
    if height < 20:
        return Zones(3, (3,), 3, 3) if height >= 15 else Zones(3 if height >= 8 else 1, (1,), 1, 1)
    spare = height - SMALL_ROWS - (height >= LABEL_FROM) - 10 - RULER_ROWS
    return Zones(4, tuple(range(6, max(6, spare) + 1, 3)), 3, 3)


class PlayingScreen(Screen[None]):
    """Shows a client's pictures, at most 30 a second, and passes keys on to it; leaving it never ends the show.

    A client whose documents are not read yet says itself what to show, until they have been read on a thread; the
    plan is then made for the book at `root`.
    """

    CSS_PATH = "playing.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right,n,space", "step('next')", "Next", id="playing.next"),
        Binding("left,b", "step('back')", "Back", id="playing.back"),
        Binding("c", "step('choose')", "Choose", id="playing.choose"),
        Binding("t,enter", "step('take')", "Take", id="playing.take"),
        Binding("x", "step('cancel')", "Cancel", id="playing.cancel"),
        Binding("m", "step('mute')", "Mute", id="playing.mute"),
        Binding("g", "step('program')", "Send program", id="playing.program"),
        Binding("up", "nudge(1)", "Pedal up", id="playing.up"),
        Binding("down", "nudge(-1)", "Pedal down", id="playing.down", show=False),
        Binding("h", "put(0)", "Heel", id="playing.heel", show=False),
        Binding("e", "put(100)", "Toe", id="playing.toe", show=False),
        Binding("p", "other_pedal", "Other pedal", id="playing.pedal", show=False),
        Binding("q,ctrl+c", "leave", "Leave", key_display="q", id="playing.leave"),
    ]

    def __init__(
        self,
        client: Client,
        plan: "Plan | None" = None,
        settings: Settings | None = None,
        *,
        root: Path | None = None,
    ) -> None:
        super().__init__()
        self._client, self._plan, self._root = client, plan, root
        self._settings = settings or Settings()
        self._reads = not client.ready
        self._passed: list[State] = []
        self._waiting: list[Callable[[], None]] = []
        self._arrived: set[Arrival] = set()
        self._picture: Picture | None = None
        self._sight: Sight | None = None
        self._pedal = 0

    def compose(self) -> ComposeResult:
        yield Static(id="status", classes="small", markup=False)
        yield BigType(id="head")
        yield Static(id="label", classes="small", markup=False)
        yield BigType(id="do")
        yield Rulers(id="rulers")
        with Horizontal(id="then"):
            yield BigType(id="after")
            yield BigType(id="aside")
        yield BigType(id="trouble")
        yield Static(id="words", markup=False)
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """Look at once, then as often as a picture may be new; documents are read once that is painted."""
        self.look()
        self.set_interval(1 / FRAMES_PER_S, self.look)
        if self._reads:
            self.call_after_refresh(self._read)

    def on_resize(self, _: Resize) -> None:
        """Share the rows out anew."""
        if self._sight is not None:
            self._arrange()
            self._show(self._sight)

    def look(self) -> None:
        """Take the newest picture and show what is different about it."""
        picture = self._client.picture().as_shown(simulated=self._client.simulated)
        self._picture = picture
        seen = self._told(picture) if self._reads else self._looked(picture)
        if seen is None or seen == self._sight:
            return
        if self._sight is None or seen.mode != self._sight.mode:
            self.set_class(seen.mode == "choosing", "-choosing")
            self.refresh_bindings()
        self._sight = seen
        self._show(seen)

    def _told(self, picture: Picture) -> Sight | None:
        """What the show itself says, while there are no documents."""
        self._passed.append(picture.state)
        return self._client.sight()

    def _looked(self, picture: Picture) -> Sight:
        """What the documents say."""
        from showrunner.live.sight import arrivals, sight

        script = self._client.script
        self._arrived |= arrivals(script, picture.state)
        return sight(script, picture, self._plan, self._arrived)

    def _read(self) -> None:
        self.run_worker(self._documents, thread=True, group="documents", exit_on_error=False)

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
            while self._waiting:
                self._waiting.pop(0)()
        elif event.state is WorkerState.ERROR:
            self._client.close()
            self.app.exit(return_code=2, message=f"the show can't be followed: {event.worker.error}; it plays on")

    @property
    def seen(self) -> Sight | None:
        """What is shown."""
        return self._sight

    def action_step(self, what: What) -> None:
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

    def _other_pedal(self) -> None:
        names = self._in_play()
        self._pedal = (self._pedal + 1) % max(1, len(names))
        self.notify(f"keys move {names[self._pedal]}" if names else "no pedal is in play", timeout=2)

    def action_leave(self) -> None:
        """Leave the screen; the show plays on."""
        self._client.close()
        if len(self.app.screen_stack) > 2:
            self.app.pop_screen()
        else:
            self.app.exit()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Keys that could do harm are off: they are not in the footer and do nothing."""
        picture = self._picture
        if picture is None:
            return True
        state, simulated = picture.state, self._client.simulated
        if action == "step":
            match parameters[0]:
                case "mute":
                    return simulated or state.phase != "song"
                case "program":
                    return bool(state.owed)
                case "choose":
                    return state.choice is None
                case "take" | "cancel":
                    return state.choice is not None
        if action in ("nudge", "put", "other_pedal"):
            return simulated
        return True

    def _in_play(self) -> list[str]:
        return [standing.control for standing in self._sight.standing] if self._sight is not None else []

    def _move(self, to: Callable[[float], float]) -> None:
        names = self._in_play()
        if not names or self._picture is None:
            return
        from showrunner.curves.travel import raw_of

        name = names[self._pedal % len(names)]
        control = self._client.script.rig.controls[name]
        travel = min(100.0, max(0.0, to(self._picture.state.travels.get(name, 0.0))))
        self._client.move(name, raw_of(control, travel))
        self.look()

    def _arrange(self) -> None:
        """Give each zone its rows; they stay put, but for the ruler, which lends some to what is to be done."""
        height = self.size.height
        rows = zones(*self.size)
        for name, height_of in (("head", rows.head), ("then", rows.after), ("trouble", rows.trouble)):
            self.query_one(f"#{name}").styles.height = height_of
        self.query_one("#label").display = height >= LABEL_FROM
        self.query_one("#words").display = height >= 12
        self.query_one("#rulers").display = height >= 12

    def _show(self, seen: Sight) -> None:
        self.query_one("#status", Static).update(seen.status)
        self.query_one("#label", Static).update(seen.label)
        head = self.query_one("#head", BigType)
        head.say([seen.head])
        head.light(seen.counted_in is not None and seen.counted_in.lit)
        do = self.query_one("#do", BigType)
        do.styles.height = do.rows_for(seen.do, zones(*self.size).do, self._readable_rows())
        do.say(seen.do)
        self.query_one("#after", BigType).say([seen.after])
        self._aside(seen)
        self.query_one(Rulers).stand(seen.standing)
        trouble = self.query_one("#trouble", BigType)
        trouble.say([seen.trouble[0].big] if seen.trouble else [])
        trouble.set_class(bool(seen.trouble) and not seen.trouble[0].grave, "-passing")
        self.query_one("#words", Static).update(" · ".join(each.words for each in seen.trouble))
        self.call_after_refresh(self._measure)

    def _aside(self, seen: Sight) -> None:
        """Late or early beside what comes next, in as much of the width as it needs."""
        width, rows = self.size.width, zones(*self.size).after
        size = next((size for size in SIDE_SIZES if size.rows <= rows), SIDE_SIZES[-1])
        wording = next((each for each in seen.aside if width_of(each, size) <= width * 0.45), seen.aside[-1])
        aside = self.query_one("#aside", BigType)
        aside.styles.width = max(width_of(wording, size), len(wording)) + 3
        aside.say([(wording,)])

    def _readable_rows(self) -> float:
        """Rows that a letter needs to be read with ease from where the player stands."""
        told = legibility(self._settings.distance_m, self._settings.diagonal_in, self.size.height, 1)
        return told.preferred_mm / told.height_mm

    def _measure(self) -> None:
        """Say so if the smallest of the big letters can't be read from where the player stands."""
        if self._sight is None or self._sight.trouble:
            return
        rows = min(zone.letter_rows for zone in self.query(BigType))
        told = legibility(self._settings.distance_m, self._settings.diagonal_in, self.size.height, rows)
        if told.reach == "too small":
            self.query_one("#words", Static).update(
                f"letters of {told.height_mm:.0f} mm are too small at {self._settings.distance_m:g} m: "
                f"{told.least_mm:.0f} mm at least; a larger terminal font or shorter names help"
            )
