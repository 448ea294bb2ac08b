"""What a player sees while playing, in letters for half a second's look: the zones of a screen, and their rows."""

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple, Protocol

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal
from textual.events import Resize
from textual.geometry import Size
from textual.screen import ScreenResultType
from textual.widgets import Static

from showrunner.live.seen import SIMULATED, Sight
from showrunner.model.cells import fit, whole_parts
from showrunner.planning.legibility import legibility
from showrunner.tui.lettering import SIZES, width_of
from showrunner.tui.screens.leaving import LeavingScreen
from showrunner.tui.settings import Settings
from showrunner.tui.widgets.bigtype import BigType
from showrunner.tui.widgets.foot import Foot
from showrunner.tui.widgets.ruler import Rulers, rows_for

if TYPE_CHECKING:
    from showrunner.state.script import Script
    from showrunner.state.values import State

SIDE_SIZES = SIZES[1::2]
SMALL_ROWS, RULER_ROWS, LABEL_FROM = 3, 2, 26
"""Lines in the terminal's own letters, the footer among them; the least that rulers get; rows from which a label and a
line above the keys are spared."""
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


class Zones(NamedTuple):
    """Rows of each zone on a screen of some height; `do` are the heights that what is to be done may take.

    `spare` is what is left to rulers and what is to be done while there is no trouble.
    """

    head: int
    do: tuple[int, ...]
    after: int
    trouble: int
    spare: int


def zones(width: int, height: int) -> Zones:
    """How a screen's rows are shared out: letters twice as large where there is room for them."""
    if height < 20:
        head, least, after = (3, 3, 3) if height >= 15 else (3 if height >= 8 else 1, 1, 1)
        return Zones(head, (least,), after, after, least)
    head, least, after = (8, 12, 6) if height >= 44 and width >= 120 else (4, 6, 3)
    spare = height - SMALL_ROWS - 2 * (height >= LABEL_FROM) - head - after
    return Zones(head, tuple(range(least, max(least, spare - after - RULER_ROWS) + 1)), after, after, spare)


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
        self._arranged_for = Size(0, 0)
        self._pedal = 0

    def compose(self) -> ComposeResult:
        yield Static(id="status", classes="small", markup=False)
        yield BigType(id="head", edge=1)
        yield Static(id="label", classes="small", markup=False)
        yield BigType(id="do")
        yield Rulers(id="rulers")
        yield Static(id="words", markup=False)
        yield BigType(id="trouble", classes="-empty", edge=1)
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
            if self.size != self._arranged_for:
                self._arranged_for = self.size
                self._arrange()
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

    def _arrange(self) -> None:
        """Give each zone its rows; they stay put, but for the ruler, which gives way to hands and to trouble."""
        height = self.size.height
        rows = zones(*self.size)
        roomy = height >= LABEL_FROM
        for name, height_of in (("head", rows.head), ("then", rows.after + roomy), ("trouble", rows.trouble)):
            self.query_one(f"#{name}").styles.height = height_of
        self.query_one("#then").set_class(roomy, "-roomy")
        self.query_one("#label").display = roomy
        self.query_one("#words").display = height >= 12
        self.query_one("#rulers").display = height >= 12

    def _show(self, seen: Sight) -> None:
        status, head = self.query_one("#status", Static), self.query_one("#head", BigType)
        lit = seen.counted_in is not None and seen.counted_in.lit
        status.update(fit(whole_parts(seen.status, self.size.width), self.size.width))
        status.set_class(lit, "-lit")
        status.set_class(seen.status.startswith(SIMULATED), "-simulated")
        self.query_one("#label", Static).update(seen.label)
        head.say([seen.head])
        head.light(lit)
        self._do(seen)
        self.query_one("#after", BigType).say([seen.after])
        self._aside(seen)
        self.query_one(Rulers).stand(seen.standing)
        self._trouble(seen)
        self.call_after_refresh(self._measure)

    def _do(self, seen: Sight) -> None:
        """What is to be done, in letters as large as the rulers leave room for; where it has no room it takes more."""
        rows, do = zones(*self.size), self.query_one("#do", BigType)
        lent = () if seen.trouble else (rows.do[-1] + rows.trouble,)
        roomy = min(rows.do[-1], rows.spare - rows_for(seen.standing))
        do.styles.height = do.rows_for(seen.do, (*rows.do, *lent), roomy, self._readable_rows())
        do.say(seen.do)

    def _trouble(self, seen: Sight) -> None:
        """Trouble in words and in big letters under them, on one ground, in rows of the rulers."""
        trouble, words = self.query_one("#trouble", BigType), self.query_one("#words", Static)
        trouble.say([seen.trouble[0].big] if seen.trouble else [])
        trouble.light(bool(seen.trouble) and self.app.no_color)
        said = " · ".join(each.words for each in seen.trouble)
        words.update(fit(f" {said}", self.size.width) if said else "")
        for zone in (trouble, words):
            zone.set_class(bool(seen.trouble), "-trouble")
            zone.set_class(bool(seen.trouble) and not seen.trouble[0].grave, "-passing")

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
