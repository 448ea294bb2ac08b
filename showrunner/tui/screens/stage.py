"""What a player sees while playing, in letters for half a second's look: the zones of a screen, and their rows."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal
from textual.events import Resize
from textual.screen import ScreenResultType
from textual.widgets import Static

from showrunner.live.seen import SIMULATED, Sight
from showrunner.model.cells import fit, whole_parts
from showrunner.planning.legibility import Legibility, legibility
from showrunner.tui.arranging import APART, EDGE, Arranged, arrange
from showrunner.tui.screens.leaving import LeavingScreen
from showrunner.tui.settings import Settings
from showrunner.tui.widgets.bigtype import BigType
from showrunner.tui.widgets.foot import Foot
from showrunner.tui.widgets.ruler import Rulers

if TYPE_CHECKING:
    from showrunner.state.script import Script
    from showrunner.state.values import State

NUDGE_PCT = 5.0
"""How far an arrow key moves a pedal of a simulated rig."""


def pedal_keys(screen: str) -> list[Binding]:
    """Keys that move the pedals of a simulated rig, by the screen's name in the user's settings."""
    return [
        Binding("up", "nudge(1)", "Pedal up", id=f"{screen}.up"),
        Binding("down", "nudge(-1)", "Pedal down", id=f"{screen}.down"),
        Binding("h", "put(0)", "Heel", id=f"{screen}.heel", tooltip="Pedal to the heel"),
        Binding("e", "put(100)", "Toe", id=f"{screen}.toe", tooltip="Pedal to the toe"),
        Binding("p", "other_pedal", "Other pedal", id=f"{screen}.pedal", tooltip="Move another pedal by these keys"),
    ]


class Moves(Protocol):
    """Whoever moves the controls of a simulated rig."""

    @property
    def script(self) -> "Script":
        """What is played."""

    def move(self, control: str, raw: int) -> None:
        """Move a control."""


class StageScreen(LeavingScreen[ScreenResultType]):
    """Shows a sight: the moment, what hands and feet must do, the rulers, what comes next, and trouble."""

    CSS_PATH = "stage.tcss"

    def __init__(self, settings: Settings | None = None) -> None:
        super().__init__()
        self._settings = settings or Settings()
        self._sight: Sight | None = None
        self._pedal = 0

    def compose(self) -> ComposeResult:
        yield Static(id="status", classes="small", markup=False)
        with Horizontal(id="top"):
            yield BigType(id="head", edge=EDGE)
            yield BigType(id="beside", edge=APART - EDGE)
        yield Static(id="label", classes="small", markup=False)
        yield BigType(id="do")
        yield Rulers(id="rulers")
        yield Static(id="words", markup=False)
        yield BigType(id="trouble", classes="-empty", edge=EDGE)
        with Horizontal(id="then"):
            yield BigType(id="after", low=True)
            yield BigType(id="aside", low=True)
        yield Foot()

    def on_resize(self, _: Resize) -> None:
        """Share the rows out anew."""
        self._view()

    @property
    def seen(self) -> Sight | None:
        """What is shown."""
        return self._sight

    def see(self, seen: Sight) -> None:
        """Show a sight, if it is another than is shown."""
        if seen == self._sight:
            return
        if self._sight is None or seen.mode != self._sight.mode:
            self.set_class(seen.mode == "choosing", "-choosing")
            self.refresh_bindings()
        self._sight = seen
        self._view()

    def _view(self) -> None:
        """Show the sight once there are both, a sight and a size, whichever of them comes first."""
        if self._sight is not None and self.size:
            self._show(self._sight)

    def _in_play(self) -> list[str]:
        return [standing.control for standing in self._sight.standing] if self._sight is not None else []

    def _other_pedal(self) -> None:
        names = self._in_play()
        self._pedal = (self._pedal + 1) % max(1, len(names))
        self.notify(f"keys move {names[self._pedal]}" if names else "no pedal is in play", timeout=2)

    def _move_pedal(self, client: Moves, state: "State", to: Callable[[float], float]) -> None:
        """Move the pedal at hand, from its travel to another."""
        names = self._in_play()
        if not names:
            return
        from showrunner.curves.travel import raw_of

        name = names[self._pedal % len(names)]
        travel = min(100.0, max(0.0, to(state.travels.get(name, 0.0))))
        client.move(name, raw_of(client.script.rig.controls[name], travel))

    def _show(self, seen: Sight) -> None:
        """Every zone with its rows and its letters; they stay put, but for rulers, which give way to what is to do."""
        width, height = self.size
        arranged = arrange(seen, width, height, self._least_rows())
        rows, lit = arranged.rows, seen.counted_in is not None and seen.counted_in.lit
        for name, rows_high in (("top", rows.head), ("do", arranged.do_rows), ("then", rows.after + rows.air)):
            self.query_one(f"#{name}").styles.height = rows_high
        self.query_one("#then").set_class(rows.air, "-roomy")
        for name, told in (("beside", arranged.beside), ("aside", arranged.aside)):
            self.query_one(f"#{name}").styles.width = told.width + APART if told.lines else 0
        for name in ("head", "beside", "do", "after", "aside"):
            self.query_one(f"#{name}", BigType).show(getattr(arranged, name))
        for name in ("head", "beside"):
            self.query_one(f"#{name}", BigType).light(lit)
        status, label = self.query_one("#status", Static), self.query_one("#label", Static)
        status.update(fit(whole_parts(seen.status, width), width))
        status.set_class(lit, "-lit")
        status.set_class(seen.status.startswith(SIMULATED), "-simulated")
        label.update(seen.label)
        label.display = rows.label
        self.query_one("#words").display = rows.words
        self.query_one(Rulers).stand(seen.standing)
        self._trouble(seen, arranged)
        if not seen.trouble:
            self._admit(arranged.letter_rows)

    def _trouble(self, seen: Sight, arranged: Arranged) -> None:
        """Trouble in words and in big letters under them, on one ground, in rows of the rulers."""
        trouble, words = self.query_one("#trouble", BigType), self.query_one("#words", Static)
        trouble.styles.height = arranged.rows.trouble
        trouble.show(arranged.trouble)
        trouble.light(bool(seen.trouble) and self.app.no_color)
        said = " · ".join(each.words for each in seen.trouble)
        words.update(fit(f" {said}", self.size.width) if said else "")
        for zone in (trouble, words):
            zone.set_class(bool(seen.trouble), "-trouble")
            zone.set_class(bool(seen.trouble) and not seen.trouble[0].grave, "-passing")

    def _legibility(self, letter_rows: float) -> Legibility:
        return legibility(self._settings.distance_m, self._settings.diagonal_in, self.size.height, letter_rows)

    def _least_rows(self) -> float:
        """Rows that a letter needs to be read from where the player stands."""
        told = self._legibility(1)
        return told.least_mm / told.height_mm

    def _admit(self, letter_rows: float) -> None:
        """Say so if the smallest of the big letters can't be read from where the player stands."""
        told = self._legibility(letter_rows)
        if told.reach == "too small":
            self.query_one("#words", Static).update(
                f"letters of {told.height_mm:.0f} mm are too small at {self._settings.distance_m:g} m: "
                f"{told.least_mm:.0f} mm at least; a larger screen or shorter names help"
            )
