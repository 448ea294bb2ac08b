"""The command palette's entries: everything that keys can do on the screen that is up."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from textual.await_complete import AwaitComplete
from textual.command import Command, CommandList, CommandPalette, DiscoveryHit, Hit, Hits, Provider
from textual.content import Content
from textual.worker import Worker

from showrunner.tui.themes import ABOUT

if TYPE_CHECKING:
    from showrunner.tui.app import Screens

OTHERS = ("go.", "book.", "app.")
"""How the names of actions begin that every screen on the book has."""
OFFERED = ("Settings", "Theme")
"""What the program can do on every screen that is of use here."""
KEY_CELLS = 9


class Entry(NamedTuple):
    """One line of the palette."""

    title: str
    key: str
    runs: Callable[[], Any]


class Actions(Provider):
    """Every action of the screen and of the table that has the keys, with its key, if it can be done now."""

    async def discover(self) -> Hits:
        """All of them."""
        for title, key, runs in self._entries():
            yield DiscoveryHit(_line(key, Content(title)), runs, text=title)

    async def search(self, query: str) -> Hits:
        """Those that fit what was typed."""
        matcher = self.matcher(query)
        for title, key, runs in self._entries():
            score = matcher.match(title)
            if score > 0:
                yield Hit(score, _line(key, matcher.highlight(title)), runs, text=title)

    def _entries(self) -> Iterator[Entry]:
        """What the screen itself does first, then the ways to others, then looks and help."""
        found: dict[str, Entry] = {}
        active = [each for each in self.screen.active_bindings.values() if each.enabled and each.binding.description]
        for binding in sorted((each.binding for each in active), key=lambda each: (each.id or "").startswith(OTHERS)):
            if binding.id is not None and binding.id != "app.more":
                run = partial(self._run, binding.action)
                title, key = binding.tooltip or binding.description, self.app.get_key_display(binding)
                found.setdefault(binding.action, Entry(title, key, run))
        yield from found.values()
        for command in self.app.get_system_commands(self.screen):
            if command.title in OFFERED:
                yield Entry(f"{command.title}: {command.help[0].lower()}{command.help[1:]}", "", command.callback)

    async def _run(self, action: str) -> None:
        """Do it where it was offered, unless that was left since."""
        if self.screen.is_active:
            await self.app.run_action(action, self.screen)


class Themes(Provider):
    """The program's themes by name, with what each is for; one that is chosen stays chosen."""

    async def discover(self) -> Hits:
        """All of them."""
        for name, about in ABOUT.items():
            yield DiscoveryHit(_theme(name, about, self.app.theme), self._choice(name), text=name)

    async def search(self, query: str) -> Hits:
        """Those that fit what was typed."""
        matcher = self.matcher(query)
        for name, about in ABOUT.items():
            score = matcher.match(f"{name} {about}")
            if score > 0:
                yield Hit(score, _theme(name, about, self.app.theme), self._choice(name), text=name)

    def _choice(self, name: str) -> Callable[[], None]:
        return partial(cast("Screens", self.app).choose_theme, name)


def _theme(name: str, about: str, now: str) -> Content:
    return _line(name, Content(f"{about}, in use" if name == now else about))


def _line(key: str, title: Content) -> Content:
    return Content.assemble(key.ljust(KEY_CELLS), title)


class Palette(CommandPalette):
    """Textual's palette, which falls where it is left while it still looks, and where its list has no room."""

    def dismiss(self, result: Any = None) -> AwaitComplete:
        """Leave it, once."""
        return super().dismiss(result) if self.is_active else AwaitComplete()

    def run_worker(self, *given: Any, **named: Any) -> Worker[Any]:
        """Look without ending the program where the palette was left before it began."""
        return super().run_worker(*given, **{**named, "exit_on_error": False})

    def _refresh_command_list(self, command_list: CommandList, commands: list[Command], clear_current: bool) -> None:
        if self.display:
            super()._refresh_command_list(command_list, commands, clear_current)

    def _start_no_matches_countdown(self, search_value: str) -> None:
        if self.display:
            super()._start_no_matches_countdown(search_value)

    def _watch__list_visible(self) -> None:
        if self.display:
            super()._watch__list_visible()

    async def _watch__show_busy(self) -> None:
        if self.display:
            await super()._watch__show_busy()

    def _action_command_list(self, action: str) -> None:
        with suppress(KeyError, IndexError):
            super()._action_command_list(action)
