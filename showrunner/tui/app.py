"""The program of the screens: it composes and routes, and does nothing else."""

import asyncio
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from importlib import import_module
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, ClassVar

from rich.console import Console
from textual.app import App, SystemCommand
from textual.command import Provider
from textual.dom import DOMNode
from textual.events import Event, InputEvent, Key
from textual.filter import LineFilter
from textual.notifications import SeverityLevel
from textual.screen import Screen

from showrunner.collector import go_on
from showrunner.model.visible import shown
from showrunner.tui.controls import CONTROLS
from showrunner.tui.going import Go, Opened
from showrunner.tui.palette import Actions, Palette, Themes
from showrunner.tui.settings import Settings, read_settings
from showrunner.tui.themes import DARK, themes_of

if TYPE_CHECKING:
    from textual.binding import Binding

    from showrunner.live.picture import Client
    from showrunner.tui.screens.book import BookScreen

LOOKS = Path(__file__).with_name("app.tcss")


class Screens(App[None]):
    """One terminal's screens; starts with the one it is given."""

    TITLE = "Showrunner"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {Actions}

    def __init__(self, first: Screen[None], settings: Settings | None = None) -> None:
        plain = bool(os.environ.get("NO_COLOR"))
        if not plain:
            os.environ.pop("NO_COLOR", None)
        super().__init__(css_path=[*first.css_path, LOOKS], ansi_color=True if plain else None)
        self.error_console = Console(file=shown(sys.stderr), markup=False, highlight=False, color_system=None)
        self._first = first
        self._settings, self._keeps = settings or Settings(), Lock()
        for name in self.available_themes:
            self.unregister_theme(name)
        for theme in themes_of(self.console.color_system):
            self.register_theme(theme)
        chosen = self._settings.theme if self._settings.theme in self.available_themes else DARK.name
        self.set_reactive(App.theme, chosen)
        self.stylesheet.set_variables(self.get_css_variables())
        for name, on in (("-dark-mode", self.current_theme.dark), ("-light-mode", not self.current_theme.dark)):
            self.set_class(on, name, update=False)
        self.set_keymap(dict(self._settings.keys))

    def get_default_screen(self) -> Screen[None]:
        """The first one, so that no empty one comes before it; one on the book gives way to others, so not that."""
        return super().get_default_screen() if hasattr(self._first, "place") else self._first

    async def on_event(self, event: Event) -> None:
        """A key finds every screen as the book is."""
        if isinstance(event, InputEvent) and not event.is_forwarded:
            for screen in self.screen_stack:
                if hasattr(screen, "catch_up"):
                    screen.catch_up()
        await super().on_event(event)

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Every line on its way to the terminal has its controls made visible."""
        return [*super().get_line_filters(), CONTROLS]

    def on_mount(self) -> None:
        """The first screen where it stands on another, and what of the settings was not understood."""
        if self.screen is not self._first:
            self.push_screen(self._first)
        self._tell(self._settings.problems)

    def notify(
        self,
        message: str,
        *,
        title: str = "",
        severity: SeverityLevel = "information",
        timeout: float | None = None,
        markup: bool = False,  # noqa: ARG002
    ) -> None:
        """A passing message, as it is: what files say is never taken for markup."""
        super().notify(message, title=title, severity=severity, timeout=timeout, markup=False)

    async def on_go(self, message: Go) -> None:
        """Route to another screen on the book, which is there before the next key; from a question there is no way."""
        if hasattr(self.screen, "place") and (message.anew or self.screen.place != message.place):
            await self.switch_screen(place(message.place)(message.shelf, message.settings))

    async def on_opened(self, message: Opened) -> None:
        """Show a screen that was read for, give it what was typed meanwhile, and load the others."""
        await self.push_screen(message.screen)
        self.call_after_refresh(go_on)
        self.run_worker(self._type(message.keys))
        self.run_worker(self._load_places, thread=True, exit_on_error=False)

    def _load_places(self) -> None:
        """Load every screen on the book, so that the way to it is short, and say which settings name nothing."""
        for name in _PLACES:
            place(name)
        self.call_from_thread(self._tell, unknown_in(self._settings))

    def _tell(self, problems: Sequence[str]) -> None:
        for problem in problems:
            self.notify(problem, severity="warning")

    def get_key_display(self, binding: "Binding") -> str:
        """A key as it is named where it is offered; not every terminal's font has a sign for Enter."""
        return super().get_key_display(binding).replace("⏎", "enter")

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """What the library can do by itself, and the settings on the book's screens, where a show can wait."""
        yield from super().get_system_commands(screen)
        if hasattr(screen, "place"):
            about = "Distance, screen size, theme and keys, in your editor"
            yield SystemCommand("Settings", about, self.edit_settings)

    def action_command_palette(self) -> None:
        """Show every key, if they are not shown."""
        if not isinstance(self.screen, Palette):
            self.push_screen(Palette())

    def search_themes(self) -> None:
        """Show the themes to choose from."""
        self.push_screen(Palette(providers=[Themes], placeholder="Which theme?"))

    def choose_theme(self, name: str) -> None:
        """Put a theme on, and keep it for the next time."""
        self.theme = name
        self._settings = self._settings._replace(theme=name)
        self.run_worker(self._keep_theme, thread=True, group="theme", exit_on_error=False)

    def _keep_theme(self) -> None:
        """On a thread: write the theme into the settings file, or say why it will not be there the next time."""
        from showrunner.book.problems import BookError
        from showrunner.places import settings_file
        from showrunner.tui.settings_file import keep_theme, write_first

        file = settings_file()
        try:
            with self._keeps:
                write_first(file, named_actions())
                keep_theme(file, self._settings.theme)
        except (OSError, BookError) as error:
            reason = error.what if isinstance(error, BookError) else (error.strerror or "no reason given").lower()
            words = f"the theme can't be kept in {file}: {reason}; it is on until you leave"
            self.call_from_thread(self.notify, words, severity="error")

    def edit_settings(self) -> None:
        """Open the settings file in the user's editor, written first if need be, and go by what it says then."""
        from showrunner.book.problems import BookError
        from showrunner.places import settings_file
        from showrunner.tui.editor import edit_in
        from showrunner.tui.settings_file import write_first

        file, before = settings_file(), self._settings
        try:
            write_first(file, named_actions())
            edit_in(self, file)
        except (OSError, BookError) as error:
            self.notify(f"{file}: {error}", severity="error")
            return
        self._settings = user_settings()
        self._tell([*self._settings.problems, *unknown_in(self._settings)])
        self.set_keymap(dict(self._settings.keys))
        if self._settings.theme != before.theme and self._settings.theme in self.available_themes:
            self.theme = self._settings.theme
        for screen in self.screen_stack:
            if hasattr(screen, "settings"):
                screen.settings = self._settings
        self.refresh_bindings()

    async def _type(self, keys: Sequence[Key]) -> None:
        """Keys that were typed before, each once the one before it has done what it does."""
        for key in keys:
            self.post_message(Key(key.key, key.character))
            for _ in range(2):
                await self._settled()

    async def _settled(self) -> None:
        """Wait until what lies before whoever has the keys, and before all above it, is done."""
        nodes: list[DOMNode] = [self]
        node: DOMNode | None = self.focused or self.screen
        while node is not None:
            nodes.append(node)
            node = node.parent
        for each in nodes:
            done = asyncio.Event()
            if each.call_later(done.set):
                await done.wait()


