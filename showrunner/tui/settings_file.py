"""The player's settings file as it is first written: what can be set, and every action with the key it is on."""

from collections.abc import Iterator, Mapping
from pathlib import Path

from textual.binding import Binding
from textual.dom import DOMNode

from showrunner.model.keys import quoted
from showrunner.plain_file import read_file
from showrunner.tui.settings import Settings
from showrunner.tui.themes import THEMES

HEAD = """# Your own settings for Showrunner's screens. Take the # off a line to let it count.

[screen]
# distance_m = {distance:g}      # how far from your eyes the screen stands while you play
# diagonal_in = {diagonal:g}    # the screen from corner to corner, in inches
# theme = {theme}    # {themes}

[keys]
# An action, and the key or keys it is on: "f5", "ctrl+n", "k,f2".
"""


def actions() -> dict[str, Binding]:
    """Every action that can be put on another key, by its name, as far as its screen is loaded."""
    found = {each.id: each for cls in _ours(DOMNode) for each in cls.__dict__.get("BINDINGS", ()) if _named(each)}
    return dict(sorted(found.items()))


def text_of(named: Mapping[str, Binding]) -> str:
    """The file with nothing set: all of it as comments."""
    usual = Settings()
    themes = ", ".join(theme.name for theme in THEMES)
    head = HEAD.format(distance=usual.distance_m, diagonal=usual.diagonal_in, theme=quoted(usual.theme), themes=themes)
    lines = [f"# {quoted(name)} = {quoted(each.key)}" for name, each in named.items()]
    width = max(map(len, lines), default=0)
    words = [each.tooltip or each.description for each in named.values()]
    return head + "".join(f"{line.ljust(width)}  # {said}\n" for line, said in zip(lines, words, strict=True))


def write_first(file: Path, named: Mapping[str, Binding]) -> None:
    """Write the file where there is none; OSError or BookError where it can't be written."""
    from showrunner.book.save import save

    if not file.exists():
        file.parent.mkdir(parents=True, exist_ok=True)
        save(file, text_of(named).encode(), None)


def keep_theme(file: Path, theme: str) -> None:
    """Write a theme into the file, all else in it left as it stands; OSError or BookError where that can't be done."""
    from showrunner.book.change import apply, edit
    from showrunner.book.save import digest, save

    source = read_file(file)
    save(file, apply(source, edit(file.name, source, ("screen", "theme"), theme)), digest(source))


def unknown(settings: Settings, named: Mapping[str, Binding]) -> list[str]:
    """What is wrong with the names in the settings, in words."""
    from difflib import get_close_matches

    said: list[str] = []
    for name in settings.keys:
        if name not in named:
            near = get_close_matches(name, named, 1)
            said.append(f"keys: no action is called {quoted(name)}" + (f"; {quoted(near[0])} is" if near else ""))
    names = [theme.name for theme in THEMES]
    if settings.theme not in names:
        said.append(f"screen.theme: {quoted(settings.theme)} is none of {', '.join(names)}")
    return said


def _named(each: object) -> bool:
    return isinstance(each, Binding) and each.id is not None


def _ours(cls: type[DOMNode]) -> Iterator[type[DOMNode]]:
    for each in cls.__subclasses__():
        if each.__module__.startswith("showrunner."):
            yield each
        yield from _ours(each)
