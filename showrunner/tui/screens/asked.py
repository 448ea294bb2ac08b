"""Questions over a screen: something proposed that is taken or left, and two versions of which one is chosen."""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from showrunner.book import render
from showrunner.book.data import ABSENT
from showrunner.book.start import slug_of
from showrunner.tui.made import ClashError
from showrunner.tui.screens.leaving import AskingScreen
from showrunner.tui.widgets.foot import Foot
from showrunner.tui.widgets.options import Options

STYLE = """
{name} {{ align: center middle; background: $background 60%; }}
{name} > Vertical {{
    width: 90%; min-width: 16; max-width: 140; height: auto; max-height: 90%;
    background: $surface; color: $foreground; border: solid $primary; padding: 0 1;
}}
{name} #asks {{ height: auto; text-style: bold; }}
{name} VerticalScroll, {name} OptionList {{ height: auto; max-height: 100%; background: $surface; }}
{name} OptionList, {name} OptionList:focus {{ border: none; max-height: 12; }}
{name} Horizontal {{ height: auto; max-height: 100%; }}
{name} Horizontal > VerticalScroll {{ width: 1fr; border-top: solid $primary; padding: 0 1; }}
{name} Input, {name} Input:focus {{ height: 1; border: none; padding: 0 1; background: $panel; }}
"""


class Line(Input):
    """A line that is typed; its foot says that Enter keeps it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "submit", "Keep it", id="line.keep")]


class Finder(Input):
    """A line that finds things; its foot says that Enter takes the one at hand."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "submit", "Take it", id="pick.take")]


class ProposalScreen(AskingScreen[bool]):
    """What would be done, line by line; gives whether it is to be. Its keys say `does` and `leaves`, the answers."""

    CSS = STYLE.format(name="ProposalScreen")
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer(True)", "Take it", id="proposal.take"),
        Binding("x,escape", "answer(False)", "Leave it", id="proposal.leave"),
    ]

    def __init__(self, asks: str, lines: str, does: str, leaves: str) -> None:
        super().__init__()
        self._asks, self._lines = asks, lines
        say_keys(self, {"proposal.take": does, "proposal.leave": leaves})

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(self._asks, id="asks", markup=False)
            with VerticalScroll():
                yield Static(self._lines, markup=False)
        yield Foot()

    def action_answer(self, taken: bool) -> None:
        """Leave with the answer."""
        self.dismiss(taken)


def say_keys(screen: AskingScreen[Any], says: Mapping[str, str]) -> None:
    """Let keys say other words at the foot of a question, by the name of what they do."""
    for key, bindings in screen._bindings.key_to_bindings.items():
        named = [replace(each, description=says.get(each.id or "", each.description)) for each in bindings]
        screen._bindings.key_to_bindings[key] = named


class ClashScreen(AskingScreen[Any]):
    """A key that was changed here and in its file, both versions side by side; gives the one to be kept.

    None where none was chosen; a value can be typed again as TOML writes it. `happened` ends the sentence on the key,
    `mine` is what the one version is called, and `does` what its key does.
    """

    CSS = STYLE.format(name="ClashScreen")
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("m", "mine", "Keep mine", id="clash.mine"),
        Binding("t", "theirs", "Keep the file's", id="clash.theirs"),
        Binding("e", "again", "Type it again", id="clash.again"),
        Binding("escape", "leave", "Leave it", id="clash.leave"),
    ]

    def __init__(
        self,
        clash: ClashError,
        happened: str = "was changed outside while it was changed here.",
        mine: str = "mine",
        does: str = "Keep mine",
    ) -> None:
        super().__init__()
        self._clash, self._happened, self._mine = clash, happened, mine
        say_keys(self, {"clash.mine": does})

    def compose(self) -> ComposeResult:
        clash = self._clash
        mine, theirs = clash.words or (written(clash.mine), written(clash.theirs))
        with Vertical():
            yield Static(f"{clash.where} {self._happened} Which is to stand?", id="asks", markup=False)
            with Horizontal():
                with VerticalScroll():
                    yield Static(f"{self._mine} (m)\n{mine}", id="mine", markup=False)
                with VerticalScroll():
                    yield Static(f"the file's (t)\n{theirs}", id="theirs", markup=False)
            yield Line(mine.replace("\n", " "), id="again")
        yield Foot()

    def on_mount(self) -> None:
        """The keys choose; typing only when asked for."""
        self.query_one(Input).display = False

    def action_mine(self) -> None:
        """What was typed here stands."""
        self.dismiss((self._clash.mine,))

    def action_theirs(self) -> None:
        """What the file says stands."""
        self.dismiss((self._clash.theirs,))

    def action_leave(self) -> None:
        """None was chosen."""
        self.dismiss(None)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """A whole file is not typed again."""
        return action != "again" or bool(self._clash.key)

    def action_again(self) -> None:
        """Neither: type it again."""
        entry = self.query_one(Input)
        entry.display = True
        entry.focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """What was typed again stands."""
        value = parsed(event.value)
        if value is ABSENT:
            self.notify(f"{event.value} is not a value as the file writes it", severity="error")
            return
        self.dismiss((value,))


