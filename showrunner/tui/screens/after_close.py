"""Closing a night: what would be filed, each with a tick, and what to remember of the room."""

from collections.abc import Mapping, Sequence
from typing import ClassVar, NamedTuple

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from showrunner.planning.closing import Chosen
from showrunner.tui.screens.asked import STYLE
from showrunner.tui.screens.leaving import AskingScreen
from showrunner.tui.widgets.foot import Foot
from showrunner.tui.widgets.options import Options

WARMEST_C, COLDEST_C = 60.0, -40.0


class Ticked(NamedTuple):
    """What is to be filed, how warm it was, and what to remember."""

    chosen: Chosen
    temperature_c: float | None
    note: str | None


class CloseScreen(AskingScreen[Ticked | None]):
    """Space ticks, `y` files what is ticked; songs come without a tick, batteries and the visit with one.

    `stays` are songs that can't be filed, listed after those that can; `no_visit` is why there is no visit to file.
    """

    CSS = STYLE.format(name="CloseScreen") + (
        "CloseScreen OptionList, CloseScreen OptionList:focus { max-height: 100%; }"
        "CloseScreen #no_visit { height: auto; color: $secondary; }"
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "tick", "Tick", id="closing.tick"),
        Binding("y", "file", "File it", id="closing.file"),
        Binding("a", "all", "All songs", id="closing.all"),
        Binding("r", "room", "Room", id="closing.room"),
        Binding("x,escape", "leave", "Leave it", id="closing.leave"),
    ]

    def __init__(self, asks: str, things: Mapping[str, str], stays: Sequence[str], no_visit: str) -> None:
        super().__init__()
        self._asks, self._things, self._stays, self._no_visit = asks, things, stays, no_visit
        self._ticked = {name for name in things if not name.startswith("song ")}

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(self._asks, id="asks", markup=False)
            offered = [Option(self._words(name), id=name) for name in self._things]
            yield Options(*offered, *(Option(f"    {words}") for words in self._stays), markup=False)
            yield Static(self._no_visit, id="no_visit", markup=False)
            yield Input(placeholder="how warm it was, °C, for the visit", id="temperature")
            yield Input(placeholder="what to remember of the room", id="note")
        yield Foot()

    def on_mount(self) -> None:
        """What to remember is only asked where there is a visit to file."""
        for name in ("#temperature", "#note"):
            self.query_one(name).display = "visit" in self._things
        self.query_one("#no_visit").display = bool(self._no_visit)
        self.query_one(OptionList).focus()

    def on_resize(self) -> None:
        """The list gives way, so that the lines under it stay in sight."""
        under = sum(self.query_one(name).display for name in ("#temperature", "#note"))
        under += 2 if self._no_visit else 0
        self.query_one(OptionList).styles.max_height = max(2, self.size.height * 9 // 10 - 4 - under)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Only what there is can be asked for."""
        if action == "room":
            return "visit" in self._things
        return action != "all" or any(name.startswith("song ") for name in self._things)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter or a click ticks, or takes the tick away."""
        self._turn_at(event.option_index)

    def action_tick(self) -> None:
        """Tick what the cursor is on, or take the tick away."""
        row = self.query_one(OptionList).highlighted
        if row is not None:
            self._turn_at(row)

    def action_all(self) -> None:
        """Every song takes its played time, or none."""
        songs = {name for name in self._things if name.startswith("song ")}
        for name in songs if songs <= self._ticked else songs - self._ticked:
            self._turn(name)

    def action_room(self) -> None:
        """To what is remembered of the room."""
        self.query_one("#temperature", Input).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter leads on, and back to the ticks."""
        (self.query_one("#note") if event.input.id == "temperature" else self.query_one(OptionList)).focus()

    def action_file(self) -> None:
        """File what is ticked."""
        try:
            temperature_c = self._temperature()
        except ValueError:
            self.notify("the temperature is a number of °C from -40 to 60, as 21.5", severity="error")
            self.query_one("#temperature", Input).focus()
            return
        names = [name.partition(" ") for name in self._ticked]
        chosen = Chosen(
            frozenset(name for kind, _, name in names if kind == "song"),
            frozenset(name for kind, _, name in names if kind == "battery"),
            "visit" in self._ticked,
        )
        self.dismiss(Ticked(chosen, temperature_c, self.query_one("#note", Input).value.strip() or None))

    def action_leave(self) -> None:
        """File nothing; from the room's lines back to the ticks first."""
        if isinstance(self.focused, Input):
            self.query_one(OptionList).focus()
        else:
            self.dismiss(None)

    def _turn_at(self, row: int) -> None:
        """Turn the tick of a row; of one that can't be filed it says why itself."""
        if row < len(self._things):
            self._turn(list(self._things)[row])
        else:
            self.notify(self._stays[row - len(self._things)], severity="warning")

    def _turn(self, name: str) -> None:
        self._ticked ^= {name}
        self.query_one(OptionList).replace_option_prompt(name, self._words(name))

    def _words(self, name: str) -> str:
        return f"[{'x' if name in self._ticked else ' '}] {self._things[name]}"

    def _temperature(self) -> float | None:
        text = self.query_one("#temperature", Input).value.strip().replace(",", ".")
        if not text:
            return None
        value = float(text)
        if not COLDEST_C <= value <= WARMEST_C:
            raise ValueError(text)
        return value