def place(name: str) -> "type[BookScreen]":
    """The screen of that name, loaded when it is wanted."""
    module, of_screen = _PLACES[name]
    screen: type[BookScreen] = getattr(import_module(f"showrunner.tui.screens.{module}"), of_screen)
    return screen


_PLACES = {
    "shows": ("shows", "ShowsScreen"),
    "set": ("setlist", "SetlistScreen"),
    "songs": ("repertoire", "RepertoireScreen"),
    "song": ("song", "SongScreen"),
    "lists": ("checklists", "ChecklistsScreen"),
    "rig": ("rig", "RigScreen"),
    "soundcheck": ("soundcheck", "SoundcheckScreen"),
    "rehearse": ("rehearse", "RehearseScreen"),
    "after": ("after", "AfterScreen"),
}


def named_actions() -> "dict[str, Binding]":
    """Every action that can be put on another key, of every screen."""
    from showrunner.tui.settings_file import actions

    for name in _PLACES:
        place(name)
    for module in ("asked", "mending", "playing"):
        import_module(f"showrunner.tui.screens.{module}")
    return actions()


def unknown_in(settings: Settings) -> list[str]:
    """What the settings name and nothing answers to, in words."""
    from showrunner.tui.settings_file import unknown

    return unknown(settings, named_actions()) if settings != Settings() else []


def open_book(book_path: Path) -> int:
    """Open the screens on a book; the exit code once they are left."""
    from showrunner.tui.screens.opening import OpeningScreen

    settings = user_settings()
    return _left(Screens(OpeningScreen(book_path, "shows", settings), settings))


def play(book_path: Path, client: "Client") -> int:
    """Open the playing screen on a running show; the exit code once it is left, the show plays on."""
    from showrunner.tui.screens.playing import PlayingScreen

    settings = user_settings()
    return _left(Screens(PlayingScreen(client, settings=settings, root=book_path), settings))


def _left(app: Screens) -> int:
    app.run()
    return app.return_code or 0


def user_settings() -> Settings:
    """The settings in the user's own file."""
    from showrunner.places import settings_file

    return read_settings(settings_file())