class PickScreen(AskingScreen[str | None]):
    """One of a few things by name, found as one types; gives its key."""

    CSS = STYLE.format(name="PickScreen")
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave it", id="pick.leave"),
        Binding("down", "move(1)", "Down", id="pick.down", show=False),
        Binding("up", "move(-1)", "Up", id="pick.up", show=False),
    ]

    def __init__(self, asks: str, things: Mapping[str, str], now: str | None = None) -> None:
        super().__init__()
        self._asks, self._things, self._now = asks, things, now

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(self._asks, id="asks", markup=False)
            yield Finder(placeholder="type to find")
            yield Options(*(Option(title, id=key) for key, title in self._things.items()), markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The one that stands now is at hand."""
        if self._now is not None and self._now in self._things:
            self.query_one(OptionList).highlighted = list(self._things).index(self._now)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Only what has all the words typed, what has them in one piece first."""
        typed, options = " ".join(event.value.lower().split()), self.query_one(OptionList)
        fits = [pair for pair in self._things.items() if all(word in pair[1].lower() for word in typed.split())]
        fits.sort(key=lambda pair: (typed != pair[1].lower(), typed not in pair[1].lower()))
        options.clear_options()
        options.add_options([Option(title, id=key) for key, title in fits])

    def on_input_submitted(self, _: Input.Submitted) -> None:
        """Enter takes the one at hand, else the first that is left."""
        options = self.query_one(OptionList)
        if options.option_count:
            self.dismiss(options.get_option_at_index(options.highlighted or 0).id)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter or a click takes one."""
        self.dismiss(event.option_id)

    def action_move(self, way: int) -> None:
        """The next one of the list, or the one before, while one types."""
        options = self.query_one(OptionList)
        if options.highlighted is None:
            options.highlighted = 0 if options.option_count else None
        elif way > 0:
            options.action_cursor_down()
        else:
            options.action_cursor_up()

    def action_leave(self) -> None:
        """None of them."""
        self.dismiss(None)


class LineScreen(AskingScreen[str | None]):
    """One line of text; gives it, None where it is left.

    With `keeps` the line stays to be mended until that could keep it.
    """

    CSS = STYLE.format(name="LineScreen")
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave it", id="line.leave")]

    def __init__(
        self, asks: str, text: str = "", *, names_file: str = "", keeps: Callable[[str], bool] = lambda _: True
    ) -> None:
        super().__init__()
        self._asks, self._text, self._names_file, self._keeps = asks, text, names_file, keeps

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(self._asks, id="asks", markup=False)
            yield Line(self._text, select_on_focus=False)
            yield Static(id="file", markup=False)
        yield Foot()

    def on_input_changed(self, event: Input.Changed) -> None:
        """The file's name that a title makes."""
        if self._names_file:
            slug = slug_of(event.value)
            self.query_one("#file", Static).update(self._names_file.format(slug) if slug else "")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter gives the line."""
        if self._keeps(event.value.strip()):
            self.dismiss(event.value.strip())

    def action_leave(self) -> None:
        """Nothing is given."""
        self.dismiss(None)


def written(value: Any) -> str:
    """A value as a file writes it, a list's items on lines of their own."""
    if value is ABSENT:
        return "(nothing)"
    if isinstance(value, list) and any(isinstance(item, dict | str) for item in value):
        return "[\n" + "\n".join(f"  {render.inline(item)}," for item in value) + "\n]"
    return render.inline(value)


def parsed(text: str) -> Any:
    """The value that a line of TOML writes, ABSENT where it writes none."""
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (ValueError, RecursionError):
        return ABSENT
